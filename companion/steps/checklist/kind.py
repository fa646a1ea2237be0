"""The kind `checklist`: its items, each over when the technician says done.

They are asked for one at a time; where the job file has them said together, two or three in one
go, and one done is for all that were said. Each is recorded by itself.
"""

from __future__ import annotations

from collections.abc import Sequence

from companion.dialogue import prompts
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
    """Several things to do."""

    model = Checklist
    asks = True
    purpose = "instruct"

    def texts(self, step: Checklist) -> tuple[str, ...]:
        return step.items

    def asks_for(self, step: Checklist) -> tuple[str, ...]:
        places, size = range(len(step.items)), step.said_together
        return tuple(_in_one_go(step, places[at : at + size]) for at in places[::size])

    def reach(self, tx: Transaction, step: Checklist, before: Told) -> None:
        ask_step(tx, step, before)

    def is_done(self, state: State, step: Checklist) -> bool:
        return all(item_id(step, i) in state.done for i in range(len(step.items)))

    def is_begun(self, state: State, step: Checklist) -> bool:
        return any(item_id(step, i) in state.done for i in range(len(step.items)))

    def prompt(self, state: State, step: Checklist) -> Told:
        return fill(state, _in_one_go(step, _open(state, step)))

    def reply(self, state: State, step: Checklist) -> Told:
        return prompts.SAY_DONE if len(_open(state, step)) < 2 else prompts.SAY_DONE_TO_ALL

    def expectation(self, step: Checklist, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Checklist) -> None:
        for index in _open(tx.state, step):
            item = item_id(step, index)
            tx.record(Done(item, tx.words(fill(tx.state, step.items[index]))))
            tx.change(done=tx.state.done | {item}, history=(*tx.state.history, item))
        advance(tx)


def _open(state: State, step: Checklist) -> tuple[int, ...]:
    """The items that are asked for now: the first that is still to be done, or a few of them."""
    still = [i for i in range(len(step.items)) if item_id(step, i) not in state.done]
    return tuple(still[: step.said_together])


def _in_one_go(step: Checklist, indices: Sequence[int]) -> str:
    return " ".join(step.items[index] for index in indices)


KIND = ChecklistKind()
