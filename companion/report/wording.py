"""How the report says numbers, directions and answers: words for signs, doubt beside value."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction

from companion.facts.ending import DriftNoticed
from companion.facts.figures import Quantity

MINUS = "\u2212"
NOT_RECORDED = "not recorded"


@dataclass(frozen=True)
class Name:
    """A result's title, and the words for its positive and negative direction (if it has any)."""

    title: str
    positive: str = ""
    negative: str = ""


NAMES = {
    "floor_slope_up_deg": Name("Floor slope along the car", "rising forwards", "falling forwards"),
    "floor_side_slope_deg": Name("Floor slope across", "left side high", "right side high"),
    "floor_twist_mm": Name("Floor twist"),
    "stand_spot_above_mm": Name("Stand spot and wheel plane", "above", "below"),
    "run_out_deg": Name("Clamp run-out"),
    "run_out_heading_deg": Name("Heading error by run-out", "left", "right"),
    "run_out_residual_mm": Name("Run-out left over"),
    "thrust_direction_deg": Name("Thrust direction", "left", "right"),
    "thrust_direction_mm": Name("Thrust direction across the diameter", "left", "right"),
    "toe_left_as_deg": Name("Rear left toe as an angle", "in", "out"),
    "toe_right_as_deg": Name("Rear right toe as an angle", "in", "out"),
    "body_nose_up_deg": Name("Body's nose", "up", "down"),
    "body_left_high_deg": Name("Body's lean", "left side high", "right side high"),
    "body_twist_mm": Name("Body's twist"),
    "total_toe_deg": Name("Total rear toe", "in", "out"),
    "stand_turn_deg": Name("Stand turned", "anticlockwise", "clockwise"),
    "beam_disagreement_deg": Name("Disagreement of the two beams"),
    "stand_offset_left_mm": Name("Stand sideways", "left", "right"),
    "distance_error_mm": Name("Plate distance", "too far away", "too close"),
    "height_error_mm": Name("Plate height", "too high", "too low"),
    "plate_level_deg": Name("Plate level", "left end high", "right end high"),
    "level_mm_per_m": Name("Level across", "left end high", "right end high"),
    "plumb_mm_per_m": Name("Plumb", "top away", "top towards the car"),
    "plate_plumb_deg": Name("Plate plumb", "top away", "top towards the car"),
    "vertex_deg": Name("Strongest echo at"),
    "lean_vertex_deg": Name("Strongest echo at", "top towards the car", "top away from the car"),
    "swing_vertex_deg": Name(
        "Strongest echo at", "left edge towards the car", "right edge towards the car"
    ),
    "beam_width_deg": Name("Beam width seen"),
    "peak_db": Name("Echo at its strongest"),
    "aim_yaw_deg": Name("Aim sideways", "left", "right"),
    "aim_elevation_deg": Name("Aim up or down", "up", "down"),
}

_UNIT_ENDINGS = {"deg": "°", "mm": "mm", "db": "dB", "m": "m"}
REFUSALS = {
    "not_in_grammar": "that is no answer here",
    "unsure": "not sure enough",
    "too_loud": "too loud",
    "too_quiet": "too quiet",
    "clipped": "too loud for the microphone",
    "too_long": "that went on too long",
    "sound_lost": "sound was lost",
    "no_microphone": "the microphone is gone",
    # As records before version 0.6 call both of them.
    "overrun": "too long, or sound was lost",
}
"""Why nothing was taken of what was heard."""
_UNIT_SIGNS = {
    "deg": "°",
    "degree": "°",
    "degrees": "°",
    "db": "dB",
    "dB": "dB",
    "mm_per_m": "mm/m",
    "celsius": "°C",
    "volt": "V",
    "volts": "V",
    "": "",
}


def name_of(name: str) -> Name:
    """The known name, also of one with a place before it: "left_run_out_deg" is the left one's."""
    if name in NAMES:
        return NAMES[name]
    endings = [known for known in NAMES if name.endswith(f"_{known}")]
    if not endings:
        return Name("")
    ending = max(endings, key=len)
    known, place = NAMES[ending], name.removesuffix(f"_{ending}").replace("_", " ")
    return replace(known, title=f"{known.title}, {place}")


def title_of(name: str) -> str:
    """The title of a named result; an unknown one is its name without the unit."""
    known = name_of(name)
    if known.title:
        return known.title
    stem, _, ending = name.rpartition("_")
    spoken = stem if stem and ending in _UNIT_ENDINGS else name
    return spoken.replace("_", " ").strip().capitalize() or "Result"


def unit_sign(unit: str) -> str:
    """The unit as it is written behind a number."""
    return _UNIT_SIGNS.get(unit, unit)


def decimals_for(u: float | None, fallback: int = 2) -> int:
    """Decimals that show two figures of the uncertainty."""
    if u is None or u <= 0 or not math.isfinite(u):
        return fallback
    return min(6, max(0, 1 - math.floor(math.log10(u))))


def plain_number(value: float, decimals: int) -> str:
    """Fixed decimals, a true minus sign, and no minus before zero."""
    digits = f"{abs(value):.{decimals}f}"
    negative = value < 0 and float(digits) != 0
    return f"{MINUS}{digits}" if negative else digits


def with_unit(digits: str, unit: str) -> str:
    """Number and unit; the degree sign stands close, others after a thin gap."""
    sign = unit_sign(unit)
    return digits + ("" if sign in ("", "°") else "\u00a0") + sign


# Behind every "±", on paper, on the screen and in speech: U = k u, about 95 % of a normal spread.
COVERAGE_FACTOR = 2


def amount(quantity: Quantity, name: str = "", decimals: int | None = None) -> str:
    """The value with a word for its direction ("0.42° left"), a sign only where no word is."""
    if quantity.value is None:
        return NOT_RECORDED
    places = decimals_for(quantity.u) if decimals is None else decimals
    known = name_of(name)
    if not known.positive:
        return with_unit(plain_number(quantity.value, places), quantity.unit)
    digits = f"{abs(quantity.value):.{places}f}"
    direction = known.positive if quantity.value > 0 else known.negative
    told = with_unit(digits, quantity.unit)
    return told if float(digits) == 0 else f"{told} {direction}"


def doubt(quantity: Quantity) -> str:
    """The standard uncertainty to two figures."""
    if quantity.u is None:
        return NOT_RECORDED
    return with_unit(plain_number(quantity.u, decimals_for(quantity.u)), quantity.unit)


def expanded(quantity: Quantity) -> str:
    """The expanded uncertainty, U = k u, to as many places as the standard one has figures."""
    if quantity.u is None:
        return NOT_RECORDED
    places = decimals_for(quantity.u)
    return with_unit(plain_number(COVERAGE_FACTOR * quantity.u, places), quantity.unit)


def amount_with_doubt(quantity: Quantity, name: str = "") -> str:
    """Value, expanded uncertainty, unit and direction in one: "0.420 ± 0.062° left"."""
    if quantity.value is None or quantity.u is None:
        return amount(quantity, name)
    places = decimals_for(quantity.u)
    known = name_of(name)
    told = plain_number(abs(quantity.value) if known.positive else quantity.value, places)
    direction = known.positive if quantity.value > 0 else known.negative
    if not known.positive or float(told) == 0:
        direction = ""
    spread = with_unit(plain_number(COVERAGE_FACTOR * quantity.u, places), quantity.unit)
    return f"{told} ±\u00a0{spread} {direction}".strip()


def limits(low: float | None, high: float | None, unit: str, name: str = "") -> str:
    """The allowed band in words: "within 0.50°" when it lies evenly about zero."""
    if low is None and high is None:
        return NOT_RECORDED
    places = max(_places(low), _places(high))
    if low is not None and high is not None and math.isclose(low, -high):
        return "within " + with_unit(plain_number(abs(high), places), unit)
    if low is None and high is not None:
        return "at most " + with_unit(plain_number(high, places), unit)
    if high is None and low is not None:
        return "at least " + with_unit(plain_number(low, places), unit)
    ends = [amount(Quantity(end, None, unit), name, places) for end in (low, high)]
    return f"from {ends[0]} to {ends[1]}"


def limits_about_zero(half_width: float | None, unit: str, name: str = "") -> str:
    """The band that lies evenly about zero, in words."""
    return limits(None if half_width is None else -half_width, half_width, unit, name)


def _places(value: float | None) -> int:
    if value is None:
        return 0
    _, _, behind = f"{value:.4f}".rstrip("0").partition(".")
    return len(behind)


def percent(probability: float | None) -> str:
    """A probability in percent; never 0 or 100, which nobody can know."""
    if probability is None:
        return NOT_RECORDED
    if probability > 0.999:
        return "over 99.9\u00a0%"
    if probability < 0.001:
        return "under 0.1\u00a0%"
    return f"{probability * 100:.1f}\u00a0%"


ANSWERS = {"inside": "inside", "outside": "outside", "too_close": "too close to call"}


def answer_words(answer: str) -> str:
    """A decision's answer as words."""
    return ANSWERS.get(answer, answer or NOT_RECORDED)


def turns_words(turns: Fraction) -> str:
    """ "2¾ turns clockwise", "not turned"."""
    if turns == 0:
        return "not turned"
    return f"{turns_only(turns)} {'clockwise' if turns > 0 else 'anticlockwise'}"


def turns_only(turns: Fraction) -> str:
    """ "2¾ turns", whichever way."""
    whole, part = divmod(abs(turns), 1)
    quarters = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}
    fraction = quarters.get(part, f" {part}" if part else "")
    told = f"{whole or ''}{fraction}".strip()
    return f"{told} {'turn' if abs(turns) <= 1 else 'turns'}"


def refusal(reason: str) -> str:
    """Why nothing was taken; the record's own word where none stands here."""
    return REFUSALS.get(reason, reason.replace("_", " "))


def day(at_utc: str) -> str:
    """The day of a stamp."""
    return at_utc[:10]


def clock_time(at_utc: str) -> str:
    """Hours, minutes and seconds of a stamp."""
    return at_utc[11:19]


def spaced_hash(sha256: str) -> str:
    """A hash in groups of eight, to be compared by eye."""
    return " ".join(sha256[start : start + 8] for start in range(0, len(sha256), 8))


def drifted(drift: DriftNoticed) -> str:
    """What the watch over a bay noticed with a job."""
    where, since = drift.bay or "this bay", drift.since_utc[:10]
    return f"{title_of(drift.measure)} has likely changed in {where}, since {since}"
