"""The kind `taken_over`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue import prompts
from companion.dialogue.advance import advance
from companion.dialogue.asking import ask_step, say_back
from companion.dialogue.state import State
from companion.dialogue.transaction import ALWAYS, Transaction
from companion.dialogue.values import fill
from companion.facts import message
from companion.facts.answers import Answered
from companion.facts.meanings import Choice, Number
from companion.facts.message import Message, Told, in_a_row
from companion.job.kind import Context, Fault
from companion.language.expectation import Expectation
from companion.steps.kind import Kind
from companion.steps.taken_over.model import TakingOver
from companion.steps.taken_over.run import (
    asks_of_the_car,
    give_back,
    offered,
    take_over,
    told,
    undone,
)

WAS_MOVED = "was_moved"


class TakenOverKind(Kind[TakingOver]):
    """What earlier jobs found and still holds."""

    model = TakingOver
    asks = True

    def choices(self, step: TakingOver) -> tuple[str, ...]:
        return step.CHOICES

    def texts(self, step: TakingOver) -> tuple[str, ...]:
        return (step.ask, *((step.reply,) if step.reply is not None else ()))

    def asks_for(self, step: TakingOver) -> tuple[str, ...]:
        return (step.ask,)

    def check(self, step: TakingOver, context: Context) -> Iterator[Fault]:
        for choice in step.CHOICES:
            if choice not in context.vocabulary.choices:
                yield Fault(step.id, f"choice '{choice}'", "a choice of answers.grammar")
        if step.when is not None:
            yield Fault(step.id, "a condition", "none: what is taken over does not hang on answers")

    def reach(self, tx: Transaction, step: TakingOver, before: Told) -> None:
        said = in_a_row(before, undone(tx.state), told(offered(tx.state)))
        if asks_of_the_car(tx.state):
            ask_step(tx, step, said)
            return
        if offered(tx.state):
            take_over(tx, step, moved=False)
        else:
            tx.change(done=tx.state.done | {step.id})
        advance(tx, said)

    def is_done(self, state: State, step: TakingOver) -> bool:
        return step.id in state.done or not (offered(state) or undone(state))

    def is_begun(self, state: State, step: TakingOver) -> bool:
        return step.id in state.done

    def title(self, step: TakingOver) -> str:
        return step.title

    def prompt(self, state: State, step: TakingOver) -> Told:
        return fill(state, step.ask)

    def reply(self, state: State, step: TakingOver) -> Told:
        return fill(state, step.reply) if step.reply is not None else ""

    def short(self, state: State, step: TakingOver) -> Told:
        return self.reply(state, step)

    def short_texts(self, step: TakingOver) -> tuple[str, ...]:
        return (step.reply,) if step.reply is not None else ()

    def expectation(self, step: TakingOver, *, digits_only: bool = False) -> Expectation:
        return Expectation(choices=step.CHOICES, commands=ALWAYS)

    def confirmation(self, step: TakingOver, *, digits_only: bool = False) -> Expectation:
        return Expectation(yes_no=True, choices=step.CHOICES, commands=ALWAYS)

    def take(self, tx: Transaction, step: TakingOver, meaning: Number | Choice) -> None:
        if isinstance(meaning, Choice):
            say_back(tx, step, meaning)
        else:
            advance(tx)

    def accept(
        self, tx: Transaction, step: TakingOver, meaning: Number | Choice, attempts: int
    ) -> None:
        if not isinstance(meaning, Choice):
            advance(tx)
            return
        tx.record(Answered(step.id, step.title, meaning.id))
        take_over(tx, step, moved=meaning.id == WAS_MOVED)
        tx.change(history=(*tx.state.history, step.id))
        advance(tx)

    def taken_back(self, tx: Transaction, step: TakingOver) -> None:
        give_back(tx, prompts.WHY_TAKEN_BACK)

    def said_back(self, step: TakingOver) -> Iterator[Message]:
        for choice in step.CHOICES:
            yield message.choice(choice)


KIND = TakenOverKind()
