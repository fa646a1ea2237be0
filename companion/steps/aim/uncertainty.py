"""What the doubt of the aim allows: the level at this look, what settles it, what cannot pass."""

from __future__ import annotations

from companion.dialogue.transaction import Transaction
from companion.steps.aim.figures import limits_of
from companion.steps.aim.model import AimDecision
from companion.steps.shared.conformity import cannot_pass, random_and_fixed
from companion.uncertainty.conformity import can_ever_pass, decide, repeats_to_settle
from companion.uncertainty.sets import Pair


def say_if_none_could_pass(
    tx: Transaction, step: AimDecision, aim_now: Pair, confidence: float
) -> bool:
    """Stop when with this much doubt no aim at all could be found inside."""
    limits = limits_of(tx.state.plan)
    axes = (
        (step.yaw, aim_now[0], limits.yaw_deg),
        (step.elevation, aim_now[1], limits.elevation_deg),
    )
    for result, value, tolerance in axes:
        if not can_ever_pass(value.u, -tolerance, tolerance, confidence):
            cannot_pass(tx, step.id, step.title, result, value, tolerance)
            return True
    return False


def sets_to_settle(
    aim_now: Pair, step: AimDecision, sets: int, tolerances: tuple[float, float], level: float
) -> int | None:
    """How many more sets, averaged, should settle it at this level; None: no number of them."""
    counts = []
    for value, tolerance in zip(aim_now, tolerances, strict=True):
        by_set, stays = random_and_fixed(value, frozenset(step.again.steps))
        one_set = by_set * sets**0.5
        if decide(value.value, value.u, -tolerance, tolerance, level).answer != "too_close":
            continue
        count = repeats_to_settle(value.value, one_set, stays, -tolerance, tolerance, level)
        if count is None:
            return None
        counts.append(count)
    return max(1, max(counts, default=sets + 1) - sets)
