"""The kind `aim`."""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.kind import Infeasible, Outcome
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.message import Told
from companion.job.job_file import Step
from companion.job.kind import MOUNT, Context, Fault
from companion.job.plan import producers
from companion.steps.aim import prompts
from companion.steps.aim.ending import aim_outcome
from companion.steps.aim.figures import NEEDED, limits_of
from companion.steps.aim.model import AimDecision
from companion.steps.aim.run import decide_aim
from companion.steps.aim.sets import forget_aim_from
from companion.steps.aim.state import aim_of, keep
from companion.steps.kind import Kind
from companion.steps.shared.feasibility import infeasible


class AimKind(Kind[AimDecision]):
    """Both axes against the vehicle's tolerance; outside: a plan for the screws and a new round."""

    model = AimDecision
    usual_remarks = (
        *(prompts.ONCE_MORE_TO_BE_SURE, prompts.NOT_INSIDE_YET),
        *(prompts.LOCK_SCREWS, prompts.LOCK_SCREWS_AGAIN),
    )

    def uses(self, step: AimDecision) -> Iterator[str]:
        yield step.yaw
        yield step.elevation

    def needs(self, step: AimDecision) -> Iterator[str]:
        yield MOUNT
        yield from NEEDED

    def goes_back_to(self, step: AimDecision) -> Iterator[str]:
        yield from step.again.steps
        if step.noise is not None:
            yield from step.noise.levels

    def check(self, step: AimDecision, context: Context) -> Iterator[Fault]:
        known = producers(context.files.kinds, context.steps)
        noise = step.noise
        for what, names in (("misfit", noise.misfits), ("width", noise.widths)) if noise else ():
            for name in names:
                if name not in known:
                    yield Fault(step.id, f"{what} '{name}'", "a result of a step of this job")

    def reach(self, tx: Transaction, step: AimDecision, before: Told) -> None:
        decide_aim(tx, step)

    def before_taken_back(self, tx: Transaction, step: AimDecision, source: Step) -> None:
        forget_aim_from(tx, source)

    def forget_correction(self, tx: Transaction, step: AimDecision) -> None:
        aim = aim_of(tx.state)
        if aim.unturned is not None:
            keep(tx, aim.unturned)

    def infeasible(self, state: State, step: AimDecision) -> Iterator[Infeasible]:
        """Sets of readings are averaged, up to as many as the job allows."""
        limits = limits_of(state.plan)
        again, sets = frozenset(step.again.steps), step.at_most_repeats
        for result, half_width in (
            (step.yaw, limits.yaw_deg),
            (step.elevation, limits.elevation_deg),
        ):
            told = (step.id, step.title, result)
            yield from infeasible(state, told, half_width, limits.confidence, again, sets)

    def outcome(
        self, state: State, step: AimDecision, ranges_m: tuple[float, ...]
    ) -> Outcome | None:
        return aim_outcome(state, step, ranges_m)


KIND = AimKind()
