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
from companion.steps.first_look.model import FirstLook, ShortSet
from companion.steps.first_look.run import look_first, read_anew_after_break
from companion.steps.kind import Kind


class FirstLookKind(Kind[FirstLook]):
    """Turns the screws at once where few levels show the aim plainly off; else says nothing."""

    model = FirstLook

    def uses(self, step: FirstLook) -> Iterator[str]:
        own = step.own_results()
        for one in step.all_computations():
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
        for one in step.all_computations():
            yield from COMPUTATION.check(one, context)
        own = {name for one in step.computations for name in one.outputs.values()}
        for name in (step.yaw, step.elevation, *(width.result for width in step.widths)):
            if name not in own:
                yield Fault(step.id, f"'{name}'", f"one of {', '.join(sorted(own))}")
        if step.short_set is not None and isinstance(whole, AimDecision):
            yield from _check_short_set(step, step.short_set, whole)

    def reach(self, tx: Transaction, step: FirstLook, before: Told) -> None:
        look_first(tx, step)

    def after_break(self, tx: Transaction, step: FirstLook) -> None:
        read_anew_after_break(tx, step)


def _check_short_set(step: FirstLook, short: ShortSet, whole: AimDecision) -> Iterator[Fault]:
    """Its results, and widths to borrow that the first look itself knows by the same names."""
    own = {name for one in short.computations for name in one.outputs.values()}
    for name in (step.yaw, step.elevation, *short.left_over):
        if name not in own:
            yield Fault(step.id, f"'{name}' of the short set", f"one of {', '.join(sorted(own))}")
    widths = () if whole.noise is None else whole.noise.widths
    if set(widths) != {width.result for width in step.widths}:
        wanted = f"the first look's widths as those of '{whole.id}' under noise"
        yield Fault(step.id, "a short set without widths to borrow", wanted)


KIND = FirstLookKind()
