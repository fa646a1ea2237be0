"""What earlier jobs found and still holds, looked up in the record before a job begins.

A step says by `holds` what it is true of (`facts.taking_over.Scope`). What belongs together, the
steps of one stage with one scope, is taken over as a whole and from one job, or not at all: half a
survey of a floor is none. What is computed from it is worked out anew, with the figures of the job
it was measured in; so its doubt keeps its names, and stays correlated with what rests on it.

A correction is what a check of the shop's gear found: the newest such check decides, by what it
came to. Its doubt is one line of its own, for no reading of the job has a part in it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from pydantic import ValidationError

from companion.dialogue.kind import kind_of, title_of
from companion.dialogue.machine import begin
from companion.dialogue.progress import applies
from companion.dialogue.state import Lexicon, State
from companion.facts.answers import Accepted, Answered, Done, TakenBack
from companion.facts.ending import Finished
from companion.facts.message import Amount
from companion.facts.opening import Opened
from companion.facts.stand import Shims
from companion.facts.taking_over import Part, Scope, StillTrue, TakenOver
from companion.facts.workings import Computed
from companion.job.job_file import NumberOrSource, Step
from companion.job.kind import JobFiles, Kinds, job_model
from companion.job.plan import Plan, file_field, make_plan, named
from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.record.port import Stamp, StoredEvent
from companion.record.rfc3339 import parse_rfc3339
from companion.steps.checklist.kind import item_id
from companion.steps.checklist.model import Checklist
from companion.steps.computation.model import Computation
from companion.steps.correction.model import Correction
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from companion.steps.reading.values import as_taken
from companion.uncertainty.measured import Measured

SAME_SPOT_MM = 20.0
"""Figures of two files that differ by less are of the same spot on the floor."""
SAME_RESULT = 1e-6
"""A result that is worked out anew has to be that of the record, as a fraction."""
Asked = Reading | Question | Instruction | Checklist


@dataclass(frozen=True)
class Validity:
    """How long the shop lets things hold, in days."""

    bay_days: int = 28
    heads_days: int = 31


@dataclass(frozen=True)
class Beginning:
    """The job that begins: its plan, its visit, now, whether it is a rehearsal, and by whom."""

    plan: Plan
    lexicon: Lexicon
    visit: str
    now: Stamp
    validity: Validity = Validity()
    rehearsal: bool = False
    technician: str = ""


@dataclass
class _Found:
    """What one earlier job found and had not taken back, by step and part, in its own order."""

    opened: Opened
    events: dict[tuple[str, str], StoredEvent] = field(default_factory=dict)
    inherited: dict[tuple[str, str], StillTrue] = field(default_factory=dict)
    shimmed: bool = False
    trusted: bool = True
    came_to: str = ""
    tried: set[str] = field(default_factory=set)
    readings: dict[str, Accepted] = field(default_factory=dict)
    kinds: Kinds = field(default_factory=dict)

    @cached_property
    def plan(self) -> Plan | None:
        """The job as it was then; None where this version cannot read it any more."""
        try:
            files = JobFiles(
                job=job_model(self.kinds).model_validate(self.opened.job),
                vehicle=Vehicle.model_validate(self.opened.vehicle),
                mount=MountModel.model_validate(self.opened.mount) if self.opened.mount else None,
                bay=Bay.model_validate(self.opened.bay),
                kinds=self.kinds,
            )
            return make_plan(files)
        except (ValidationError, KeyError):
            return None

    def forget(self, step_ids: Iterable[str]) -> None:
        gone = set(step_ids)
        self.events = {key: e for key, e in self.events.items() if key[0] not in gone}
        self.inherited = {key: e for key, e in self.inherited.items() if key[0] not in gone}

    def forget_the_car(self, after: str | None = None) -> None:
        """The car was moved, or lifted by that step: what was read of it before is of no use.

        What comes before the step in the job's order, such as another wheel's run-out, stays.
        """
        plan = self.plan
        if plan is None:
            return
        ids = [step.id for step in plan.steps]
        place = ids.index(after) if after in ids else -1
        self.forget(s.id for s in plan.steps[place + 1 :] if plan.holds(s) == "car")


def still_true(job: Beginning, earlier: Iterable[Sequence[StoredEvent]]) -> tuple[StillTrue, ...]:
    """What the job need not ask again, with its source; `earlier`: jobs, the newest first."""
    found = _jobs_that_count(job, earlier)
    kept: list[StillTrue] = []
    lifts = False
    for stage in job.plan.files.job.stages:
        by_scope: dict[Scope, list[Step]] = {}
        for step in stage.steps:
            if isinstance(step, Correction):
                kept += _correction(job, step, found)
                continue
            by_scope.setdefault(job.plan.holds(step), []).append(step)
        for scope, steps in by_scope.items():
            taken: tuple[StillTrue, ...] = ()
            if scope != "set_up" and not (scope == "car" and lifts):
                groups = (_group(job, scope, steps, one) for one in found)
                taken = next((group for group in groups if group), ())
            kept += taken
            lifted = (isinstance(step, Instruction) and step.lifts_car for step in steps)
            lifts = lifts or (not taken and any(lifted))
    return tuple(kept)


def _jobs_that_count(job: Beginning, earlier: Iterable[Sequence[StoredEvent]]) -> list[_Found]:
    """Jobs of this bay, the newest first; where the car was moved since, without what was its."""
    found: list[_Found] = []
    moved, lifted_by = False, set[str]()
    for events in earlier:
        one = _folded(job, events)
        if one is None:
            moved = moved or _cannot_be_read(job, events)
            continue
        if one.opened.visit == job.visit:
            if moved:
                one.forget_the_car()
            for step_id in lifted_by:
                one.forget_the_car(step_id)
            lifted_by |= _lifts(one, events)
            moved = moved or any(map(_says_moved, events))
        found.append(one)
    return found


def _cannot_be_read(job: Beginning, events: Sequence[StoredEvent]) -> bool:
    """A job of this visit that another version made: it may have lifted or moved the car."""
    opened = next((event.fact for event in events if isinstance(event.fact, Opened)), None)
    return (
        opened is not None
        and (opened.visit, opened.rehearsal) == (job.visit, job.rehearsal)
        and _Found(opened, kinds=job.plan.files.kinds).plan is None
    )


def _lifts(one: _Found, events: Sequence[StoredEvent]) -> set[str]:
    plan = one.plan
    lifting = (
        {s.id for s in plan.steps if isinstance(s, Instruction) and s.lifts_car} if plan else ()
    )
    return {
        e.fact.step_id for e in events if isinstance(e.fact, Done) and e.fact.step_id in lifting
    }


def _says_moved(event: StoredEvent) -> bool:
    match event.fact:
        case Answered(step_id="resumed", choice="was_moved"):
            return True
        case TakenOver(left=left):
            return bool(left)
        case _:
            return False


def _folded(job: Beginning, events: Sequence[StoredEvent]) -> _Found | None:
    """What the job found; None where it is another bay's, or a rehearsal for a real job."""
    opened = next((event.fact for event in events if isinstance(event.fact, Opened)), None)
    bay = job.plan.files.bay
    if opened is None or opened.rehearsal != job.rehearsal:
        return None
    if (opened.bay_told.name, opened.bay_told.shop) != (bay.name, bay.shop):
        return None
    one = _Found(opened, kinds=job.plan.files.kinds)
    if one.plan is None:
        return None
    one.trusted = all(event.clock_trusted for event in events) and job.now.trusted
    lifting = {s.id for s in one.plan.steps if isinstance(s, Instruction) and s.lifts_car}
    for event in events:
        match event.fact:
            case Accepted() as taken:
                one.events[taken.reading_id, "reading"] = event
                one.readings[taken.reading_id] = taken
            case Answered(step_id="resumed", choice="was_moved"):
                one.forget_the_car()
            case Answered(step_id=step_id):
                one.events[step_id, "answer"] = event
            case Done(step_id=step_id):
                if step_id in lifting:
                    one.forget_the_car(step_id)
                one.events[step_id.partition("/")[0], step_id] = event
            case Computed(step_id=step_id):
                one.events[step_id, "result"] = event
                one.tried.add(step_id)
            case TakenBack(step_ids):
                one.forget(step_ids)
            case Shims(needed=True, under=under) if under:
                one.shimmed = True
            case TakenOver(steps=steps):
                _inherit(one, set(steps))
            case Finished(result=result):
                one.came_to = result
            case _:
                pass
    return one


def _inherit(one: _Found, steps: set[str]) -> None:
    """What that job itself took over, with its first source."""
    for told in one.opened.still_true:
        if told.step_id not in steps:
            continue
        part = told.value if told.what == "done" else told.what
        of_result = told.what in ("result", "correction")
        key = f"result {told.result}" if of_result else part or told.step_id
        one.inherited[told.step_id, key] = told


def _group(
    job: Beginning, scope: Scope, steps: Sequence[Step], one: _Found
) -> tuple[StillTrue, ...]:
    """The steps of one stage and scope as that job found them; nothing where one is missing."""
    # A floor with shims on it is true of the car that stands on them.
    of_the_car = scope == "car" or (scope == "bay" and one.shimmed)
    if of_the_car and (not job.visit or one.opened.visit != job.visit):
        return ()
    answers = _answers(one)
    state = replace(begin(job.plan, job.lexicon), answers=answers)
    kept: list[StillTrue] = []
    for step in steps:
        if not applies(state, step) or isinstance(step, Computation):
            continue
        if isinstance(step, Asked):
            parts = list(_parts(job, scope, step, one))
            if not parts or not all(parts):
                return ()
            kept += [part for part in parts if part is not None]
        elif kind_of(job.plan, step).asks:
            return ()
    if not all(_in_time(job, of_the_car, scope, part, one) for part in kept):
        return ()
    readings = {part.step_id for part in kept if part.what == "reading"}
    results = list(_results(job, scope, steps, one, state)) if scope == "car" else []
    if not _same_figures(job, readings, {r.step_id for r in results}, one):
        return ()
    return (*kept, *results)


def _correction(job: Beginning, step: Correction, found: Iterable[_Found]) -> tuple[StillTrue, ...]:
    """What the newest check found, or a later job took over of it; nothing where it came to else.

    What may be otherwise since the check is doubt on top of its own.
    """
    for one in found:
        told = one.inherited.get((step.id, f"result {step.result}"))
        event = one.events.get((step.found_by, "result"))
        if told is not None:
            told = replace(told, stage=step.title, days_ago=_days_ago(job.now, told.at_utc))
        elif event is not None and isinstance(event.fact, Computed):
            output = event.fact.outputs.get(step.result)
            if output is None or output.value is None or output.u is None:
                return ()
            since: NumberOrSource = step.doubt_since
            if isinstance(since, str):
                since = file_field(job.plan.files, since) or 0.0
            told = replace(
                _source(job, "heads", step, event),
                what="correction",
                stage=step.title,
                title=step.title,
                result=step.result,
                unit=output.unit,
                figure=output.value,
                parts=(
                    Part(step.line_of(step.result), output.u),
                    Part(step.line_of(step.doubt_since), float(since)),
                ),
            )
        elif step.found_by in one.tried:
            # It was found, and taken back: that check came to nothing.
            return ()
        else:
            continue
        passed = event is None or one.came_to == step.ended_as
        return (told,) if passed and _in_time(job, False, "heads", told, one) else ()
    return ()


def _answers(one: _Found) -> dict[str, str]:
    found = {
        step_id: event.fact.choice
        for (step_id, _), event in one.events.items()
        if isinstance(event.fact, Answered)
    }
    inherited = {s: told.value for (s, _), told in one.inherited.items() if told.what == "answer"}
    return inherited | found


def _parts(job: Beginning, scope: Scope, step: Asked, one: _Found) -> Iterator[StillTrue | None]:
    """Each part of the step as that job found it; None for one that it did not."""
    before = next((s for s in one.plan.steps if s.id == step.id), None) if one.plan else None
    if before is None or not _asks_the_same(step, before):
        yield None
        return
    match step:
        case Reading():
            keys: tuple[str, ...] = ("reading",)
        case Question():
            keys = ("answer",)
        case Checklist():
            keys = tuple(item_id(step, name) for name in step.by_name)
        case _:  # An instruction.
            keys = (step.id,)
    for key in keys:
        event = one.events.get((step.id, key))
        if isinstance(step, Question) and step.sound_is_kept_when is not None:
            told = one.inherited.get((step.id, key))
            said = event.fact if event is not None else None
            choice = said.choice if isinstance(said, Answered) else told.value if told else ""
            # Another person has another voice; and that it may be kept is asked each time.
            if choice == step.sound_is_kept_when or one.opened.technician != job.technician:
                yield None
                continue
        if event is not None:
            yield _from_event(job, scope, step, event)
        else:
            told = one.inherited.get((step.id, key))
            yield replace(told, days_ago=_days_ago(job.now, told.at_utc)) if told else None


def _asks_the_same(step: Asked, before: Step) -> bool:
    """Whether what was answered then answers this: the same form of number, the same list.

    Items with names are the same by these, whatever they are called in another job or language;
    those without only where the whole list stands there word for word.
    """
    match step, before:
        case Reading(), Reading():
            now, then = step.number.directions, before.number.directions
            return (step.unit, now) == (before.unit, then)
        case Checklist(), Checklist():
            named = step.has_names and before.has_names
            return named or step.items == before.items
        case _:
            return type(before) is type(step)


def _from_event(job: Beginning, scope: Scope, step: Step, event: StoredEvent) -> StillTrue | None:
    told = _source(job, scope, step, event)
    match event.fact:
        case Accepted() as taken:
            return replace(
                told,
                what="reading",
                value=taken.value,
                unit=taken.unit,
                direction=taken.direction,
                spoken=taken.spoken,
                title=taken.title,
                take=taken.take,
            )
        case Answered(title=title, choice=choice):
            # An answer that the job may not go on with is none that holds.
            blocked = isinstance(step, Question) and choice in (*step.blocked_by, *step.again)
            allowed = isinstance(step, Question) and choice in step.choices and not blocked
            return replace(told, what="answer", value=choice, title=title) if allowed else None
        case Done(step_id=step_id):
            return replace(told, what="done", value=step_id)
        case _:
            return None


def _source(job: Beginning, scope: Scope, step: Step, event: StoredEvent) -> StillTrue:
    # A deed with a name of its own is not all of its stage.
    is_deed = isinstance(step, Instruction)
    return StillTrue(
        step_id=step.id,
        what="",
        scope=scope,
        stage=title_of(job.plan, step) if is_deed else job.plan.stage_of[step.id].title,
        session=event.session_id,
        seq=event.seq,
        event_hash=event.hash,
        at_utc=event.at_utc,
        days_ago=_days_ago(job.now, event.at_utc),
    )


def _days_ago(now: Stamp, at_utc: str) -> int:
    """By the calendar of this place; never less than today."""
    days = _local(now.at_utc).date() - _local(at_utc).date()
    return max(0, days.days)


def _local(at_utc: str) -> datetime:
    return parse_rfc3339(at_utc).astimezone()


def _in_time(job: Beginning, of_the_car: bool, scope: Scope, part: StillTrue, one: _Found) -> bool:
    """Whether it holds by its age. A date that nothing vouches for only counts within the visit."""
    if of_the_car:
        return True
    if not one.trusted and (not job.visit or one.opened.visit != job.visit):
        return False
    age = parse_rfc3339(job.now.at_utc).astimezone(UTC) - parse_rfc3339(part.at_utc).astimezone(UTC)
    match scope:
        case "day":
            return _local(job.now.at_utc).date() == _local(part.at_utc).date()
        case "bay":
            return 0 <= age.total_seconds() <= job.validity.bay_days * 86_400
        case "heads":
            return 0 <= age.total_seconds() <= job.validity.heads_days * 86_400
        case _:
            return False


def _same_figures(job: Beginning, readings: set[str], carried: set[str], one: _Found) -> bool:
    """Whether the files' figures that these readings go into a formula with are what they were."""
    assert one.plan is not None  # noqa: S101  -- such jobs do not count
    then = {s.id: s for s in one.plan.steps if isinstance(s, Computation)}
    for step in job.plan.steps:
        if not isinstance(step, Computation) or step.id in carried:
            continue
        if readings.isdisjoint(named(*step.inputs.values())):
            continue
        # Another job may have had the same figure from another field: a spot on the floor, say.
        before = then.get(step.id)
        inputs = before.inputs if before is not None and before.formula == step.formula else {}
        for name, source in step.inputs.items():
            now = _figure(job.plan, source)
            was = _figure(one.plan, inputs.get(name, source))
            if now is not None and (was is None or not _same_figure(name, now, was)):
                return False
    return True


def _figure(plan: Plan, source: NumberOrSource) -> float | None:
    """The number, or that of the file's field; None for a reading or a result."""
    if not isinstance(source, str):
        return float(source)
    return file_field(plan.files, source.removeprefix("minus "))


def _same_figure(source: str, now: float, then: float) -> bool:
    return abs(now - then) <= (SAME_SPOT_MM if source.endswith("_mm") else 1e-9)


def _results(
    job: Beginning, scope: Scope, steps: Sequence[Step], one: _Found, now: State
) -> Iterator[StillTrue]:
    """What that job computed from it, worked out anew with the figures that it had."""
    assert one.plan is not None  # noqa: S101  -- such jobs do not count
    state = _as_read(job, one)
    then = {s.id: s for s in one.plan.steps if isinstance(s, Computation)}
    for step in steps:
        if not isinstance(step, Computation) or not applies(now, step):
            continue
        before, event = then.get(step.id), one.events.get((step.id, "result"))
        if before is None or before.formula != step.formula or before.outputs != step.outputs:
            continue
        inherited = [t for (s, key), t in one.inherited.items() if s == step.id]
        if event is None:
            yield from (replace(t, days_ago=_days_ago(job.now, t.at_utc)) for t in inherited)
            continue
        assert isinstance(event.fact, Computed)  # noqa: S101  -- kept under this key alone
        state = kind_of(one.plan, before).supposed(state, before)
        for name, output in event.fact.outputs.items():
            result = state.results.get(name)
            if result is None or not _agrees(result, output.value):
                break
            yield replace(
                _source(job, scope, step, event),
                what="result",
                result=name,
                unit=output.unit,
                figure=result.value,
                parts=tuple(Part(line, adds) for line, adds in result.contributions),
            )


def _as_read(job: Beginning, one: _Found) -> State:
    """That job's state with all that it read, and not a word said."""
    assert one.plan is not None  # noqa: S101  -- such jobs do not count
    state = begin(one.plan, job.lexicon)
    readings = {}
    for step in one.plan.steps:
        taken = one.readings.get(step.id)
        if isinstance(step, Reading) and taken is not None:
            value = Decimal(taken.value)
            amount = Amount(abs(value), taken.unit, taken.direction)
            readings[step.id] = as_taken(step, value, amount, taken.take)
    return replace(state, readings=readings, answers=_answers(one))


def _agrees(result: Measured, recorded: Any) -> bool:
    if not isinstance(recorded, int | float):
        return False
    return abs(result.value - recorded) <= SAME_RESULT * max(1.0, abs(recorded))
