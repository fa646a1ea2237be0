"""A choice is said back; confirmed, it may block the work, send back, or allow sound to be kept."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step
from companion.dialogue.retry import Retry, of_job, retry
from companion.dialogue.state import Mode
from companion.dialogue.transaction import Transaction
from companion.facts.answers import Answered, Consent
from companion.steps.question.model import Question


def accept_choice(tx: Transaction, step: Question, choice: str) -> None:
    """The answer was confirmed."""
    state = tx.state
    said_back = state.prompt.told.said_back if state.prompt is not None else None
    proposed = said_back is not None and said_back.proposed
    tx.record(Answered(step.id, step.title, choice, proposed=proposed))
    if choice in step.blocked_by:
        ask_step(tx, step, step.blocked_by[choice])
        return
    if step.sound_is_kept_when is not None:
        keep_sound = choice == step.sound_is_kept_when
        tx.record(Consent(keep_sound))
        tx.change(keep_sound=keep_sound)
    tx.change(answers={**state.answers, step.id: choice}, history=(*state.history, step.id))
    if choice in step.again:
        retry(tx, step.id, _with_itself(step, choice))
        if tx.state.mode is Mode.STOPPED:
            return
    advance(tx)


def _with_itself(step: Question, choice: str) -> Retry:
    """The loop of a question also asks the question itself again."""
    again = of_job(step.again[choice])
    return replace(again, steps=(*again.steps, step.id))
