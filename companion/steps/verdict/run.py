"""Inside together and sure: done. Else the same once more, or what is done about it.

"Inside" is only said of two sets that agree: one set may hold a number that was misread.
"""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue.progress import mark_stale
from companion.dialogue.retry import halt, of_job, retry
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import (
    fill,
    grounds,
    measured_value,
    number,
    reading_name,
    unit_of_number,
)
from companion.facts.kinds import Entry
from companion.facts.message import Told, in_a_row
from companion.facts.workings import Decided
from companion.job.job_file import Step
from companion.steps.shared.conformity import cannot_pass
from companion.steps.shared.rests_on import rests_on
from companion.steps.verdict import prompts
from companion.steps.verdict.model import Part, Verdict
from companion.steps.verdict.state import Looks, keep, looks_of, place_of
from companion.uncertainty.conformity import can_ever_pass
from companion.uncertainty.measured import Measured
from companion.uncertainty.several import (
    Row,
    Several,
    Unchecked,
    judge_several,
    means_of,
    sets_to_settle,
)

FACT = "verdict"
SETS_WANTED = 2


def limits(state: State, part: Part) -> tuple[float, float]:
    """The lower and upper limit of a part, in the unit of its result."""
    if part.low is not None and part.high is not None:
        return number(state, part.low), number(state, part.high)
    within = number(state, part.within or 0.0)
    return -within, within


def look(tx: Transaction, step: Verdict) -> None:
    """One look at a fresh set."""
    state = tx.state
    fresh = tuple(measured_value(state, part.result) for part in step.parts)
    bounds = [limits(state, part) for part in step.parts]
    for part, value, (low, high) in zip(step.parts, fresh, bounds, strict=True):
        if not can_ever_pass(value.u, low, high, step.confidence):
            cannot_pass(tx, step.id, part.title, part.result, value, (high - low) / 2)
            return
    seen = _with(state, step, fresh)
    keep(tx, step.id, seen)
    number_of_look = min(seen.looks, step.most_sets)
    unchecked = Unchecked(rests_on(state), step.confidence_if_wrong)
    judged = judge_several(
        seen.sets, bounds, step.confidence, number_of_look, step.most_sets, unchecked
    )
    _record(tx, step, seen, judged, bounds)
    if judged.answer == "refused":
        # Nothing of before counts on: the newest may be the one that is right.
        keep(tx, step.id, replace(seen, sets=(fresh,)))
        part = step.parts[judged.disagrees or 0]
        _again(tx, step, seen, prompts.sets_disagree(part.title))
    elif judged.answer == "outside" or (
        judged.answer == "too_close"
        and sets_to_settle(
            seen.sets, bounds, step.confidence, number_of_look, step.most_sets, unchecked
        )
        is None
    ):
        hopeless = _never_inside(step, fresh, bounds, unchecked)
        if hopeless is not None:
            part, (low, high) = step.parts[hopeless], bounds[hopeless]
            value = fresh[hopeless]
            cannot_pass(tx, step.id, part.title, part.result, value, (high - low) / 2)
            return
        # Near a limit more sets settle nothing: what is outside is put right, and so is this.
        keep(tx, step.id, _sent_back(step, seen, judged))
        retry(tx, step.id, of_job(step.outside))
    elif judged.answer == "inside" and seen.looks <= step.most_sets:
        if len(seen.sets) >= SETS_WANTED:
            tx.change(done=tx.state.done | {step.id})
        else:
            _again(tx, step, seen, fill(tx.state, step.once_more))
    else:
        _again(tx, step, seen, in_a_row(prompts.TOO_CLOSE, fill(tx.state, step.once_more)))


def _never_inside(
    step: Verdict, fresh: Row, bounds: list[tuple[float, float]], unchecked: Unchecked
) -> int | None:
    """The first part that all looks would not call inside if it stood exactly right; or None."""
    for place, (value, (low, high)) in enumerate(zip(fresh, bounds, strict=True)):
        best, limit = Measured((low + high) / 2, value.contributions), [(low, high)]
        told = (step.confidence, 1, step.most_sets, unchecked)
        if sets_to_settle([(best,)], limit, *told) is None:
            return place
    return None


def forget_sets_of(tx: Transaction, step: Verdict, source: Step) -> None:
    """Sets that rest on an answer which is taken back count no more; the looks stay counted."""
    seen, taken = looks_of(tx.state, step.id), tx.state.readings.get(source.id)
    if seen is None:
        return
    name = reading_name(source.id, taken.take) if taken is not None else None
    kept = tuple(row for row in seen.sets if name is not None and name not in _lines(row))
    keep(tx, step.id, replace(seen, sets=kept))


def _sent_back(step: Verdict, seen: Looks, judged: Several) -> Looks | None:
    """What moves it elsewhere in the job is told what; until it was moved the looks stay counted.

    None, as if nothing had been looked at, where the putting right is said here and now.
    """
    if not step.moved_by or step.id in step.moved_by:
        return None
    back = tuple(
        (part.result, mean)
        for place, (part, mean) in enumerate(zip(step.parts, means_of(seen.sets), strict=True))
        if place in judged.not_inside
    )
    return replace(seen, sent_back=back)


def _with(state: State, step: Verdict, fresh: Row) -> Looks:
    """The sets with this one; those of another place, or that share a take with it, are left."""
    place = place_of(state, step)
    seen = looks_of(state, step.id)
    if seen is None or seen.place != place:
        seen = Looks(place)
    takes = {
        reading_name(reading, state.readings[reading].take)
        for reading in step.readings
        if reading in state.readings
    }
    kept = tuple(row for row in seen.sets if not takes & _lines(row))
    return Looks(place, (*kept, fresh), seen.looks + 1)


def _lines(row: Row) -> set[str]:
    return {name for value in row for name, _ in value.contributions}


def _again(tx: Transaction, step: Verdict, seen: Looks, say: Told) -> None:
    """The same readings once more; past the last look nothing may be called inside here."""
    if seen.looks >= step.most_sets:
        mark_stale(tx, step.readings, step.then_stop)
        halt(tx, step.id, step.then_stop)
        return
    tx.announce(say, "explain")
    # Whether to move anything is for the mean of the sets to say, not for the newest alone.
    settled = tx.state.done.intersection(step.moved_by)
    mark_stale(tx, step.readings, say)
    tx.change(done=tx.state.done | settled)


def _record(
    tx: Transaction,
    step: Verdict,
    seen: Looks,
    judged: Several,
    bounds: list[tuple[float, float]],
) -> None:
    for part, value, probability, (low, high) in zip(
        step.parts, judged.means, judged.probabilities, bounds, strict=True
    ):
        answer = "inside" if probability >= judged.level else "too_close"
        if probability <= 1.0 - step.confidence:
            answer = "outside"
        tx.record(
            Decided(
                step_id=part.id,
                title=part.title,
                result=part.result,
                value=value.value,
                u=value.u,
                unit=unit_of_number(tx.state.plan, part.result),
                low=low,
                high=high,
                level=judged.level,
                answer=answer,
                probability_inside=probability,
                grounds=grounds("several"),
                readings_to_settle=None,
                times=seen.looks,
            )
        )
    tx.record(
        Entry(
            FACT,
            {
                "step_id": step.id,
                "title": step.title,
                "answer": judged.answer,
                "sets": len(seen.sets),
                "look": seen.looks,
                "most_looks": step.most_sets,
                "probability": round(judged.together, 9),
                "level": round(judged.level, 9),
                "wrong": judged.wrong,
                "probability_if_wrong": round(judged.probability_if_wrong, 9),
                "level_if_wrong": round(judged.level_if_wrong, 9),
            },
        )
    )
