"""Reading a scale, rightly or with one of the slips that people make at scales."""

from __future__ import annotations

from decimal import Decimal

from companion.rehearsal.answers import names_place
from companion.rehearsal.prompts_heard import WantsReading
from companion.rehearsal.scales import Scale, scale
from companion.rehearsal.slips import READING_SLIPS, ReadingSlip, Slips
from companion.rehearsal.world import World

_HARM_IN_STEPS = 2
_TWO_SIDED = frozenset({"floor_rule", "ride_height", "arm", "spot", "toe_deg", "toe_mm"})


def misread(wanted: WantsReading, world: World, slips: Slips, prompt: str) -> Decimal:
    """What is taken from the scale, signed. At most one slip; it is noted with its harm."""
    read_from = scale(wanted.scale)
    right = world.read(wanted.scale, wanted.where)
    for kind in READING_SLIPS:
        wrong = _slipped(kind, right, wanted, read_from, world, slips)
        if wrong is None or wrong == right or not slips.strikes(kind, wanted.scale):
            continue
        harmful = abs(wrong - right) > _HARM_IN_STEPS * read_from.resolution
        place = names_place(wanted)
        slips.note(kind, prompt, f"{place} {right}", f"{place} {wrong}", harmful=harmful)
        return wrong
    return right


def _slipped(
    kind: ReadingSlip,
    right: Decimal,
    wanted: WantsReading,
    read_from: Scale,
    world: World,
    slips: Slips,
) -> Decimal | None:
    """The wrong value that this slip makes of the right one; None where it cannot be made."""
    way = slips.random.choice((-1, 1))
    match kind:
        case "swaps_digits":
            return _swapped(right, slips)
        case "off_by_ten":
            return _kept_in_sign(right, right + 10 * way * read_from.resolution, read_from)
        case "off_by_one":
            return _kept_in_sign(right, right + way * read_from.resolution, read_from)
        case "reads_other_side":
            other = _other_side(wanted)
            return None if other is None else world.read(wanted.scale, other)
        case "mixes_up_direction":
            return -right if read_from.directions is not None else None


def _swapped(right: Decimal, slips: Slips) -> Decimal | None:
    """Two neighbouring digits change places; zero never comes first."""
    text = format(abs(right), "f")
    whole, point, decimals = text.partition(".")
    digits = whole + decimals
    places = [
        place
        for place in range(len(digits) - 1)
        if digits[place] != digits[place + 1] and not (place == 0 and digits[1] == "0")
    ]
    if not places:
        return None
    place = slips.random.choice(places)
    swapped = digits[:place] + digits[place + 1] + digits[place] + digits[place + 2 :]
    size = Decimal(swapped[: len(whole)] + point + swapped[len(whole) :])
    return size if right >= 0 else -size


def _kept_in_sign(right: Decimal, wrong: Decimal, read_from: Scale) -> Decimal | None:
    """Misreading a size never turns its direction, nor makes a plain scale go below zero."""
    size = abs(right) + (wrong - right)
    if size < 0 or (size == 0 and read_from.directions is None):
        return None
    return size if right >= 0 else -size


def _other_side(wanted: WantsReading) -> str | None:
    if wanted.scale not in _TWO_SIDED:
        return None
    if "left" in wanted.where:
        return wanted.where.replace("left", "right")
    if "right" in wanted.where:
        return wanted.where.replace("right", "left")
    return None
