"""The scales and displays of the bay: how finely each reads, how it is read, how far it is off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from random import Random
from types import MappingProxyType

from companion.simulation.errors import RehearsalError


@dataclass(frozen=True, slots=True)
class Scale:
    """`directions`: the words for positive and negative readings; none where there is no sign.

    `noise_sd`: of one reading, in the scale's unit, before it is read off to `resolution`.
    """

    unit: str
    resolution: Decimal
    noise_sd: float
    directions: tuple[str, str] | None = None

    def read(
        self, true_value: float, random: Random, noise: float = 1.0, step: float = 1.0
    ) -> Decimal:
        """What somebody reads off, with the sign of `directions`.

        `noise`, `step`: so many times its own noise and its own step.
        """
        spread = self.noise_sd * noise
        noisy = true_value + (random.gauss(0.0, spread) if spread else 0.0)
        resolution = self.resolution * Decimal(str(step)) if step != 1.0 else self.resolution
        steps = Decimal(noisy / float(resolution)).quantize(Decimal(1), ROUND_HALF_UP)
        return (steps * resolution).quantize(self.resolution) + Decimal(0)


_ONE = Decimal(1)
_TENTH = Decimal("0.1")
_HUNDREDTH = Decimal("0.01")

SCALES: Mapping[str, Scale] = MappingProxyType(
    {
        "floor_rule": Scale("mm", _ONE, 0.3),
        "ride_height": Scale("mm", _ONE, 0.5),
        "battery": Scale("volt", _TENTH, 0.03),
        "temperature": Scale("celsius", _ONE, 0.2),
        "arm": Scale("mm", _ONE, 0.3),
        "toe_deg": Scale("deg", _HUNDREDTH, 0.0, ("in", "out")),
        "toe_mm": Scale("mm", _TENTH, 0.0, ("in", "out")),
        "toe_diameter": Scale("mm", _ONE, 0.0),
        "level": Scale("mm_per_m", _TENTH, 0.05, ("up", "down")),
        "spot": Scale("mm", _ONE, 0.3, ("left", "right")),
        "plate_distance": Scale("mm", _ONE, 0.7),
        "plate_height": Scale("mm", _ONE, 0.5),
        "plumb": Scale("mm_per_m", _TENTH, 0.05, ("away", "towards")),
        "echo": Scale("db", _TENTH, 0.05),
        "board_tape": Scale("mm", _ONE, 0.7),
        "board_height": Scale("mm", _ONE, 0.5),
        "camera_yaw": Scale("deg", _HUNDREDTH, 0.03, ("left", "right")),
        "camera_elevation": Scale("deg", _HUNDREDTH, 0.03, ("up", "down")),
        "marks_apart": Scale("mm", _ONE, 0.7),
        "corner_tape": Scale("mm", _ONE, 0.7),
        "bar_tape": Scale("mm", _ONE, 0.5),
        "corner_height": Scale("mm", _ONE, 0.5),
        "corner_yaw": Scale("deg", _HUNDREDTH, 0.05, ("left", "right")),
        "mat_tape": Scale("mm", _ONE, 0.7),
        "field_tape": Scale("mm", _ONE, 0.8),
        "tool_yaw": Scale("deg", _HUNDREDTH, 0.03, ("left", "right")),
        "tool_elevation": Scale("deg", _HUNDREDTH, 0.03, ("up", "down")),
        "tool_yaw_correction": Scale("deg", _HUNDREDTH, 0.03, ("left", "right")),
        "tool_elevation_correction": Scale("deg", _HUNDREDTH, 0.03, ("up", "down")),
        "tool_turns": Scale("turns", Decimal("0.25"), 0.0, ("clockwise", "anticlockwise")),
    }
)

_CORNERS = ("front left", "front right", "rear left", "rear right")
_SIDES = ("left", "right")
PLACES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "floor_rule": (*_CORNERS, "stand spot"),
        "ride_height": _CORNERS,
        "arm": _SIDES,
        "toe_deg": _SIDES,
        "toe_mm": _SIDES,
        "spot": _SIDES,
        "board_tape": _SIDES,
        "corner_tape": _SIDES,
        "bar_tape": ("inner", "outer"),
        "mat_tape": tuple(
            f"{end} {side}{way}"
            for end in ("front", "rear")
            for side in _SIDES
            for way in ("", " diagonal")
        ),
        "field_tape": _SIDES,
    }
)
"""Where a scale is read that is there more than once. The scan tool's turns are by screw id."""
OTHER_SIDE: Mapping[str, str] = MappingProxyType(
    {
        "inner": "outer",
        "outer": "inner",
        "left": "right",
        "right": "left",
        "front left": "front right",
        "front right": "front left",
        "rear left": "rear right",
        "rear right": "rear left",
        "front left diagonal": "front right diagonal",
        "front right diagonal": "front left diagonal",
        "rear left diagonal": "rear right diagonal",
        "rear right diagonal": "rear left diagonal",
    }
)
"""The place that one is taken for; a screw, or the stand spot, has none."""


def scale(name: str) -> Scale:
    """The scale of this name. Raises RehearsalError when the bay has none such."""
    try:
        return SCALES[name]
    except KeyError:
        raise RehearsalError(
            f"a scale named {name!r}: wanted one of {', '.join(sorted(SCALES))}"
        ) from None
