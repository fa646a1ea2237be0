"""The kind `shims`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.transaction import Transaction
from companion.facts.message import Told
from companion.job.plan import named
from companion.steps.kind import Kind
from companion.steps.shims.model import ShimAdvice
from companion.steps.shims.run import advise_shims, shim_spots


class ShimsKind(Kind[ShimAdvice]):
    """Twist out of the floor, where there is more than a car may stand on."""

    model = ShimAdvice
    corrections_can_be_dropped = True

    def uses(self, step: ShimAdvice) -> Iterator[str]:
        yield from (step.twist, step.slope)
        yield from named(step.within, step.shim_step_mm)
        yield from (spot.reading for spot in shim_spots(step))

    def goes_back_to(self, step: ShimAdvice) -> Iterator[str]:
        yield from (spot.reading for spot in shim_spots(step))
        yield from step.settled

    def reach(self, tx: Transaction, step: ShimAdvice, before: Told) -> None:
        advise_shims(tx, step)


KIND = ShimsKind()
