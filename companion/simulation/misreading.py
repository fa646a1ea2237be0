"""Reading a scale, rightly or with one of the slips that people make at scales."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from companion.simulation.scales import OTHER_SIDE, Scale
from companion.simulation.script import Reads
from companion.simulation.slips import READING_SLIPS, ReadingSlip, Slips
from companion.simulation.world import World

_HARM_IN_STEPS = 2


def read_off(reads: Reads, world: World, random: Random) -> Decimal:
    """What is read rightly: off the bay's scale, or what is typical where it has none."""
    if reads.typical is not None:
        return reads.scale.read(reads.typical, random)
    return world.read(reads.name, reads.where)


def misread(reads: Reads, world: World, slips: Slips, prompt: str) -> Decimal:
    """What is taken from the scale, signed. At most one slip; it is noted with its harm."""
    right = read_off(reads, world, slips.random)
    for kind in READING_SLIPS:
        wrong = _slipped(kind, right, reads, world, slips)
        if wrong is None or wrong == right or not slips.strikes(kind, reads.name):
            continue
        harmful = abs(wrong - right) > _HARM_IN_STEPS * reads.scale.resolution
        place = reads.place
        meant, made = f"{place} {right}", f"{place} {wrong}"
        slips.note(kind, prompt, meant, made, harmful=harmful, figures=(right, wrong))
        return wrong
    return right


def _slipped(
    kind: ReadingSlip, right: Decimal, reads: Reads, world: World, slips: Slips
) -> Decimal | None:
    """The wrong value that this slip makes of the right one; None where it cannot be made."""
    way = slips.random.choice((-1, 1))
    read_from = reads.scale
    match kind:
        case "swaps_digits":
            return _swapped(right, slips)
        case "off_by_ten":
            return _kept_in_sign(right, right + 10 * way * read_from.resolution, read_from)
        case "off_by_one":
            return _kept_in_sign(right, right + way * read_from.resolution, read_from)
        case "reads_other_side":
            other = OTHER_SIDE.get(reads.where) if reads.typical is None else None
            return None if other is None else world.read(reads.name, other)
        case "mixes_up_direction":
            return -right if read_from.directions is not None else None


def _swapped(right: Decimal, slips: Slips) -> Decimal | None:
    """Two neighbouring digits change places; zero never comes first."""
    whole, point, decimals = format(abs(right), "f").partition(".")
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
