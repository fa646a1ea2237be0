"""The kind `moves`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.kind import Infeasible
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import number
from companion.facts.message import Told
from companion.job.kind import Context, Fault
from companion.job.plan import named
from companion.steps.kind import Kind
from companion.steps.shared.feasibility import infeasible
from companion.steps.stand_moves.model import Moves
from companion.steps.stand_moves.run import decide_moves
from companion.steps.verdict.model import Verdict


class StandMovesKind(Kind[Moves]):
    """Where the stand stands: all of its moves in the order that ends inside in the fewest."""

    model = Moves
    corrections_can_be_dropped = True

    def part_ids(self, step: Moves) -> tuple[str, ...]:
        return tuple(part.id for part in step.parts)

    def uses(self, step: Moves) -> Iterator[str]:
        yield from named(*(part.result for part in step.parts))
        yield from named(*(part.within for part in step.parts))
        yield from named(step.foot_ahead_mm, step.foot_left_mm, step.foot_doubt_mm)

    def check(self, step: Moves, context: Context) -> Iterator[Fault]:
        verdict = next((other for other in context.steps if other.id == step.mean_of), None)
        if step.mean_of is not None and not (
            isinstance(verdict, Verdict) and step.id in verdict.moved_by
        ):
            yield Fault(step.id, f"mean_of '{step.mean_of}'", "a verdict that this step moves")

    def goes_back_to(self, step: Moves) -> Iterator[str]:
        for part in step.parts:
            yield from part.readings

    def reach(self, tx: Transaction, step: Moves, before: Told) -> None:
        decide_moves(tx, step)

    def infeasible(self, state: State, step: Moves) -> Iterator[Infeasible]:
        for part in step.parts:
            told = (part.id, part.title, part.result)
            yield from infeasible(state, told, number(state, part.within), step.confidence)


KIND = StandMovesKind()
