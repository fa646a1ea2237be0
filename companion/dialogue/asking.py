"""Opens the prompt of a step: what is asked, and what may be answered."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import assert_never

from companion.dialogue import prompts
from companion.dialogue.effects import Purpose
from companion.dialogue.progress import item_id
from companion.dialogue.state import Mode, State, Task
from companion.dialogue.turn import ALWAYS, Turn
from companion.dialogue.values import fill
from companion.facts import instructions as facts
from companion.facts.prompting import Prompted
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


def ask_step(turn: Turn, step: Asked, before: str = "", *, again: bool = False) -> None:
    """Ask for the step's answer. `before` goes in front of the text, in the same breath.

    `again`: its answer was given before and did not get through.
    """
    expectation = expectation_of(step, digits_only=wants_digits(turn.state))
    purpose: Purpose = "instruct" if isinstance(step, Instruction | Checklist) else "ask"
    turn.change(pending=None)
    before, repeats, keyboard = _made_easier(turn.state.misses, expectation, before)
    turn.ask(
        step.id,
        _text_of(turn, step),
        expectation,
        before=before,
        reply=reply_of(turn.state, step),
        purpose=purpose,
        told=Prompted(keyboard=keyboard, instruction=_instruction_of(turn.state, step)),
        again=again or repeats,
    )


def ask_task(turn: Turn, task: Task, before: str = "", *, again: bool = False) -> None:
    turn.change(pending=None)
    turn.ask(
        task.step_id,
        task.text,
        DONE,
        before=before,
        reply=prompts.SAY_DONE,
        purpose="instruct",
        told=Prompted(instruction=task.instruction),
        again=again,
    )


def ask_again(turn: Turn) -> None:
    """The same question after a failed hearing, made easier each time."""
    prompt, misses = turn.state.prompt, turn.state.misses
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    step = turn.state.plan.step(prompt.step_id)
    expectation = prompt.expectation
    if isinstance(step, Reading) and turn.state.mode is Mode.ASKING and expectation.number:
        expectation = expectation_of(step, digits_only=wants_digits(turn.state))
    before, _, keyboard = _made_easier(misses, expectation, prompts.SORRY)
    turn.ask(
        prompt.step_id,
        prompt.ask,
        expectation,
        before=before,
        reply=prompt.reply,
        mode=turn.state.mode,
        purpose=_purpose_of(turn.state.mode, expectation),
        told=replace(prompt.told, keyboard=keyboard),
        again=True,
    )


def _made_easier(misses: int, expectation: Expectation, before: str) -> tuple[str, bool, bool]:
    """What goes before the question after so many failed hearings.

    Also whether it is thereby asked again, and whether typing is offered.
    """
    if misses >= KEYBOARD_AFTER:
        return prompts.TYPE_IT, True, True
    number = expectation.number
    if misses >= DIGIT_BY_DIGIT_AFTER and number and number.digits_only and not expectation.yes_no:
        how = prompts.digit_by_digit(number)
        return f"{before} {how}".strip(), bool(how), False
    return before, False, False


def repeat(turn: Turn, before: str = "", *, again: bool = False) -> None:
    """Say the open prompt once more, as a new prompt. `again`: its answer did not get through."""
    prompt = turn.state.prompt
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    turn.ask(
        prompt.step_id,
        prompt.ask,
        prompt.expectation,
        before=before,
        reply=prompt.reply,
        mode=turn.state.mode,
        purpose=_purpose_of(turn.state.mode, prompt.expectation),
        told=replace(prompt.told, keyboard=False),
        again=again,
    )


def _purpose_of(mode: Mode, expectation: Expectation) -> Purpose:
    if mode is Mode.CONFIRMING:
        return "read_back"
    return "instruct" if expectation.done else "ask"


def reply_of(state: State, step: Asked) -> str:
    """What is said of how to answer."""
    match step:
        case Reading() | Question():
            return fill(state, step.reply) if step.reply is not None else ""
        case Instruction() | Checklist():
            return prompts.SAY_DONE
        case _:
            assert_never(step)


def _instruction_of(state: State, step: Asked) -> facts.Instruction | None:
    """The turns of a screw that another step's reading gave; None for anything else, or none."""
    if not isinstance(step, Instruction) or step.turns is None or step.turns not in state.readings:
        return None
    turns = Fraction(state.readings[step.turns].value)
    if turns == 0:
        return None
    sense = facts.Direction.CLOCKWISE if turns > 0 else facts.Direction.ANTICLOCKWISE
    return facts.TurnScrew(step.screw or "", sense, abs(turns))


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
