"""Opens the prompt of a step: what is asked, and what may be answered."""

from __future__ import annotations

from typing import assert_never

from companion.dialogue import prompts
from companion.dialogue.effects import Purpose
from companion.dialogue.progress import item_id
from companion.dialogue.state import Mode, State, Task
from companion.dialogue.turn import ALWAYS, Turn
from companion.dialogue.values import fill
from companion.procedure.job import Checklist, Instruction, Question, Reading
from companion.words.expectation import Expectation, NumberForm

DIGIT_BY_DIGIT_AFTER = 1
KEYBOARD_AFTER = 3

DONE = Expectation(done=True, commands=ALWAYS)
YES_NO = Expectation(yes_no=True, commands=ALWAYS)
PAUSED = Expectation(commands=("carry_on", "where_are_we", "what_can_i_say", "note", "stop"))
STOPPED = Expectation(commands=("carry_on", "end_job", "where_are_we", "what_can_i_say", "note"))

Asked = Reading | Question | Instruction | Checklist


def number_form(step: Reading, *, digits_only: bool = False) -> NumberForm:
    """How the words describe the number that this reading asks for."""
    return NumberForm(
        style=step.number.style,
        max_whole_digits=step.number.whole_digits,
        decimals=step.number.decimals,
        directions=step.number.directions,
        units=(step.unit,),
        digits_only=digits_only and step.number.style != "quarters",
    )


def wants_digits(state: State) -> bool:
    """Whether numbers are taken digit by digit alone: one was not heard, or this voice needs it."""
    return state.digit_by_digit or state.misses >= DIGIT_BY_DIGIT_AFTER


def expectation_of(step: Asked, *, digits_only: bool = False) -> Expectation:
    """What may be answered to the step's own prompt."""
    match step:
        case Reading():
            form = number_form(step, digits_only=digits_only)
            return Expectation(number=form, commands=ALWAYS)
        case Question():
            return Expectation(choices=step.choices, commands=ALWAYS)
        case Instruction() | Checklist():
            return DONE
        case _:
            assert_never(step)


def confirmation_of(step: Reading | Question, *, digits_only: bool = False) -> Expectation:
    """At a read-back: yes, no, or a new answer that replaces the old one."""
    if isinstance(step, Reading):
        form = number_form(step, digits_only=digits_only)
        return Expectation(yes_no=True, number=form, commands=ALWAYS)
    return Expectation(yes_no=True, choices=step.choices, commands=ALWAYS)


def ask_step(turn: Turn, step: Asked, before: str = "") -> None:
    """Ask for the step's answer. `before` goes in front of the text, in the same breath."""
    ask = _text_of(turn, step)
    expectation = expectation_of(step, digits_only=wants_digits(turn.state))
    purpose: Purpose = "instruct" if isinstance(step, Instruction | Checklist) else "ask"
    turn.change(pending=None)
    text = _worded(turn.state.misses, expectation, ask, before)
    turn.ask(step.id, text, expectation, purpose=purpose, ask=ask)


def ask_task(turn: Turn, task: Task, before: str = "") -> None:
    turn.change(pending=None)
    text = f"{before} {task.text}".strip()
    turn.ask(task.step_id, text, DONE, purpose="instruct", ask=task.text)


def ask_again(turn: Turn) -> None:
    """The same question after a failed hearing, made easier each time."""
    prompt, misses = turn.state.prompt, turn.state.misses
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    step = turn.state.plan.step(prompt.step_id)
    ask = prompt.ask
    expectation = prompt.expectation
    if isinstance(step, Reading) and turn.state.mode is Mode.ASKING and expectation.number:
        expectation = expectation_of(step, digits_only=wants_digits(turn.state))
    text = _worded(misses, expectation, ask, prompts.SORRY)
    turn.ask(
        prompt.step_id,
        text,
        expectation,
        mode=turn.state.mode,
        ask=ask,
        purpose=_purpose_of(turn.state.mode),
    )


def _worded(misses: int, expectation: Expectation, ask: str, before: str) -> str:
    """The question in the form that suits the number of failed hearings."""
    if misses >= KEYBOARD_AFTER:
        return prompts.use_the_keyboard(ask)
    number = expectation.number
    if misses >= DIGIT_BY_DIGIT_AFTER and number and number.digits_only and not expectation.yes_no:
        return prompts.digit_by_digit(before, number, ask)
    return f"{before} {ask}".strip()


def repeat(turn: Turn, before: str = "") -> None:
    """Say the open prompt once more, as a new prompt."""
    prompt = turn.state.prompt
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    text = f"{before} {prompt.ask}" if before else prompt.ask
    turn.ask(
        prompt.step_id,
        text,
        prompt.expectation,
        mode=turn.state.mode,
        ask=prompt.ask,
        purpose=_purpose_of(turn.state.mode),
    )


def _purpose_of(mode: Mode) -> Purpose:
    return "read_back" if mode is Mode.CONFIRMING else "ask"


def _text_of(turn: Turn, step: Asked) -> str:
    match step:
        case Reading() | Question():
            return fill(turn.state, step.ask)
        case Instruction():
            return fill(turn.state, step.say)
        case Checklist():
            index = next(
                i for i in range(len(step.items)) if item_id(step, i) not in turn.state.done
            )
            return fill(turn.state, step.items[index])
        case _:
            assert_never(step)
