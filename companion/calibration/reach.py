"""What an aim error means down the road."""

from __future__ import annotations

import math

from companion.errors import MeasureError
from companion.uncertainty.measured import Measured, propagate


def miss_at_range_m(angle_deg: Measured, range_m: float) -> Measured:
    """How far beside (or above) its mark the radar looks: range * tan(angle), in metres.

    The sign is the angle's: + = left, or up. The angle must stay below 90 degrees.
    """
    if not (math.isfinite(range_m) and range_m >= 0.0 and abs(angle_deg.value) < 90.0):
        raise MeasureError(
            f"found {angle_deg.value} degrees at {range_m} m; wanted: an angle under 90 degrees "
            "and a range that is not negative"
        )

    def miss(values: dict[str, float]) -> dict[str, float]:
        return {"miss_m": range_m * math.tan(math.radians(values["angle_deg"]))}

    return propagate(miss, {"angle_deg": angle_deg})["miss_m"]
