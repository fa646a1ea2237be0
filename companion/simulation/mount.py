"""The radar's mount as a rigid body: a plane through the tips of its screws, and its pivot.

Two screws turn it about a pivot; three carry it between them, and there is no pivot.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from statistics import fmean
from typing import Literal

from companion.job.setup_files import MountModel, ScrewModel
from companion.simulation.vectors import Vector, cross, unit, vector

Way = Literal["clockwise", "anticlockwise"]


@dataclass(frozen=True, slots=True)
class TrueScrew:
    """One adjusting screw as it really is; `hand` right: clockwise drives its tip rearward."""

    name: str
    y_mm: float
    z_mm: float
    pitch_mm: float
    hand: Literal["right", "left"]
    lost_motion_turns: float
    travel_clockwise_turns: float
    travel_anticlockwise_turns: float

    @property
    def rearward_mm_per_clockwise_turn(self) -> float:
        return self.pitch_mm if self.hand == "right" else -self.pitch_mm


@dataclass(frozen=True, slots=True)
class TrueMount:
    """Its screws; the geometry is the mount's own, not the file's."""

    screws: tuple[TrueScrew, ...]

    def boresight(self, rearward_mm: Sequence[float]) -> Vector:
        """Unit normal, forwards, of the plane through the screws' tips and the pivot, if any."""
        first, second, *third = (
            vector(-back_mm, screw.y_mm, screw.z_mm)
            for screw, back_mm in zip(self.screws, rearward_mm, strict=True)
        )
        corner = third[0] if third else vector(0.0, 0.0, 0.0)
        normal = unit(cross(first - corner, second - corner))
        return normal if normal[0] > 0 else -normal

    def reaches(self, yaw_deg: float, elevation_deg: float, spare_turns: float) -> bool:
        """Whether every screw's travel takes the boresight there; three turn about their middle."""
        along = (math.tan(math.radians(yaw_deg)), math.tan(math.radians(elevation_deg)))
        centre_y_mm, centre_z_mm = _centre_mm(self.screws)
        for screw in self.screws:
            # On the turned plane x = -(y tan yaw + z tan elevation), nearly: enough for a bound.
            back_mm = (screw.y_mm - centre_y_mm) * along[0] + (screw.z_mm - centre_z_mm) * along[1]
            turns = back_mm / screw.rearward_mm_per_clockwise_turn
            if not (
                spare_turns - screw.travel_anticlockwise_turns
                <= turns
                <= screw.travel_clockwise_turns - spare_turns
            ):
                return False
        return True


class ScrewState:
    """How far a screw has been turned, and where its tip is: the thread has play.

    On reversal the head first takes up the lost motion; only then does the tip follow.
    """

    def __init__(self, screw: TrueScrew) -> None:
        self._screw = screw
        self.turned_clockwise = 0.0
        self._tip_turns = 0.0
        self._ahead_turns = 0.0

    def lie_against(self, way: Way) -> None:
        """The thread's play is taken up in this direction, as the last hands left it."""
        play = self._screw.lost_motion_turns
        self._ahead_turns = play / 2.0 if way == "clockwise" else -play / 2.0

    def turn(self, way: Way, turns: float) -> None:
        """Turn the head; it stops at the end of its travel."""
        screw = self._screw
        wanted = self.turned_clockwise + (turns if way == "clockwise" else -turns)
        reached = min(max(wanted, -screw.travel_anticlockwise_turns), screw.travel_clockwise_turns)
        ahead = self._ahead_turns + (reached - self.turned_clockwise)
        self.turned_clockwise = reached
        half_play = screw.lost_motion_turns / 2.0
        carried = ahead - min(max(ahead, -half_play), half_play)
        self._tip_turns += carried
        self._ahead_turns = ahead - carried

    def creep(self, turns: float) -> None:
        """The tip moves and the head does not: what a lock nut does as it is tightened."""
        self._tip_turns += turns

    @property
    def rearward_mm(self) -> float:
        return self._tip_turns * self._screw.rearward_mm_per_clockwise_turn


def draw_mount(random: Random, mount: MountModel, relative_sd: float, most: float) -> TrueMount:
    """A mount that differs from its file in levers, pitches and play, by at most `most`."""
    centre_y_mm, centre_z_mm = _centre_mm(mount.screws)

    def drawn(screw: ScrewModel) -> TrueScrew:
        return TrueScrew(
            name=screw.name,
            y_mm=centre_y_mm + (screw.y_mm - centre_y_mm) * (1.0 + _off(random, relative_sd, most)),
            z_mm=centre_z_mm + (screw.z_mm - centre_z_mm) * (1.0 + _off(random, relative_sd, most)),
            pitch_mm=screw.pitch_mm * (1.0 + _off(random, relative_sd, most)),
            hand=screw.hand,
            lost_motion_turns=screw.backlash_turns * random.uniform(0.2, 1.0),
            travel_clockwise_turns=screw.travel_clockwise_turns,
            travel_anticlockwise_turns=screw.travel_anticlockwise_turns,
        )

    return TrueMount(tuple(drawn(screw) for screw in mount.screws))


def _centre_mm(screws: Sequence[TrueScrew | ScrewModel]) -> tuple[float, float]:
    """What the sensor turns about: the pivot, or the middle of three screws."""
    if len(screws) == 2:
        return 0.0, 0.0
    return fmean(screw.y_mm for screw in screws), fmean(screw.z_mm for screw in screws)


def _off(random: Random, sd: float, most: float) -> float:
    while True:
        value = random.gauss(0.0, sd)
        if abs(value) <= most:
            return value
