"""Figures with their doubt, as facts hold them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

U = Annotated[float | None, "standard uncertainty, in the unit of the value"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value with its standard uncertainty `u`, both in `unit`; None where not recorded."""

    value: float | None
    u: float | None
    unit: str


class Share(NamedTuple):
    """What one base reading or entered figure adds to a doubt, in percent of its variance.

    `name` is "reading #take" or "step.input".
    """

    name: str
    percent: float


Budget = Annotated[tuple[Share, ...], "who adds how much to the doubt, the largest first"]


@dataclass(frozen=True, slots=True)
class Grounds:
    """The formula or method in words, and its source."""

    text: str
    source: str


Spoken = Annotated[str, "as it was said back"]
