"""Which car it was, and what was asked: personal data, kept beside the record and not in it.

The record names it by its hash, so it can be let go while the record stays as it was written.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Annotated

from companion.facts.codec import LEFT_OUT


@dataclass(frozen=True, slots=True)
class Car:
    """One car on one order. Any of it may be left out.

    `salt` is drawn anew each time: without it a hash could be tried against every plate there is.
    """

    order: Annotated[str, LEFT_OUT, "the order's number, as the shop writes it"] = ""
    plate: Annotated[str, LEFT_OUT, "the registration plate, as it is written"] = ""
    vin: Annotated[str, LEFT_OUT, "vehicle identification number, whole or its last characters"] = (
        ""
    )
    odometer_km: Annotated[int | None, LEFT_OUT] = None
    complaint: Annotated[str, LEFT_OUT, "what was asked for, in the customer's words"] = ""
    salt: Annotated[str, LEFT_OUT, "so that the hash cannot be guessed from the rest"] = ""

    @property
    def is_told(self) -> bool:
        """Whether anything of it was entered."""
        return any(getattr(self, name) not in ("", None) for name in TOLD)

    def rows(self) -> tuple[tuple[str, str], ...]:
        """What was entered, as (name of the field, text)."""
        told = ((name, getattr(self, name)) for name in TOLD)
        return tuple((name, str(value)) for name, value in told if value not in ("", None))


TOLD = tuple(field.name for field in fields(Car) if field.name != "salt")
"""The fields that tell of the car."""
