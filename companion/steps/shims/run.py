"""Twist in the floor: which wheels to raise and by how much, then those spots are read again."""

from __future__ import annotations

from companion.calibration.shimming import Shims, shims
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import State, Task
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import as_written, grounds, measured_value, number, shares_of
from companion.facts import stand as facts
from companion.facts.instructions import PlaceShim
from companion.steps.shared.advice import MEASURED_AGAIN
from companion.steps.shims import prompts
from companion.steps.shims.model import ShimAdvice, ShimSpot


def shim_spots(step: ShimAdvice) -> tuple[ShimSpot, ...]:
    """The four spots in the order of `measure.shimming.SPOTS`."""
    return (step.rear_left, step.rear_right, step.front_left, step.front_right)


def advise_shims(tx: Transaction, step: ShimAdvice) -> None:
    """Twist small enough: what is left of the floor is reckoned in. Else: shims, read again."""
    state = tx.state
    twist, slope = measured_value(state, step.twist), measured_value(state, step.slope)
    allowed = number(state, step.within)
    found = _shims(state, step)
    spots = dict(zip(shim_spots(step), found.thickness_mm, strict=True))
    raised = {spot: thickness for spot, thickness in spots.items() if thickness > 0.0}
    needed = abs(twist.value) > allowed and bool(raised)
    tx.record(
        facts.Shims(
            step_id=step.id,
            title=step.title,
            result=step.twist,
            value=twist.value,
            u=twist.u,
            unit="mm",
            low=-allowed,
            high=allowed,
            needed=needed,
            under={spot.name: thickness for spot, thickness in raised.items()} if needed else {},
            largest_left_mm=found.largest_left_mm,
            taken_into_account={step.slope: facts.Angle(slope.value, slope.u)},
            budget=shares_of(twist),
            grounds=grounds("shims"),
        )
    )
    if not needed:
        tx.change(done=tx.state.done | {step.id})
        return
    thickest_first = sorted(raised.items(), key=lambda item: -item[1])
    again = Retry(
        say=MEASURED_AGAIN,
        steps=tuple(spot.reading for spot, _ in thickest_first),
        at_most=step.at_most,
        then_stop=step.then_stop,
    )
    tasks = tuple(
        Task(
            step.id,
            prompts.shim(spot.name, as_written(thickness)),
            PlaceShim(spot.reading, as_written(thickness)),
        )
        for spot, thickness in thickest_first
    )
    retry(tx, step.id, again, tasks)
    tx.change(done=tx.state.done | set(step.settled))


def _shims(state: State, step: ShimAdvice) -> Shims:
    rear_left, rear_right, front_left, front_right = (
        measured_value(state, spot.reading).value for spot in shim_spots(step)
    )
    return shims(
        rear_left_mm=rear_left,
        rear_right_mm=rear_right,
        front_left_mm=front_left,
        front_right_mm=front_right,
        goal="no_twist",
        shim_step_mm=number(state, step.shim_step_mm),
    )
