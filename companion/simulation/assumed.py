"""What the simulated bay has where the files name nothing, since no step of the job needs it.

Invented figures. A job never asks for what is assumed here: what its steps need, its files name.
"""

from __future__ import annotations

from companion.job.setup_files import MountModel, ScrewModel

MOUNT = MountModel(
    kind="mount",
    name="assumed by the rehearsal",
    example=True,
    screws=tuple(
        ScrewModel(
            id=f"{side}_screw",
            name=f"{side} screw",
            y_mm=y_mm,
            z_mm=z_mm,
            pitch_mm=1.0,
            hand="right",
            travel_clockwise_turns=8.0,
            travel_anticlockwise_turns=8.0,
        )
        for side, y_mm, z_mm in (("left", 60.0, 0.0), ("upper", 0.0, 60.0))
    ),
    approach="clockwise",
)
TOLERANCE_DEG = 0.5
BEAM_WIDTH_DEG = 10.0
DETENT_DEG = 3.0


def given(value: float | None, otherwise: float) -> float:
    """The file's figure, or what is assumed where it names none."""
    return otherwise if value is None else value
