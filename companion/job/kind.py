"""What a kind of step tells of itself to those who read a job file and check it.

`companion/steps` has one folder for each kind. The conversation asks more of a kind than stands
here (`dialogue/kind.py`), and so do the report, the screen and the rehearsal (`steps/kind.py`).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from functools import reduce
from operator import or_
from typing import Annotated, Any, ClassVar, Generic, TypeVar, get_args

from pydantic import Field, create_model

from companion.job.job_file import Job, Stage, Step
from companion.job.setup_files import Bay, MountModel, Vehicle

S = TypeVar("S", bound=Step)

MOUNT = "mount"
"""What a step needs that cannot do without the whole mount file."""


@dataclass(frozen=True)
class Vocabulary:
    """What the grammars know: ids of choices, units and directions."""

    choices: frozenset[str]
    units: frozenset[str]
    directions: frozenset[str]


@dataclass(frozen=True)
class Fault:
    """One thing in the job file that does not fit the rest."""

    step_id: str
    found: str
    wanted: str


@dataclass(frozen=True)
class Readable:
    """How a step's number is read in a bay where all is right: what is typical, how finely.

    `directions`: the words for positive and negative; empty where there is no sign.
    """

    unit: str
    directions: tuple[str, ...]
    smallest_step: Decimal
    typical: float


class StepKind(Generic[S]):
    """One kind of step, as far as the job file goes. `model`: what a step of it is made of."""

    model: type[S]
    takes_readings: ClassVar[bool] = False
    """Whether the numbers of such a step are read off, and so may be spoken in a text."""
    ends_the_job: ClassVar[bool] = False

    @property
    def name(self) -> str:
        """What stands behind `step:` in a job file."""
        return str(get_args(self.model.model_fields["step"].annotation)[0])

    def part_ids(self, step: S) -> tuple[str, ...]:
        """Ids beside the step's own; no other step may have them."""
        return ()

    def numbers(self, step: S) -> Mapping[str, str | None]:
        """The numbers that the step brings about, and their units where the names have none."""
        return {}

    def choices(self, step: S) -> tuple[str, ...]:
        """The answers that later steps may depend on."""
        return ()

    def readable(self, step: S) -> Readable | None:
        """How the step's number is read, where it asks for one."""
        return None

    def keeps_sound(self, step: S) -> str | None:
        """The answer that allows sound to be kept, where the step asks for that."""
        return None

    def uses(self, step: S) -> Iterator[str]:
        """The sources that the step calculates with or compares against."""
        return iter(())

    def needs(self, step: S) -> Iterator[str]:
        """Fields of the files that the step wants there, and `MOUNT` where it wants a mount."""
        return iter(())

    def texts(self, step: S) -> tuple[str, ...]:
        """What the step says; `{source}` in it is spoken."""
        return ()

    def goes_back_to(self, step: S) -> Iterator[str]:
        """Every step that this one may send back to."""
        return iter(())

    def check(self, step: S, context: Context) -> Iterator[Fault]:
        """What does not fit between this step and the rest of the job, beyond all of the above."""
        return iter(())


Kinds = Mapping[str, StepKind[Any]]
"""The kinds of step that a job may be made of, by name."""


@dataclass(frozen=True)
class JobFiles:
    """The files that one job is done with, and the kinds of step that it is made of.

    `mount` is None where no step of the job needs it.
    """

    job: Job
    vehicle: Vehicle
    mount: MountModel | None
    bay: Bay
    kinds: Kinds = field(repr=False, compare=False)

    @property
    def example(self) -> bool:
        """Whether any of the files is marked as an example."""
        files = (self.job, self.vehicle, self.mount, self.bay)
        return any(file.example for file in files if file is not None)


@dataclass(frozen=True)
class Context:
    """What a kind's check may look at: the files, all steps of the job, what can be said."""

    files: JobFiles
    steps: tuple[Step, ...]
    vocabulary: Vocabulary


def job_model(kinds: Kinds) -> type[Job]:
    """The model of a job file whose steps are of these kinds."""
    union = reduce(or_, (kind.model for kind in kinds.values()))
    any_step = Annotated[union, Field(discriminator="step")] if len(kinds) > 1 else union
    stage = create_model(
        "Stage",
        __base__=Stage,
        steps=(Annotated[tuple[any_step, ...], Field(min_length=1)], ...),  # type: ignore[arg-type, valid-type]
    )
    return create_model(
        "Job",
        __base__=Job,
        stages=(Annotated[tuple[stage, ...], Field(min_length=1)], ...),  # type: ignore[arg-type, valid-type]
    )
