"""Opens the prompt of a step: what is asked, and what may be answered."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.effects import Purpose
from companion.dialogue.kind import kind_of
from companion.dialogue.state import Mode, State, Task
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.procedure.job import Step
from companion.procedure.plan import Plan
from companion.words.expectation import Expectation
from companion.words.meanings import Choice, Number

DIGIT_BY_DIGIT_AFTER = 1
KEYBOARD_AFTER = 3

DONE = Expectation(done=True, commands=ALWAYS)
YES_NO = Expectation(yes_no=True, commands=ALWAYS)
PAUSED = Expectation(commands=("carry_on", "where_are_we", "what_can_i_say", "note", "stop"))
STOPPED = Expectation(commands=("carry_on", "end_job", "where_are_we", "what_can_i_say", "note"))


def wants_digits(state: State) -> bool:
    """Whether numbers are taken digit by digit alone: one was not heard, or this voice needs it."""
    return state.digit_by_digit or state.no_matches >= DIGIT_BY_DIGIT_AFTER


def expectation_of(plan: Plan, step: Step, *, digits_only: bool = False) -> Expectation:
    """What may be answered to the step's own prompt; raises TypeError where it asks nothing."""
    return _asked(step, kind_of(plan, step).expectation(step, digits_only=digits_only))


def confirmation_of(plan: Plan, step: Step, *, digits_only: bool = False) -> Expectation:
    """At a read-back: yes, no, or a new answer; raises TypeError where nothing is said back."""
    return _asked(step, kind_of(plan, step).confirmation(step, digits_only=digits_only))


def _asked(step: Step, expectation: Expectation | None) -> Expectation:
    if expectation is None:
        raise TypeError(f"no answer is waited for at step '{step.id}'")
    return expectation


def ask_step(tx: Transaction, step: Step, before: str = "") -> None:
    """Ask for the step's answer. `before` goes in front of the text, in the same breath."""
    state = tx.state
    kind = kind_of(state.plan, step)
    ask = kind.prompt(state, step)
    expectation = expectation_of(state.plan, step, digits_only=wants_digits(state))
    tx.change(pending=None)
    text = _worded(state.no_matches, expectation, ask, before)
    tx.ask(step.id, text, expectation, purpose=kind.purpose, ask=ask)


def say_back(tx: Transaction, step: Step, meaning: Number | Choice, spoken: str) -> None:
    """Say an answer back, as `spoken`; only "yes" makes it count."""
    tx.change(pending=meaning, silences=0)
    expectation = confirmation_of(tx.state.plan, step, digits_only=wants_digits(tx.state))
    text = prompts.read_back(spoken)
    tx.ask(step.id, text, expectation, purpose="read_back", mode=Mode.CONFIRMING)


def ask_task(tx: Transaction, task: Task, before: str = "") -> None:
    tx.change(pending=None)
    text = f"{before} {task.text}".strip()
    tx.ask(task.step_id, text, DONE, purpose="instruct", ask=task.text)


def ask_again(tx: Transaction) -> None:
    """The same question after a failed hearing, made easier each time."""
    prompt, no_matches = tx.state.prompt, tx.state.no_matches
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    step = tx.state.plan.step(prompt.step_id)
    ask = prompt.ask
    expectation = prompt.expectation
    if tx.state.mode is Mode.ASKING and expectation.number:
        expectation = expectation_of(tx.state.plan, step, digits_only=wants_digits(tx.state))
    text = _worded(no_matches, expectation, ask, prompts.SORRY)
    tx.ask(
        prompt.step_id,
        text,
        expectation,
        mode=tx.state.mode,
        ask=ask,
        purpose=_purpose_of(tx.state.mode),
    )


def _worded(no_matches: int, expectation: Expectation, ask: str, before: str) -> str:
    """The question in the form that suits the number of failed hearings."""
    if no_matches >= KEYBOARD_AFTER:
        return prompts.use_the_keyboard(ask)
    number = expectation.number
    if (
        no_matches >= DIGIT_BY_DIGIT_AFTER
        and number
        and number.digits_only
        and not expectation.yes_no
    ):
        return prompts.digit_by_digit(before, number, ask)
    return f"{before} {ask}".strip()


def repeat(tx: Transaction, before: str = "") -> None:
    """Say the open prompt once more, as a new prompt."""
    prompt = tx.state.prompt
    assert prompt is not None  # noqa: S101  -- only reached with a prompt open
    text = f"{before} {prompt.ask}" if before else prompt.ask
    tx.ask(
        prompt.step_id,
        text,
        prompt.expectation,
        mode=tx.state.mode,
        ask=prompt.ask,
        purpose=_purpose_of(tx.state.mode),
    )


def _purpose_of(mode: Mode) -> Purpose:
    return "read_back" if mode is Mode.CONFIRMING else "ask"
