"""Decisions by probability: what the record keeps, what can never pass, what is put right."""

from __future__ import annotations

import math
from decimal import Decimal

from companion.dialogue.kind import kind_of
from companion.dialogue.retry import halt
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import as_written, grounds, number, shares_of, unit_of_number
from companion.facts.aim import MoveJudged
from companion.facts.instructions import MoveStand, StandQuantity
from companion.facts.message import Amount, Arg, Message, text
from companion.facts.workings import CannotPass, Decided, Target
from companion.steps.shared import advice
from companion.steps.shared.move import Move, Until, way_of
from companion.uncertainty.conformity import Verdict, repeats_to_settle
from companion.uncertainty.measured import Measured
from companion.uncertainty.taking import averages_away

# A correction counts as gone the wrong way when it made things worse by this many times its doubt.
WRONG_WAY_IN_U = 3.0


def decided(
    state: State,
    named: tuple[str, str, str],
    value: Measured,
    limits: tuple[float, float],
    level: float | None,
    verdict: Verdict,
    times: int,
) -> Decided:
    """What the record keeps of a decision. `named`: its step, its title and its result."""
    step_id, title, result = named
    return Decided(
        step_id=step_id,
        title=title,
        result=result,
        value=value.value,
        u=value.u,
        unit=unit_of_number(state.plan, result),
        low=limits[0],
        high=limits[1],
        level=level,
        answer=verdict.answer,
        probability_inside=verdict.probability_inside,
        grounds=grounds("plain" if level is None else "conformity"),
        readings_to_settle=readings_to_settle(value, limits, level, verdict),
        times=times,
    )


def readings_to_settle(
    value: Measured, limits: tuple[float, float], level: float | None, verdict: Verdict
) -> int | None:
    """How many readings, averaged, would settle what is too close to call; None: none would."""
    if verdict.answer != "too_close" or level is None:
        return None
    by_readings, by_files = random_and_fixed(value)
    return repeats_to_settle(value.value, by_readings, by_files, *limits, level)


def random_and_fixed(
    value: Measured, readings: frozenset[str] | None = None
) -> tuple[float, float]:
    """The doubt that reading again averages away, and the doubt that stays.

    `readings`: those that would be read again; None: every reading.
    """
    again: list[float] = []
    stays: list[float] = []
    for name, part in value.contributions:
        reading, _, _ = name.partition(" #")
        averaged = averages_away(name) and (readings is None or reading in readings)
        (again if averaged else stays).append(part)
    return math.hypot(0.0, *again), math.hypot(0.0, *stays)


def cannot_pass(
    tx: Transaction, step_id: str, title: str, result: str, value: Measured, half_width: float
) -> None:
    """Stop: with this doubt no result at all could be called inside."""
    unit = unit_of_number(tx.state.plan, result)
    tx.record(
        CannotPass(
            step_id=step_id,
            title=title,
            result=result,
            u=value.u,
            unit=unit,
            half_width=half_width,
            budget=shares_of(value),
            grounds=grounds("best_possible"),
        )
    )
    halt(tx, step_id, advice.cannot_pass(title, 2 * value.u, half_width, unit))


def notice_wrong_way(tx: Transaction, key: str, now: float, u: float, title: str = "") -> None:
    """Say so when what was to be put right under this key has grown instead."""
    last = tx.state.last_moves.get(key)
    if last is None:
        return
    tx.change(last_moves={k: move for k, move in tx.state.last_moves.items() if k != key})
    worse_by = abs(now) - abs(last.value)
    if last.value * now > 0 and worse_by > WRONG_WAY_IN_U * math.hypot(last.u, u):
        tx.record(MoveJudged(key, "wrong_way", screw_ids=(), probability=None))
        tx.announce(advice.went_the_wrong_way(title), "explain")


def correction(
    move: Move, quantity: StandQuantity | None, error: float, state: State, error_now: float
) -> tuple[Message, MoveStand, Target | None]:
    """The move that takes this error away: as the person will see it, as a value, and what is
    read then, where that can be told.

    `error`: what is moved, with what the moves before it will have done. `error_now`: the error as
    it was measured: what is read in the end follows from that, whatever is moved before.
    """
    steps = max(1, round(abs(error) / move.resolution))
    amount = as_written(move.resolution) * steps
    spoken = move.direction_when_positive if error > 0 else move.direction_when_negative
    told: dict[str, Arg] = {
        "amount": Amount(amount, move.amount),
        "direction": Message(f"move-{spoken}"),
    }
    say = move.say
    reads = _reads_then(state, move.until, error_now) if move.until is not None else None
    target = None
    if move.until is not None and reads is not None:
        say = move.until.say
        told["reads"], value = reads
        target = Target(move.until.reading, value)
    return text(say, told), MoveStand(quantity, way_of(spoken), amount, move.amount), target


def _reads_then(state: State, until: Until, error: float) -> tuple[Amount, float] | None:
    """What is read once the error is gone, as it is said and with its sign.

    None where it was not read, or could not be so.

    A mirror that is turned sends its beam back turned by twice as much.
    """
    taken = state.readings.get(until.reading)
    if taken is None:
        return None
    step = state.plan.step(until.reading)
    readable = kind_of(state.plan, step).readable(step)
    if readable is None:
        return None
    falls = error if until.changes == "with" else -error
    value = float(taken.value) - falls
    if until.beam_path_mm is not None:
        path_mm = number(state, until.beam_path_mm)
        angle = math.atan(float(taken.value) / path_mm) - 2 * math.radians(falls)
        value = path_mm * math.tan(angle)
    finest, ways = readable.smallest_step, readable.directions
    reads = abs(round(Decimal(value) / finest)) * finest
    if not ways and value < 0:
        return None
    way = (ways[0] if value > 0 else ways[1]) if ways and reads else None
    return Amount(reads if reads else 0, None, way), math.copysign(float(reads), value)
