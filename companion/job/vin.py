"""The vehicle identification number: 17 characters, and in some markets a check digit among them.

Length and letters: ISO 3779 (17 characters of 0-9 and A-Z without I, O and Q). The check digit at
position 9 with its values and weights: 49 CFR 565.15 (c), the public regulation of the market that
requires it; elsewhere the position is free.
"""

from __future__ import annotations

import re

from companion.errors import CompanionError

LENGTH = 17
NEVER = "IOQ"
"""Letters that no number has: they look like 1 and 0."""
_VALUES = {
    **{str(digit): digit for digit in range(10)},
    **dict(zip("ABCDEFGH", range(1, 9), strict=True)),
    **dict(zip("JKLMN", range(1, 6), strict=True)),
    "P": 7,
    "R": 9,
    **dict(zip("STUVWXYZ", range(2, 10), strict=True)),
}
_WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
CHECKED = 9
"""Where the check digit stands, from 1."""


class VinError(CompanionError):
    """What was entered is no vehicle identification number, and why."""


def vin_of(entered: str, *, check_digit: bool) -> str:
    """The number in capitals, without spaces and hyphens; a reader's line may hold both.

    Raises VinError saying what is wrong and what is wanted.
    """
    vin = re.sub(r"[\s-]", "", entered).upper()
    for letter in NEVER:
        if letter in vin:
            instead = "1" if letter == "I" else "0"
            place = vin.index(letter) + 1
            raise VinError(
                f"VIN {vin}: found the letter {letter} at place {place}, which no VIN has; "
                f"perhaps it is a {instead}; look again",
                said="vin-letter",
                vin=vin,
                letter=letter,
                place=place,
                instead=instead,
            )
    odd = next((sign for sign in vin if sign not in _VALUES), None)
    if odd is not None:
        place = vin.index(odd) + 1
        raise VinError(
            f"VIN {vin}: found {odd!r} at place {place}; wanted: digits and letters",
            said="vin-sign",
            vin=vin,
            sign=odd,
            place=place,
        )
    if len(vin) != LENGTH:
        raise VinError(
            f"VIN {vin}: found {len(vin)} characters; wanted: {LENGTH}",
            said="vin-length",
            vin=vin,
            found=len(vin),
            wanted=LENGTH,
        )
    if check_digit and vin[CHECKED - 1] != (wanted := check_digit_of(vin)):
        found = vin[CHECKED - 1]
        raise VinError(
            f"VIN {vin}: found {found} at place {CHECKED}; going by the others it should be "
            f"{wanted}: one of the characters is wrong, or this market's numbers have no check "
            "digit (setting vin_check_digit)",
            said="vin-check-digit",
            vin=vin,
            found=found,
            place=CHECKED,
            wanted=wanted,
        )
    return vin


def check_digit_of(vin: str) -> str:
    """What stands at position 9 by the other sixteen characters."""
    total = sum(_VALUES[sign] * weight for sign, weight in zip(vin, _WEIGHTS, strict=True))
    remainder = total % 11
    return "X" if remainder == 10 else str(remainder)


def in_groups(text: str) -> tuple[str, ...]:
    """The characters as they are spelled and read back: in threes, and no single one at the end.

    So the first group of a VIN is its maker's (ISO 3780), as people know it.
    """
    groups = []
    left = text
    while left:
        size = 3 if len(left) != 4 else 2
        groups.append(left[:size])
        left = left[size:]
    return tuple(groups)
