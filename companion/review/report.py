"""One session as one HTML file that opens offline and prints.

The main part is made for three A4 pages; everything else is the appendix.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import jinja2
from markupsafe import Markup

from companion.errors import RecordError
from companion.facts.afterwards import ClipsExpired
from companion.facts.figures import Quantity
from companion.pages import page_templates
from companion.record import ClipStore, Finding, StoredEvent, clips_folder, open_for_reading
from companion.record.verify import verify_session
from companion.review import advised, tables, wording
from companion.review.fold import fold
from companion.review.headline import headline
from companion.review.notable import MOST_SHOWN, notable
from companion.review.pictures.convergence import convergence
from companion.review.pictures.dials import dials
from companion.review.pictures.hearing_strip import hearing_strip
from companion.review.pictures.lean_curve import lean_curves
from companion.review.pictures.plan_view import plan_view
from companion.review.sounds import Sound, sound_of
from companion.review.timeline import Line, line_of
from companion.review.view import SessionView

TEMPLATES = Path(__file__).parent / "templates"


@dataclass(frozen=True)
class Integrity:
    """What the check of the record found, and the head hash it is checked by."""

    head_hash: str
    event_count: int
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class Frame:
    """Where a report is shown: a file of its own, or (with addresses) one page among others.

    `style_href` is the style sheet's address, `clips_href` what clips' addresses begin with,
    `home_href` the list of sessions, `file_href` this report as a file. All empty: everything
    lies within the file.
    """

    style_href: str = ""
    clips_href: str = ""
    home_href: str = ""
    file_href: str = ""


OWN_FILE = Frame()


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
    kept = read_session(database_path, session_id, store)
    return render_view(kept.view, kept.opened_utc, kept.integrity, store)


@dataclass(frozen=True)
class KeptSession:
    """A session as it was read: what it holds, and whether that is as it was written."""

    view: SessionView
    opened_utc: str
    integrity: Integrity


def read_session(database_path: Path, session_id: str, clips: ClipStore) -> KeptSession:
    """A session out of the record, checked while it is read.

    Raises `RecordError` when there is no such session, and naming the first broken event when
    it cannot be read.
    """
    with open_for_reading(database_path) as database:
        session = database.session(session_id)
        findings = tuple(verify_session(database_path, session_id, clips))
        try:
            events = tuple(database.events(session_id))
        except RecordError as error:
            if not findings:
                raise
            told = "; ".join(map(str, findings))
            raise RecordError(
                f"{database_path}: the session cannot be shown, it was damaged or changed: {told}"
            ) from error
    integrity = Integrity(session.head_hash, session.event_count, findings)
    return KeptSession(fold(session_id, events), session.opened_utc, integrity)


def render_view(
    view: SessionView,
    opened_utc: str,
    integrity: Integrity,
    clips: ClipStore,
    frame: Frame = OWN_FILE,
) -> str:
    """The report of a folded session; any events whatever give a page."""
    lines = [line_of(event) for event in view.events]
    return (
        report_environment()
        .get_template("report.html.j2")
        .render(
            frame=frame,
            style=report_style(),
            view=view,
            opened_utc=opened_utc,
            headline=headline(view),
            looks=tables.aim_looks(view),
            standing=tables.standing_stages(view),
            readings_by_stage=tables.by_stage(view.readings),
            decisions_by_stage=tables.by_stage(view.decisions),
            plan=plan_view(view),
            stand_moves=advised.stand_moves(view.events),
            leans=lean_curves(view),
            rounds=convergence(view),
            dials=dials(view),
            strip=hearing_strip(view),
            notable=notable(view.events),
            lines=lines,
            sounds=_sounds(lines, clips, frame, _expired(view.events)),
            refusals=[line for line in lines if line.is_refusal],
            cautions=_unique([line for line in lines if line.is_caution]),
            signatures=[line for line in lines if line.label == "sign-off"],
            entered=tables.entered(view),
            integrity=integrity,
        )
    )


def report_style() -> Markup:
    """The style sheet of the report."""
    return Markup((TEMPLATES / "report.css").read_text("utf-8"))  # noqa: S704 - our own file


@lru_cache(maxsize=1)
def report_environment() -> jinja2.Environment:
    """The templates of the report: everything that is put in is escaped."""
    environment = page_templates(TEMPLATES)
    environment.globals.update(
        amount=wording.amount,
        amount_with_doubt=wording.amount_with_doubt,
        doubt=wording.doubt,
        limits=wording.limits,
        title_of=wording.title_of,
        percent=wording.percent,
        answer_words=wording.answer_words,
        clock_time=wording.clock_time,
        spaced_hash=wording.spaced_hash,
        unit_sign=wording.unit_sign,
        with_unit=wording.with_unit,
        expanded=wording.expanded,
        COVERAGE_FACTOR=wording.COVERAGE_FACTOR,
        NOT_RECORDED=wording.NOT_RECORDED,
        reading_value=tables.reading_value,
        reading_with_doubt=tables.reading_with_doubt,
        limits_of=tables.limits_of,
        input_title=tables.input_title,
        Quantity=Quantity,
        MOST_NOTABLE=MOST_SHOWN,
    )
    return environment


def _sounds(
    lines: list[Line], clips: ClipStore, frame: Frame, expired: Mapping[str, str]
) -> dict[str, Sound]:
    named = {line.clip_sha256 for line in lines if line.clip_sha256}
    return {
        sha256: Sound(problem=f"the sound expired on {expired[sha256][:10]}")
        if sha256 in expired
        else sound_of(sha256, clips, frame.clips_href)
        for sha256 in named
    }


def _expired(events: Iterable[StoredEvent]) -> dict[str, str]:
    """The clips that were let go by agreement, and when."""
    return {
        clip: event.at_utc
        for event in events
        if isinstance(event.fact, ClipsExpired)
        for clip in event.fact.clips
    }


def _unique(lines: list[Line]) -> list[Line]:
    return list({line.told: line for line in lines}.values())
