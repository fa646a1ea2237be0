"""What a simulated bay shows to somebody who practises in it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT


@dataclass(frozen=True, slots=True)
class BayShows:
    """What the instrument that is asked for reads, or how it is in this bay; in practice alone."""

    KIND: ClassVar[str] = "bay_shows"

    step_id: str
    title: Annotated[str, "as the job calls what is asked for"]
    instrument: Annotated[str, LEFT_OUT, "the scale of the simulated bay; none for a question"] = ""
    value: Annotated[
        str | None, LEFT_OUT, "decimal text in `unit`, the first of `directions` positive"
    ] = None
    unit: Annotated[str, LEFT_OUT] = ""
    resolution: Annotated[str, LEFT_OUT, "decimal text: the smallest step of the scale"] = ""
    directions: Annotated[tuple[str, ...], LEFT_OUT] = ()
    choice: Annotated[str, LEFT_OUT, "the answer that is true in this bay, by its id"] = ""

    @property
    def direction(self) -> str:
        """The word for the reading's sign; "" where it has none."""
        if not self.directions or self.value is None or float(self.value) == 0:
            return ""
        return self.directions[0 if float(self.value) > 0 else 1]
