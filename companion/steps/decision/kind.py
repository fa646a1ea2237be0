"""The kind `decision`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.kind import Infeasible
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.message import Told
from companion.job.kind import Context, Fault
from companion.job.plan import named
from companion.steps.decision.model import Decision
from companion.steps.decision.run import decide_on, limits
from companion.steps.kind import Kind
from companion.steps.shared.checks import check_limits
from companion.steps.shared.feasibility import infeasible


class DecisionKind(Kind[Decision]):
    """Is a result inside its limits: go on, put right and measure again, or stop and say why."""

    model = Decision
    corrections_can_be_dropped = True

    def uses(self, step: Decision) -> Iterator[str]:
        yield step.result
        yield from named(step.low, step.high, step.within, step.centre)

    def needs(self, step: Decision) -> Iterator[str]:
        if step.misread is not None:
            yield from step.misread.needs()

    def goes_back_to(self, step: Decision) -> Iterator[str]:
        yield from step.again.steps
        for suspect in step.suspects:
            yield from (*suspect.readings, *suspect.also)
        if step.misread is not None:
            yield from step.misread.readings()

    def check(self, step: Decision, context: Context) -> Iterator[Fault]:
        yield from check_limits(context, step.id, step.low, step.high)
        decisions = {other.id for other in context.steps if isinstance(other, Decision)}
        for other_id in step.beside:
            if other_id not in decisions:
                yield Fault(step.id, f"beside '{other_id}'", "a decision of the job")

    def reach(self, tx: Transaction, step: Decision, before: Told) -> None:
        decide_on(tx, step)

    def infeasible(self, state: State, step: Decision) -> Iterator[Infeasible]:
        if step.rule == "probability":
            low, high = limits(state, step)
            told = (step.id, step.title, step.result)
            yield from infeasible(state, told, (high - low) / 2, step.confidence)


KIND = DecisionKind()
