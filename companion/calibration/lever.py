"""The light lever: a mirror's turn doubles in the beam that comes back.

Angles + = anticlockwise seen from above, shifts + = to the car's left, lengths mm.
Source: law of reflection (OpenStax, College Physics); the rest follows from it.
"""

from __future__ import annotations

import math

from companion.errors import MeasureError


def _check_path(path_mm: float) -> None:
    if not path_mm > 0.0:
        raise MeasureError(f"path to the mirror: found {path_mm} mm; wanted: more than 0")


def beam_to_normal_deg(spot_shift_mm: float, path_mm: float) -> float:
    """Angle by which a beam heads left of the mirror's normal: half of atan(shift / path).

    `spot_shift_mm`: where the returned beam meets the scale at the emitter, + = left, the scale
    square to the beam. `path_mm`: emitter to mirror along the beam. It carries the turn alone: a
    mirror moved along its own face gives the same shift.
    """
    _check_path(path_mm)
    return math.degrees(math.atan(spot_shift_mm / path_mm)) / 2.0


def spot_shift_mm(beam_to_normal_deg: float, path_mm: float) -> float:
    """The inverse: shift = path * tan(2 angle), + = left. The angle must stay below 45 degrees."""
    _check_path(path_mm)
    if not abs(beam_to_normal_deg) < 45.0:
        raise MeasureError(
            f"beam against the mirror: found {beam_to_normal_deg} degrees; wanted: under 45, "
            "else the beam never comes back to the scale"
        )
    return path_mm * math.tan(math.radians(2.0 * beam_to_normal_deg))
