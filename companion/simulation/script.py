"""What the technician knows of the job beside what he is told: data, by the job's step ids.

Which scale a reading reads, what is done before it, which act an instruction without a value of
its own asks for, what a question gets as its answer. It stands in a file beside the job
(`front_radar.rehearsal.yaml`). A reading without an entry reads as its job file calls typical, a
question without one gets its first answer, and a deed without one changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from companion.errors import FileProblem
from companion.job.job_file import Step
from companion.job.kind import Readable
from companion.job.plan import Plan
from companion.job.setup_files import MountModel, ScrewModel
from companion.simulation.acts import Act
from companion.simulation.scales import PLACES, SCALES, Scale
from companion.simulation.script_file import (
    SCREW,
    OtherScale,
    ReadingEntry,
    RehearsalFile,
    ScanToolVerdict,
)


@dataclass(frozen=True, slots=True)
class Reads:
    """How a reading is taken: the scale `name` at a place, after these acts.

    `typical` stands in place of a scale of the bay where the script has none. `instead`: how it is
    taken where a question (the first) was answered so (the second).
    """

    step_id: str
    scale: Scale
    name: str = ""
    where: str = ""
    before: tuple[Act, ...] = ()
    typical: float | None = None
    instead: tuple[str, str, Reads] | None = None

    def after(self, answered: Mapping[str, str]) -> Reads:
        """How the reading is taken once these questions were answered."""
        if self.instead is None:
            return self
        question, answer, other = self.instead
        return other if answered.get(question) == answer else self

    @property
    def place(self) -> str:
        """A name for the list of slips."""
        return f"{self.name} {self.where}".strip() or self.step_id


@dataclass(frozen=True, slots=True)
class Script:
    """By step id: how readings are taken, what is done, what questions get.

    `keeps_sound`: of the question about keeping sound the answers for no and for yes.
    """

    readings: Mapping[str, Reads] = field(default_factory=lambda: MappingProxyType({}))
    acts: Mapping[str, tuple[Act, ...]] = field(default_factory=lambda: MappingProxyType({}))
    answers: Mapping[str, str | ScanToolVerdict] = field(
        default_factory=lambda: MappingProxyType({})
    )
    keeps_sound: Mapping[str, tuple[str, str]] = field(default_factory=lambda: MappingProxyType({}))
    scene: str = "radar"


def make_script(plan: Plan, told: RehearsalFile | None = None, path: str = "") -> Script:
    """The script of a job from its rehearsal file, if it has one.

    Raises FileProblem naming the file, the entry, what was found and what is wanted.
    """
    told = told or RehearsalFile(kind="rehearsal", job=plan.files.job.id)
    faults = list(_faults(plan, told))
    if faults:
        raise FileProblem("\n".join(f"{path}: {fault}" for fault in faults[:10]))
    kinds = plan.files.kinds
    entries = _for_each_screw(told.readings, plan)
    readings, answers, keeps = {}, dict[str, str | ScanToolVerdict](), {}
    for step in plan.steps:
        kind = kinds[step.step]
        readable, choices = kind.readable(step), kind.choices(step)
        if readable is not None:
            readings[step.id] = _reads(step.id, readable, entries.get(step.id))
        if choices:
            answers[step.id] = told.answers.get(step.id, choices[0])
            kept = kind.keeps_sound(step)
            if kept is not None:
                keeps[step.id] = (next(choice for choice in choices if choice != kept), kept)
    acts = {name: tuple(deed.act() for deed in deeds) for name, deeds in told.acts.items()}
    return Script(readings, acts, answers, keeps, told.scene)


def _reads(step_id: str, readable: Readable, entry: ReadingEntry | None) -> Reads:
    if entry is not None:
        before = tuple(deed.act() for deed in entry.first)
        usual = Reads(step_id, SCALES[entry.scale], entry.scale, entry.at, before)
        if entry.instead is None:
            return usual
        name = entry.instead.scale
        other = replace(usual, scale=SCALES[name], name=name)
        return replace(usual, instead=(entry.instead.question, entry.instead.answered, other))
    # As finely as the number can be said, without any noise.
    ways = readable.directions
    pair = (ways[0], ways[1]) if ways else None
    scale = Scale(readable.unit, readable.smallest_step, 0.0, pair)
    return Reads(step_id, scale, typical=readable.typical)


def _for_each_screw(entries: Mapping[str, ReadingEntry], plan: Plan) -> dict[str, ReadingEntry]:
    """The entries by the ids of the plan, where a step for each screw has the screw's id behind."""
    ids = {step.id for step in plan.steps}
    found: dict[str, ReadingEntry] = {}
    for name, entry in entries.items():
        if name in ids:
            found[name] = entry
            continue
        for screw in _screws(plan.files.mount):
            at = entry.at.replace(SCREW, screw.id)
            found[f"{name}_{screw.id}"] = entry.model_copy(update={"at": at})
    return found


def _screws(mount: MountModel | None) -> tuple[ScrewModel, ...]:
    return mount.screws if mount is not None else ()


def _faults(plan: Plan, told: RehearsalFile) -> Iterable[str]:
    steps = {step.id: step for step in plan.steps}
    if told.job != plan.files.job.id:
        yield f"job: found {told.job!r}; wanted: {plan.files.job.id!r}, the job beside it"
    for name in told.readings:
        if not _for_each_screw({name: told.readings[name]}, plan).keys() & steps.keys():
            yield f"readings, {name}: found no such reading; wanted: the id of a reading of the job"
    for name, entry in _for_each_screw(told.readings, plan).items():
        if name in steps:
            yield from _reading_faults(plan, steps[name], entry)
    for name in told.acts:
        if name not in steps:
            yield f"acts, {name}: found no such step; wanted: the id of a step of the job"
    for name, answer in told.answers.items():
        step = steps.get(name)
        choices = plan.files.kinds[step.step].choices(step) if step is not None else ()
        if not choices:
            yield f"answers, {name}: found no such question; wanted: the id of a question"
            continue
        given = (answer,) if isinstance(answer, str) else (answer.inside, answer.outside)
        for choice in given:
            if choice not in choices:
                yield f"answers, {name}: found {choice!r}; wanted: {' or '.join(choices)}"


def _reading_faults(plan: Plan, step: Step, entry: ReadingEntry) -> Iterable[str]:
    where = f"readings, {step.id}"
    readable = plan.files.kinds[step.step].readable(step)
    if readable is None:
        yield f"{where}: found a step that reads nothing; wanted: a reading of the job"
        return
    if entry.instead is not None:
        yield from _choice_faults(plan, where, entry.instead)
        other = entry.model_copy(update={"scale": entry.instead.scale, "instead": None})
        yield from _reading_faults(plan, step, other)
    scale = SCALES.get(entry.scale)
    if scale is None:
        yield f"{where}: found scale {entry.scale!r}; wanted: {', '.join(sorted(SCALES))}"
        return
    if (scale.unit, scale.directions or ()) != (readable.unit, readable.directions):
        yield (
            f"{where}: found scale {entry.scale!r} in {scale.unit} {_ways(scale.directions)}; "
            f"wanted: one in {readable.unit} {_ways(readable.directions)}"
        )
    places = PLACES.get(entry.scale, ("",))
    if entry.scale == "tool_turns":
        places = tuple(screw.id for screw in _screws(plan.files.mount))
    if entry.at not in places:
        yield f"{where}: found at {entry.at!r}; wanted: {' or '.join(map(repr, places))}"


def _choice_faults(plan: Plan, where: str, told: OtherScale) -> Iterable[str]:
    asked = next((step for step in plan.steps if step.id == told.question), None)
    choices = plan.files.kinds[asked.step].choices(asked) if asked is not None else ()
    if not choices:
        yield f"{where}: found instead {told.question!r}; wanted: the id of a question"
    elif told.answered not in choices:
        yield f"{where}: found answered {told.answered!r}; wanted: {' or '.join(choices)}"


def _ways(directions: tuple[str, ...] | None) -> str:
    return " or ".join(directions) if directions else "without a direction"
