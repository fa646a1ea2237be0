"""How a job begins and goes on: the files it began with, its stages, a break."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, ClassVar

from companion.facts.beforehand import HearingBefore, IntoPrompts
from companion.facts.codec import LEFT_OUT, read
from companion.facts.plain import text
from companion.facts.taking_over import StillTrue

File = Annotated[Mapping[str, Any], "the file as it was loaded, every field of its model"]


@dataclass(frozen=True, slots=True)
class NumberOutline:
    """How a reading's number points."""

    directions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepOutline:
    """What a reader of the record needs of a step; `step` is the kind of step."""

    id: str
    step: str
    title: str
    unit: str
    number: NumberOutline


@dataclass(frozen=True, slots=True)
class StageOutline:
    """What a reader of the record needs of a stage."""

    id: str
    title: str
    steps: tuple[StepOutline, ...]


@dataclass(frozen=True, slots=True)
class CautionOutline:
    """A caution as it was said."""

    say: str


@dataclass(frozen=True, slots=True)
class JobOutline:
    """What a reader of the record needs of the job file."""

    stages: tuple[StageOutline, ...] = ()
    cautions: tuple[CautionOutline, ...] = ()

    def steps(self) -> Iterator[StepOutline]:
        """Every step, stage after stage."""
        return (step for stage in self.stages for step in stage.steps)

    def step(self, step_id: str) -> StepOutline | None:
        """The step with this id."""
        return next((step for step in self.steps() if step.id == step_id), None)


@dataclass(frozen=True, slots=True)
class VehicleOutline:
    """What a reader of the record needs of the vehicle file."""

    name: str
    wheelbase_mm: float | None
    rear_track_mm: float | None
    sensor_ahead_of_front_axle_mm: float | None


@dataclass(frozen=True, slots=True)
class StandOutline:
    """What a reader of the record needs of the bay's stand."""

    plate_distance_mm: float | None


@dataclass(frozen=True, slots=True)
class BayOutline:
    """What a reader of the record needs of the bay file."""

    name: str
    shop: str
    stand: StandOutline
    instruments: tuple[InstrumentOutline, ...]
    environment: EnvironmentOutline


@dataclass(frozen=True, slots=True)
class ScrewOutline:
    """A screw by its id, and as it is spoken."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class MountOutline:
    """What a reader of the record needs of the mount file."""

    screws: tuple[ScrewOutline, ...]


@dataclass(frozen=True, slots=True)
class Overdue:
    """An instrument whose certificate no longer holds."""

    name: str
    due: Annotated[str, "the last day that it held"]


@dataclass(frozen=True, slots=True)
class StandCheck:
    """What the stand's last monthly check came to when the job began."""

    came_to: Annotated[str, "as_known, failed, overdue, or never where none is recorded"]
    day: Annotated[str, LEFT_OUT, "when it was begun"] = ""
    session: Annotated[str, LEFT_OUT, "the check's own session"] = ""


@dataclass(frozen=True, slots=True)
class NextSensor:
    """What was known, as the job began, of the visit's sensors behind this one."""

    known: Annotated[str, "follows, last, or asked: nobody has said, so the job asks"]
    left: Annotated[
        tuple[str, ...], LEFT_OUT, "titles of what earlier jobs left to the end of the visit"
    ] = ()


@dataclass(frozen=True, slots=True)
class InstrumentOutline:
    """An instrument of the bay file; "" where the shop entered nothing."""

    name: str
    serial: str
    certificate: str
    due: str
    measures: str


@dataclass(frozen=True, slots=True)
class EnvironmentOutline:
    """What the shop says of light and air in the bay."""

    light: str
    air: str


@dataclass(frozen=True, slots=True)
class VehicleChoice:
    """How the vehicle was chosen of the shop's own, by whoever was asked which it is."""

    name: Annotated[str, "the chosen file's name"]
    offered: Annotated[tuple[str, ...], "the files that there were to choose from, by their names"]
    heard: Annotated[str, "the words that chose it, before it was said back and got its yes"]
    ears: Annotated[str, "the recogniser, or typed"]
    language: Annotated[str, "what was spoken, by its code"]


VoiceVersion = Annotated[
    str,
    LEFT_OUT,
    "version of what was learned of this voice and heard by; left out where nothing was",
]


@dataclass(frozen=True, slots=True)
class Opened:
    """A job began: who, with which files (as they were then), heard by which ears."""

    KIND: ClassVar[str] = "opened"

    program_version: str = ""
    job: File = field(default_factory=dict)
    vehicle: File = field(default_factory=dict)
    mount: File = field(default_factory=dict)
    bay: File = field(default_factory=dict)
    file_hashes: Annotated[Mapping[str, str], "SHA-256 of each file, by its name"] = field(
        default_factory=dict
    )
    file_paths: Annotated[
        Mapping[str, str],
        LEFT_OUT,
        "where each file lay that does not ship with the companion; ~ is the home folder, and in "
        "somebody else's it is the file's name alone",
    ] = field(default_factory=dict)
    example: Annotated[bool, "any of the files is an example, not a shop's own"] = False
    technician: Annotated[str, "as entered; empty where nobody was named"] = ""
    ears: Annotated[str, "the recogniser, or typed"] = ""
    microphone: Annotated[str, LEFT_OUT, "by its name; left out where it is the usual one"] = ""
    hearing: Annotated[
        HearingBefore, LEFT_OUT, "what was known of the hearing; left out where nothing was"
    ] = HearingBefore()  # noqa: RUF009 - frozen
    rehearsal: Annotated[bool, LEFT_OUT, "a simulated bay and technician"] = False
    cautions_known: Annotated[
        bool, LEFT_OUT, "this person heard the cautions in full earlier that day"
    ] = False
    language: Annotated[str, LEFT_OUT, "what was spoken, by its code; English where left out"] = (
        "en"
    )
    words_left_out: Annotated[
        tuple[str, ...], LEFT_OUT, "words of the language that these ears do not know"
    ] = ()
    visit: Annotated[str, LEFT_OUT, "the visit of the car that this job belongs to"] = ""
    car_sha256: Annotated[
        str, LEFT_OUT, "SHA-256 of what is known of the car, which lies beside the record"
    ] = ""
    overdue: Annotated[
        tuple[Overdue, ...], LEFT_OUT, "instruments whose certificates no longer held that day"
    ] = ()
    stand_check: Annotated[
        StandCheck | None, LEFT_OUT, "how the stand's check stood; left out where none corrects it"
    ] = None
    still_true: Annotated[
        tuple[StillTrue, ...], LEFT_OUT, "what earlier jobs found out and still holds"
    ] = ()
    published: Annotated[
        int, LEFT_OUT, "the version of the published files among these; left out where none is"
    ] = 0
    sound_goes: Annotated[
        bool, LEFT_OUT, "sound that is kept also goes to the shop's store; said where it is asked"
    ] = False
    name_salt: Annotated[
        str,
        LEFT_OUT,
        "random: cut out with the name, the name cannot be found by trying names with the hash",
    ] = ""
    voice: VoiceVersion = ""
    vehicle_choice: Annotated[
        VehicleChoice | None, LEFT_OUT, "how the vehicle was chosen; left out where nobody asked"
    ] = None
    vehicle_of_visit: Annotated[
        str, LEFT_OUT, "the visit that the vehicle was taken over from; left out where it was not"
    ] = ""
    next_sensor: Annotated[
        NextSensor | None, LEFT_OUT, "of a visit that was there before; left out of a job alone"
    ] = None

    @property
    def job_name(self) -> str:
        """The job file by its name."""
        return text(self.job.get("name"))

    def ending_said(self, result: str) -> str:
        """How the job file says this result, one that a step of it names; "" where none does."""
        return _ending_said(self.job, result)

    def ending_measured(self, result: str) -> bool:
        """Whether a step that measured it ends the job so: not by an answer that was given."""
        return _ending_measured(self.job, result)

    def step_file(self, step_id: str) -> Mapping[str, Any] | None:
        """A step of the job file, every field of it; None where there is none of this id."""
        return _step_file(self.job, step_id)

    @property
    def job_told(self) -> JobOutline:
        """The job file, as far as a reader of the record needs it."""
        return read(JobOutline, self.job)

    @property
    def vehicle_told(self) -> VehicleOutline:
        """The vehicle file, as far as a reader of the record needs it."""
        return read(VehicleOutline, self.vehicle)

    @property
    def bay_told(self) -> BayOutline:
        """The bay file, as far as a reader of the record needs it."""
        return read(BayOutline, self.bay)

    @property
    def screw_names(self) -> dict[str, str]:
        """How each screw is spoken of, by its id, in the order of the mount file."""
        screws = read(MountOutline, self.mount).screws
        return {screw.id: screw.name or screw.id for screw in screws}

    @property
    def has_an_example(self) -> bool:
        """Whether the job or any file of it says that it is an example."""
        files = (self.job, self.vehicle, self.mount, self.bay)
        return self.example or any(file.get("example") is True for file in files)


def _step_file(part: object, step_id: str) -> Mapping[str, Any] | None:
    match part:
        case {"step": str(), "id": str(named)} if named == step_id:
            return part if isinstance(part, Mapping) else None
        case {"stages": list() | tuple() as inner} | {"steps": list() | tuple() as inner}:
            found = (_step_file(value, step_id) for value in inner)
            return next((step for step in found if step is not None), None)
        case _:
            return None


def _ending_said(part: object, result: str) -> str:
    match part:
        case {"result": str(named), "say": str(say)} if named == result:
            return say
        case Mapping():
            found = (_ending_said(value, result) for value in part.values())
        case list() | tuple():
            found = (_ending_said(value, result) for value in part)
        case _:
            return ""
    return next(filter(None, found), "")


def _ending_measured(part: object, result: str) -> bool:
    match part:
        case {"step": "verdict", "ends_as": {"result": str(named)}} if named == result:
            return True
        case Mapping():
            return any(_ending_measured(value, result) for value in part.values())
        case list() | tuple():
            return any(_ending_measured(value, result) for value in part)
        case _:
            return False


@dataclass(frozen=True, slots=True)
class Resumed:
    """The companion started again in the middle of this job, after whatever stopped it."""

    KIND: ClassVar[str] = "resumed"

    voice: VoiceVersion = ""
    into_prompts: Annotated[
        IntoPrompts | None, LEFT_OUT, "answers may be given before a known prompt has ended"
    ] = None
    next_sensor: Annotated[
        NextSensor | None, LEFT_OUT, "what is known by now of the visit's sensors behind this one"
    ] = None


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage of the job begins, or begins again."""

    KIND: ClassVar[str] = "stage"

    stage_id: str
    title: str
    number: Annotated[int, "its place in the job, from 1"]
    of: Annotated[int, "how many stages the job has"]
