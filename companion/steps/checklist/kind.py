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


def item_id(step: Checklist, name: str) -> str:
    """What the set of done things calls one item of a checklist."""
    return f"{step.id}/{name}"


class ChecklistKind(Kind[Checklist]):
    """Several things to do."""

    model = Checklist
    asks = True
    purpose = "instruct"

    def texts(self, step: Checklist) -> tuple[str, ...]:
        return tuple(step.by_name.values())

    def asks_for(self, step: Checklist) -> tuple[str, ...]:
        names, size = list(step.by_name), step.said_together
        return tuple(_in_one_go(step, names[at : at + size]) for at in range(0, len(names), size))

    def reach(self, tx: Transaction, step: Checklist, before: Told) -> None:
        ask_step(tx, step, before)

    def is_done(self, state: State, step: Checklist) -> bool:
        return all(item_id(step, name) in state.done for name in step.by_name)

    def is_begun(self, state: State, step: Checklist) -> bool:
        return any(item_id(step, name) in state.done for name in step.by_name)

    def prompt(self, state: State, step: Checklist) -> Told:
        return fill(state, _in_one_go(step, _open(state, step)))

    def reply(self, state: State, step: Checklist) -> Told:
        return prompts.SAY_DONE if len(_open(state, step)) < 2 else prompts.SAY_DONE_TO_ALL

    def expectation(self, step: Checklist, *, digits_only: bool = False) -> Expectation:
        return DONE

    def done(self, tx: Transaction, step: Checklist) -> None:
        for name in _open(tx.state, step):
            item = item_id(step, name)
            tx.record(Done(item, tx.words(fill(tx.state, step.by_name[name]))))
            tx.change(done=tx.state.done | {item}, history=(*tx.state.history, item))
        advance(tx)


def _open(state: State, step: Checklist) -> tuple[str, ...]:
    """The items that are asked for now: the first that is still to be done, or a few of them."""
    still = [name for name in step.by_name if item_id(step, name) not in state.done]
    return tuple(still[: step.said_together])


def _in_one_go(step: Checklist, names: Sequence[str]) -> str:
    return " ".join(step.by_name[name] for name in names)


KIND = ChecklistKind()
