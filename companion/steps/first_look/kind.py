"""The kind `first_look`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.transaction import Transaction
from companion.facts.message import Told
from companion.job.kind import MOUNT, Context, Fault
from companion.job.plan import named
from companion.steps.aim.figures import NEEDED
from companion.steps.aim.model import AimDecision
from companion.steps.computation.kind import KIND as COMPUTATION
from companion.steps.first_look.model import FirstLook
from companion.steps.first_look.run import look_first, read_anew_after_break
from companion.steps.kind import Kind


class FirstLookKind(Kind[FirstLook]):
    """Turns the screws at once where few levels show the aim plainly off; else says nothing."""

    model = FirstLook

    def uses(self, step: FirstLook) -> Iterator[str]:
        own = step.own_results()
        for one in step.computations:
            yield from (source for source in COMPUTATION.uses(one) if source not in own)
        for width in step.widths:
            yield from (source for source in named(width.centre, width.within))

    def needs(self, step: FirstLook) -> Iterator[str]:
        yield MOUNT
        yield from NEEDED

    def check(self, step: FirstLook, context: Context) -> Iterator[Fault]:
        whole = next((other for other in context.steps if other.id == step.aim), None)
        if not isinstance(whole, AimDecision):
            yield Fault(step.id, f"aim '{step.aim}'", "the aim step that the whole set is for")
        for one in step.computations:
            yield from COMPUTATION.check(one, context)
        own = step.own_results()
        for name in (step.yaw, step.elevation, *(width.result for width in step.widths)):
            if name not in own:
                yield Fault(step.id, f"'{name}'", f"one of {', '.join(sorted(own))}")

    def reach(self, tx: Transaction, step: FirstLook, before: Told) -> None:
        look_first(tx, step)

    def after_break(self, tx: Transaction, step: FirstLook) -> None:
        read_anew_after_break(tx, step)


KIND = FirstLookKind()
