"""The kind `checklist`: its items one at a time, each over when the technician says done."""

from __future__ import annotations

from companion.dialogue.advance import advance
from companion.dialogue.asking import DONE, ask_step
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import fill
from companion.facts.answers import Done
from companion.facts.message import Told
from companion.language.expectation import Expectation
from companion.steps.checklist.model import Checklist
from companion.steps.kind import Kind


def item_id(step: Checklist, index: int) -> str:
    """What the set of done things calls one item of a checklist."""
    return f"{step.id}/{index + 1}"


class ChecklistKind(Kind[Checklist]):
    """Several things to do, asked for one at a time."""

    model = Checklist
    asks = True
    purpose = "instruct"

    def texts(self, step: Checklist) -> tuple[str, ...]:
        return step.items

    def reach(self, tx: Transaction, step: Checklist, before: Told) -> None:
        ask_step(tx, step, before)

    def is_done(self, state: State, step: Checklist) -> bool:
        return all(item_id(step, i) in state.done for i in range(len(step.items)))

    def is_begun(self, state: State, step: Checklist) -> bool:
        return any(item_id(step, i) in state.done for i in range(len(step.items)))

    def prompt(self, state: State, step: Checklist) -> Told:
        return fill(state, step.items[_open(state, step)])

    def expectation(self, step: Checklist, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Checklist) -> None:
        item = item_id(step, _open(tx.state, step))
        tx.record(Done(item, tx.words(self.prompt(tx.state, step))))
        tx.change(done=tx.state.done | {item}, history=(*tx.state.history, item))
        advance(tx)


def _open(state: State, step: Checklist) -> int:
    """The first item that is still to be done."""
    return next(i for i in range(len(step.items)) if item_id(step, i) not in state.done)


KIND = ChecklistKind()
