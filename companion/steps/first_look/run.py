"""A first look at the aim, by the levels at the far notches: plainly off, or not said.

Five levels fit five unknowns: nothing in them shows ripple of the room or a misread level, but for
the two beam widths. So a first look may turn the screws and never calls anything inside. It is no
look that spends risk: an aim that it sends to the screws is one that the whole set could not have
called inside any more, P(not off and inside) <= P(inside). That holds while its levels stay in the
whole set as they were read; where its answer has fallen and they are read again at the same
position of the screws, a look is spent.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from companion.calibration.formulas import evaluate
from companion.dialogue.progress import applies, mark_stale
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds, number, reading_name, shares_of
from companion.errors import MeasureError
from companion.facts.aim import AimDecided, Axis, MoveJudged
from companion.facts.message import Message
from companion.facts.workings import Computed
from companion.steps.aim.figures import limits_of, mount_model, mount_of
from companion.steps.aim.judging import as_planned
from companion.steps.aim.model import AimDecision
from companion.steps.aim.run import WORTH_TURNING
from companion.steps.aim.sets import covariance, inside_probability
from companion.steps.aim.short_set import borrowed_widths, may_be_short, settled_by_short_set
from companion.steps.aim.state import AimRound, aim_of, aim_round, keep
from companion.steps.aim.turning import plan_for, turn_screws
from companion.steps.computation.model import Computation
from companion.steps.computation.run import computed, inputs_of
from companion.steps.first_look.model import FirstLook
from companion.uncertainty.conformity import contradicts
from companion.uncertainty.measured import Measured
from companion.uncertainty.sets import Pair

SET_INTERRUPTED = Message("set-interrupted")
PLAINLY_OFF = 0.01
"""The most that the probability of being inside may be."""


@dataclass(frozen=True)
class _Seen:
    """What the few levels come to: the aim, and how it was worked out."""

    aim: Pair
    workings: tuple[Computed, ...]


def look_first(tx: Transaction, step: FirstLook) -> None:
    """Turn the screws where the aim is plainly off; else leave it to the whole set."""
    whole = _aim_step(tx.state, step)
    tx.change(done=(tx.state.done - _skipped(tx.state, step, whole)) | {step.id})
    aim = aim_of(tx.state)
    if aim.first_look == aim.looks:
        # Its answer had fallen, and not all that it rests on stayed as it was.
        aim = keep(tx, replace(aim, looks=aim.looks + 1))
    if _is_mixed(tx.state, whole, aim):
        _read_levels_anew(tx, whole)
        return
    if aim.looks:
        return
    aim = keep(tx, replace(aim, first_look=aim.looks))
    if _has_whole_set(tx.state, whole):
        return
    seen = _seen(tx.state, step)
    if seen is not None:
        _turn_where_plainly_off(tx, step, whole, aim, seen)
        if not tx.state.tasks and tx.state.mode is Mode.ASKING:
            _settle_by_short_set(tx, step, whole, aim)


def read_anew_after_break(tx: Transaction, step: FirstLook) -> None:
    """A break between these levels and the others: they would be no one set, for levels drift.

    All are read anew then. As the answer of the first look has fallen, that spends a look. And the
    widths of sets before the break are not borrowed behind it.
    """
    state = tx.state
    whole = _aim_step(state, step)
    if (aim := aim_round(state)) is not None:
        aged = aim.aged if aim.short is None else aim.short.takes
        keep(tx, replace(aim, widths=(), aged=aged))
    at_these_levels = step.id in state.done and whole.id not in state.done
    if not at_these_levels or state.tasks or _has_whole_set(state, whole):
        return
    if any(name in state.readings for name in _levels(state, step)):
        _read_levels_anew(tx, whole)


def _is_mixed(state: State, whole: AimDecision, aim: AimRound) -> bool:
    """Whether levels of a short set that a break lies behind stand among others that do not."""
    lines = {
        reading_name(name, state.readings[name].take)
        for name in whole.again.steps
        if name in state.readings
    }
    return bool(lines & set(aim.aged)) and not lines <= set(aim.aged)


def _read_levels_anew(tx: Transaction, whole: AimDecision) -> None:
    taken = tuple(name for name in whole.again.steps if name in tx.state.readings)
    mark_stale(tx, taken, SET_INTERRUPTED)
    tx.announce(SET_INTERRUPTED, "explain")


def _turn_where_plainly_off(
    tx: Transaction, step: FirstLook, whole: AimDecision, aim: AimRound, seen: _Seen
) -> None:
    state, mount = tx.state, mount_of(mount_model(tx.state.plan))
    probability = inside_probability(state, seen.aim)
    if probability > PLAINLY_OFF:
        return
    judged: MoveJudged | None = None
    if aim.planned_turns is not None and not aim.explained:
        explained = as_planned(state, whole.id, replace(aim, sets=(seen.aim,)), mount)
        if explained is None:
            # What happened at the screws is for the whole set to say.
            return
        judged, after = explained
        aim = replace(after, sets=())
    plan = plan_for(state, mount, aim, seen.aim, covariance(seen.aim))
    worth = plan.predicted_probability > probability + WORTH_TURNING
    if not (plan.reachable and plan.steps and worth):
        return
    for working in seen.workings:
        tx.record(working)
    if judged is not None:
        tx.record(judged)
    tx.record(_decided(state, step, whole, aim, seen.aim, probability))
    keep(tx, aim)
    turn_screws(tx, whole, mount, seen.aim, plan, by_whole_set=False)


def _settle_by_short_set(
    tx: Transaction, step: FirstLook, whole: AimDecision, aim: AimRound
) -> None:
    """Inside by these levels and the widths of the whole set before: the others are not asked."""
    short = step.short_set
    if short is None or not may_be_short(tx.state, whole, aim, short.largest_move_deg):
        return
    # It could say inside: that is a look, also where it says nothing.
    looks = aim.looks + 1
    aim = keep(tx, replace(aim, looks=looks, first_look=looks))
    state = tx.state
    found = _worked_out(
        replace(state, results={**state.results, **borrowed_widths(whole, aim)}),
        short.computations,
    )
    if found is None:
        return
    results, workings = found
    pair: Pair = (results[step.yaw], results[step.elevation])
    left_over = tuple(results[name] for name in short.left_over)
    if settled_by_short_set(tx, whole, aim, pair, left_over, _levels(state, step), workings):
        skipped = _skipped(state, step, whole)
        tx.change(results=results, done=tx.state.done | skipped | {whole.id})


def _skipped(state: State, step: FirstLook, whole: AimDecision) -> frozenset[str]:
    """What a short set makes needless: the other levels, and all that only a whole set gives."""
    missing = [name for name in whole.again.steps if name not in state.readings]
    behind = state.plan.with_dependents(missing)
    ids = [other.id for other in state.plan.steps]
    between = ids[ids.index(step.id) + 1 : ids.index(whole.id)]
    return frozenset(
        name for name in between if name in behind and applies(state, state.plan.step(name))
    )


def _aim_step(state: State, step: FirstLook) -> AimDecision:
    found = state.plan.step(step.aim)
    assert isinstance(found, AimDecision)  # noqa: S101  -- the job's check
    return found


def _has_whole_set(state: State, whole: AimDecision) -> bool:
    """Whether the other levels are there already: then the whole set decides."""
    levels = () if whole.noise is None else whole.noise.levels
    return bool(levels) and all(name in state.readings for name in levels)


def _seen(state: State, step: FirstLook) -> _Seen | None:
    """None where the levels form no peak, or one that contradicts the width of the beam."""
    found = _worked_out(state, step.computations)
    if found is None:
        return None
    results, workings = found
    if any(_contradicts(replace(state, results=results), step)):
        return None
    return _Seen((results[step.yaw], results[step.elevation]), workings)


def _worked_out(
    state: State, computations: Iterable[Computation]
) -> tuple[dict[str, Measured], tuple[Computed, ...]] | None:
    """All results with those of the computations, and how they came about; None without a peak."""
    workings = []
    for one in computations:
        inputs = inputs_of(state, one)
        try:
            outputs = evaluate(one.formula, inputs)
        except MeasureError:
            return None
        workings.append(computed(one, inputs, outputs))
        named = {result: outputs[name] for name, result in one.outputs.items()}
        state = replace(state, results={**state.results, **named})
    return dict(state.results), tuple(workings)


def _contradicts(state: State, step: FirstLook) -> Iterator[bool]:
    for width in step.widths:
        found, centre = state.results[width.result], number(state, width.centre)
        within = number(state, width.within) * abs(centre)
        yield contradicts(found.value, found.u, centre - within, centre + within)


def _decided(
    state: State,
    step: FirstLook,
    whole: AimDecision,
    aim: AimRound,
    seen: Pair,
    probability: float,
) -> AimDecided:
    limits = limits_of(state.plan)

    def axis(value: Measured, tolerance: float) -> Axis:
        return Axis(value.value, value.u, shares_of(value), tolerance)

    return AimDecided(
        step_id=whole.id,
        title=whole.title,
        round=aim.round,
        yaw=axis(seen[0], limits.yaw_deg),
        elevation=axis(seen[1], limits.elevation_deg),
        level=limits.confidence,
        probability_inside=probability,
        answer="outside",
        confirmed=False,
        grounds=grounds("aim_conformity"),
        more_sets_to_settle=None,
        levels=len(_levels(state, step)),
    )


def _levels(state: State, step: FirstLook) -> tuple[str, ...]:
    """The readings of the whole set that it rests on."""
    used = {source for one in step.computations for source in one.inputs.values()}
    return tuple(name for name in _aim_step(state, step).again.steps if name in used)
