"""The kind `visit_end`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, say_back
from companion.dialogue.state import State
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.dialogue.values import fill
from companion.facts import message
from companion.facts.answers import Answered
from companion.facts.meanings import Choice, Number
from companion.facts.message import Message, Told
from companion.job.kind import Context, Fault
from companion.language.expectation import Expectation
from companion.steps.kind import Kind
from companion.steps.visit_end.model import VisitEnd
from companion.steps.visit_end.run import (
    forget_if_otherwise_now,
    has_own_code,
    known,
    left_to_the_end,
    settle,
)


class VisitEndKind(Kind[VisitEnd]):
    """Whether this is the last sensor of the car's visit."""

    model = VisitEnd
    asks = True

    def choices(self, step: VisitEnd) -> tuple[str, ...]:
        return (*step.CHOICES, step.OWN_CODE)

    def texts(self, step: VisitEnd) -> tuple[str, ...]:
        return (step.ask, *((step.reply,) if step.reply is not None else ()))

    def asks_for(self, step: VisitEnd) -> tuple[str, ...]:
        return (step.ask,)

    def check(self, step: VisitEnd, context: Context) -> Iterator[Fault]:
        for choice in step.CHOICES:
            if choice not in context.vocabulary.choices:
                yield Fault(step.id, f"choice '{choice}'", "a choice of answers.grammar")
        if step.when is not None:
            yield Fault(step.id, "a condition", "none: whether a car is done hangs on no answer")
        if step.own_code is not None:
            before = context.steps[: context.steps.index(step)]
            asked = next((one for one in before if one.id == step.own_code.question), None)
            choices = context.files.kinds[asked.step].choices(asked) if asked is not None else ()
            if not set(step.own_code.answered) <= set(choices) or not choices:
                wanted = "a question from before this step, and answers of it"
                yield Fault(step.id, f"own_code '{step.own_code.question}'", wanted)

    def reach(self, tx: Transaction, step: VisitEnd, before: Told) -> None:
        answer = known(tx.state)
        if answer is None:
            ask_step(tx, step, before)
            return
        if before:
            tx.announce(before)
        _go_on(tx, step, answer)

    def is_done(self, state: State, step: VisitEnd) -> bool:
        answer = state.answers.get(step.id)
        if answer is None or answer == step.CHOICES[0]:
            return answer is not None
        # Its own code is told before this; who goes back to that tells it anew.
        return (answer == step.OWN_CODE) == has_own_code(state, step)

    def after_break(self, tx: Transaction, step: VisitEnd) -> None:
        forget_if_otherwise_now(tx, step)

    def title(self, step: VisitEnd) -> str:
        return step.title

    def prompt(self, state: State, step: VisitEnd) -> Told:
        return fill(state, step.ask)

    def reply(self, state: State, step: VisitEnd) -> Told:
        return fill(state, step.reply) if step.reply is not None else ""

    def short(self, state: State, step: VisitEnd) -> Told:
        return self.reply(state, step)

    def short_texts(self, step: VisitEnd) -> tuple[str, ...]:
        return (step.reply,) if step.reply is not None else ()

    def expectation(self, step: VisitEnd, *, digits_only: bool = False) -> Expectation:
        return Expectation(choices=step.CHOICES, commands=ALWAYS)

    def confirmation(self, step: VisitEnd, *, digits_only: bool = False) -> Expectation:
        return Expectation(yes_no=True, choices=step.CHOICES, commands=ALWAYS)

    def take(self, tx: Transaction, step: VisitEnd, meaning: Number | Choice) -> None:
        if isinstance(meaning, Choice):
            say_back(tx, step, meaning)
        else:
            advance(tx)

    def accept(
        self, tx: Transaction, step: VisitEnd, meaning: Number | Choice, attempts: int
    ) -> None:
        if not isinstance(meaning, Choice):
            advance(tx)
            return
        tx.record(Answered(step.id, step.title, meaning.id))
        tx.change(history=(*tx.state.history, step.id))
        _go_on(tx, step, meaning.id)

    def said_back(self, step: VisitEnd) -> Iterator[Message]:
        for choice in step.CHOICES:
            yield message.choice(choice)


def _go_on(tx: Transaction, step: VisitEnd, answer: str) -> None:
    """What waits for the last sensor is said, so that nobody takes it for done."""
    settle(tx, step, answer)
    left = left_to_the_end(tx.state, step)
    if left is not None:
        tx.announce(left)
    advance(tx)


KIND = VisitEndKind()
