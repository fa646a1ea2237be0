"""One session as one HTML file that opens offline and prints."""

from __future__ import annotations

import os
import tempfile
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

import jinja2
from markupsafe import Markup

from companion.errors import RecordError
from companion.record import ClipStore, Finding, clips_folder, open_for_reading, verify
from companion.review import values, wording
from companion.review.fold import fold
from companion.review.headline import headline
from companion.review.pictures.convergence import convergence
from companion.review.pictures.dials import dials
from companion.review.pictures.lean_curve import lean_curves
from companion.review.pictures.plan_view import plan_view
from companion.review.sounds import Sound, sound_of
from companion.review.timeline import Line, line_of
from companion.review.view import Decision, Reading, SessionView

_TEMPLATES = Path(__file__).parent / "templates"
_Staged = TypeVar("_Staged", Reading, Decision)


@dataclass(frozen=True)
class AimRow:
    """One axis of the aim before, after, and against its limits."""

    title: str
    before: str
    before_doubt: str
    after: str
    after_doubt: str
    limits: str


@dataclass(frozen=True)
class Integrity:
    """What the check of the record found, and the head hash it is checked by."""

    head_hash: str
    event_count: int
    findings: tuple[Finding, ...]


def write_report(
    database_path: Path, session_id: str, out_path: Path, clips: ClipStore | None = None
) -> Path:
    """Write the report of a session and return its path; an older report is replaced whole.

    The clips are looked for beside the record unless given. Raises `RecordError` when the
    record cannot be read, holds no such session, or the report cannot be written.
    """
    page = render_report(database_path, session_id, clips)
    temporary: str | None = None
    try:
        descriptor, temporary = tempfile.mkstemp(dir=out_path.parent, prefix=".report-")
        with os.fdopen(descriptor, "w", encoding="utf-8") as file:
            file.write(page)
        os.chmod(temporary, 0o644)
        os.replace(temporary, out_path)
    except OSError as error:
        if temporary is not None:
            with suppress(OSError):
                os.unlink(temporary)
        raise RecordError(
            f"{out_path}: the report cannot be written ({error.strerror}); "
            "choose a folder that exists and has room"
        ) from error
    return out_path


def render_report(database_path: Path, session_id: str, clips: ClipStore | None = None) -> str:
    """The report's HTML: no scripts, nothing fetched from outside, clips within it."""
    store = clips or ClipStore(clips_folder(database_path))
    with open_for_reading(database_path) as database:
        session = database.session(session_id)
        view = fold(session_id, database.events(session_id))
    integrity = Integrity(
        session.head_hash,
        session.event_count,
        tuple(verify(database_path, store, only_session=session_id)),
    )
    return render_view(view, session.opened_utc, integrity, store)


def render_view(view: SessionView, opened_utc: str, integrity: Integrity, clips: ClipStore) -> str:
    """The report of a folded session; any events whatever give a page."""
    lines = [line_of(event) for event in view.events]
    return (
        _environment()
        .get_template("report.html.j2")
        .render(
            style=Markup((_TEMPLATES / "report.css").read_text("utf-8")),  # noqa: S704 - our own file
            view=view,
            opened_utc=opened_utc,
            headline=headline(view),
            aim_rows=_aim_rows(view),
            readings_by_stage=_by_stage(view.readings),
            decisions_by_stage=_by_stage(view.decisions),
            plan=plan_view(view),
            leans=lean_curves(view),
            rounds=convergence(view),
            dials=dials(view),
            lines=lines,
            sounds=_sounds(lines, clips),
            refusals=[line for line in lines if line.is_refusal],
            cautions=_unique([line for line in lines if line.is_caution]),
            entered=_entered(view),
            integrity=integrity,
        )
    )


def _environment() -> jinja2.Environment:
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals.update(
        amount=wording.amount,
        doubt=wording.doubt,
        limits=wording.limits,
        title_of=wording.title_of,
        percent=wording.percent,
        answer_words=wording.answer_words,
        clock_time=wording.clock_time,
        spaced_hash=wording.spaced_hash,
        unit_sign=wording.unit_sign,
        with_unit=wording.with_unit,
        text=values.text,
        mapping=values.mapping,
        reading_value=_reading_value,
        limits_of=_limits_of,
        input_title=_input_title,
        Quantity=values.Quantity,
    )
    return environment


def _aim_rows(view: SessionView) -> list[AimRow]:
    rows = []
    for name, result in (
        ("aim_yaw_deg", view.result.yaw),
        ("aim_elevation_deg", view.result.elevation),
    ):
        measured = [quantity for _, quantity in view.aim_history(name)]
        nothing = values.Quantity(None, None, "deg")
        before = measured[0] if measured else nothing
        after = result if result.value is not None else measured[-1] if measured else nothing
        low, high = view.aim_limits(name)
        rows.append(
            AimRow(
                title=wording.title_of(name),
                before=wording.amount(before, name),
                before_doubt=wording.doubt(before),
                after=wording.amount(after, name),
                after_doubt=wording.doubt(after),
                limits=wording.limits(low, high, "deg", name),
            )
        )
    return rows


def _by_stage(items: tuple[_Staged, ...]) -> list[tuple[str, list[_Staged]]]:
    """The items under their stages, in the order in which the stages came."""
    stages: list[tuple[str, list[_Staged]]] = []
    for item in items:
        if not stages or stages[-1][0] != item.stage:
            stages.append((item.stage, []))
        stages[-1][1].append(item)
    return stages


def _reading_value(reading: Reading) -> str:
    """The kept value with a word for its direction instead of a sign."""
    value = reading.value
    if reading.direction and value[:1] in ("-", "+"):
        value = value[1:]
    told = wording.with_unit(value.replace("-", wording.MINUS), reading.unit)
    return f"{told} {reading.direction.replace('_', ' ')}".strip()


def _limits_of(reading: Reading, view: SessionView) -> str:
    """The reading's own tolerance, or the limits that a decision held it against."""
    if reading.tolerance:
        return reading.tolerance
    for decision in view.decisions:
        if decision.result_name in reading.step_ids and decision.seq > reading.seq:
            return wording.limits(decision.low, decision.high, reading.unit, decision.result_name)
    return ""


def _input_title(name: str, view: SessionView) -> str:
    """What a share of a doubt comes from: a reading's title, or an entered figure in words.

    Names are reading ids, with " #2" for a second take, or "step.input" for entered figures.
    """
    reading_id = name.split("#")[0].strip()
    for reading in view.readings:
        if reading_id in reading.step_ids:
            return reading.title
    return wording.title_of(reading_id.rpartition(".")[2])


def _sounds(lines: list[Line], clips: ClipStore) -> dict[str, Sound]:
    named = {line.clip_sha256 for line in lines if line.clip_sha256}
    return {sha256: sound_of(sha256, clips) for sha256 in named}


def _unique(lines: list[Line]) -> list[Line]:
    return list({line.told: line for line in lines}.values())


def _entered(view: SessionView) -> list[tuple[str, list[tuple[str, str]]]]:
    """What the shop's files said, as rows; the job's steps are left to its file and hash."""
    return [
        (title, values.flat_rows(view.opened[name]))
        for title, name in (("Vehicle", "vehicle"), ("Sensor mount", "mount"), ("Bay", "bay"))
        if values.mapping(view.opened.get(name))
    ]
