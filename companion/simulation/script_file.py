"""The file beside a job that says how the job is rehearsed, and its reading."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from companion.base.yaml_text import parse
from companion.job.loader import read_text
from companion.job.setup_files import Identifier, Model
from companion.simulation import acts

SCREW = "{screw}"
Side = Literal["left", "right"]
Detent = Annotated[float, Field(ge=-1, le=1, multiple_of=0.5)]
Where = Annotated[str, Field(max_length=60)]


class LineLaserSet(Model):
    """Set up and level the line laser."""

    do: Literal["set_line_laser"]

    def act(self) -> acts.Act:
        return acts.SetLineLaser()


class WheelTurned(Model):
    """Turn a rear wheel to so many quarters from its start mark."""

    do: Literal["turn_wheel"]
    wheel: Side
    quarters: Annotated[int, Field(ge=0, le=3)]

    def act(self) -> acts.Act:
        return acts.TurnWheel(self.wheel, self.quarters)


class ClampSeated(Model):
    """Take a wheel's clamp off and seat it again."""

    do: Literal["seat_clamp"]
    clamp: Side

    def act(self) -> acts.Act:
        return acts.SeatClamp(self.clamp)


class LeanSet(Model):
    """The plate's lean: 1 top towards the car, 0 upright, -1 top away; a half: the near detent."""

    do: Literal["set_lean"]
    towards: Detent

    def act(self) -> acts.Act:
        return acts.SetLean(self.towards)


class SwingSet(Model):
    """The plate's swing: 1 left edge towards the car, 0 middle, -1 right edge towards."""

    do: Literal["set_swing"]
    left_towards: Detent

    def act(self) -> acts.Act:
        return acts.SetSwing(self.left_towards)


class PlateZeroed(Model):
    """The plate upright and in the middle."""

    do: Literal["zero_plate"]

    def act(self) -> acts.Act:
        return acts.ZeroPlate()


class CarSettled(Model):
    """Bounce the car, so that its springs and wheels come to rest."""

    do: Literal["settle"]

    def act(self) -> acts.Act:
        return acts.Settle()


class StandSet(Model):
    """Set the stand by its own scales: level, plumb, the tape right, both arm scales alike."""

    do: Literal["set_stand"]

    def act(self) -> acts.Act:
        return acts.SetStand()


class StandLevelled(Model):
    """Level the stand by its own level alone."""

    do: Literal["level_stand"]

    def act(self) -> acts.Act:
        return acts.SetLevel()


class ScrewsLocked(Model):
    """Lock the mount's screws."""

    do: Literal["lock_screws"]

    def act(self) -> acts.Act:
        return acts.LockScrews()


class SensorSeated(Model):
    """Seat the sensor and its bracket anew."""

    do: Literal["seat_sensor"]

    def act(self) -> acts.Act:
        return acts.SeatSensor()


class MarksPlumbed(Model):
    """Plumb marks under the wheels, made anew."""

    do: Literal["plumb_marks"]

    def act(self) -> acts.Act:
        return acts.PlumbMarks()


class HeadsChanged(Model):
    """Each laser head to the other wheel, turned over about its beam; or back to its own."""

    do: Literal["change_heads"]
    own_wheels: bool = False

    def act(self) -> acts.Act:
        return acts.ChangeHeads(self.own_wheels)


class BarShimmed(Model):
    """The shim of the monthly check behind the left end of the mirror bar, or out again."""

    do: Literal["shim_bar"]
    is_in: bool

    def act(self) -> acts.Act:
        return acts.ShimBar(self.is_in)


Deed = Annotated[
    LineLaserSet
    | WheelTurned
    | ClampSeated
    | LeanSet
    | SwingSet
    | PlateZeroed
    | CarSettled
    | StandSet
    | StandLevelled
    | ScrewsLocked
    | SensorSeated
    | MarksPlumbed
    | HeadsChanged
    | BarShimmed,
    Field(discriminator="do"),
]


class OtherScale(Model):
    """Another scale of the same unit, where a question was answered so."""

    question: Identifier
    answered: Identifier
    scale: Annotated[str, Field(max_length=60)]


class ReadingEntry(Model):
    """Which scale of the bay a reading reads, where, and what is done first."""

    scale: Annotated[str, Field(max_length=60)]
    at: Annotated[Where, Field(description=f"{SCREW} for a reading of each screw")] = ""
    first: tuple[Deed, ...] = ()
    instead: OtherScale | None = None


class ScanToolVerdict(Model):
    """The answer that the scan tool gives: whether its own angles are inside the tolerance."""

    inside: Identifier
    outside: Identifier


class RehearsalFile(Model):
    """By the job's step ids: readings, acts, answers. What is left out goes as is typical."""

    kind: Literal["rehearsal"]
    job: Annotated[Identifier, Field(description="the id of the job that it stands beside")]
    scene: Annotated[
        Literal["radar", "board", "corner", "mats"],
        Field(description="what stands in the simulated bay"),
    ] = "radar"
    readings: dict[Identifier, ReadingEntry] = Field(default_factory=dict)
    acts: dict[Identifier, tuple[Deed, ...]] = Field(default_factory=dict)
    answers: dict[Identifier, Identifier | ScanToolVerdict] = Field(default_factory=dict)


def path_beside(job: Path) -> Path:
    """Where the rehearsal file of a job stands: `front_radar.rehearsal.yaml`."""
    return job.with_name(f"{job.stem}.rehearsal.yaml")


def read_rehearsal_file(job: Path) -> RehearsalFile | None:
    """The rehearsal file beside a job file; None where there is none.

    Raises FileProblem naming file, line, what was found and what is wanted.
    """
    path = path_beside(job)
    if not path.exists():
        return None
    return parse(read_text(path), str(path), RehearsalFile)
