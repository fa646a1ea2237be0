"""One session as one HTML file that opens offline and prints.

The main part is made for three A4 pages; everything else is the appendix.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import jinja2
from markupsafe import Markup

from companion.errors import RecordError
from companion.facts.afterwards import ClipsExpired, SignedOff
from companion.facts.car import Car
from companion.facts.figures import Quantity
from companion.facts.shown import NO_SHOWS, Shows, Table
from companion.facts.talking import Said
from companion.record import ClipStore, Finding, StoredEvent, clips_folder, open_for_reading
from companion.record.audit.verify import examine_session
from companion.record.outputs import write_output
from companion.record.signings import Signing
from companion.report import advised, tables, wording
from companion.report.acceptance import accepted_up_to
from companion.report.aim_words import PART
from companion.report.budget import budget_table
from companion.report.car import car_of_job, car_rows
from companion.report.fold import fold
from companion.report.headline import headline
from companion.report.notable import MOST_SHOWN, notable
from companion.report.pictures import svg
from companion.report.pictures.convergence import convergence
from companion.report.pictures.dials import dials
from companion.report.pictures.hearing_strip import hearing_strip
from companion.report.pictures.lean_curve import lean_curves
from companion.report.pictures.plan_view import plan_view
from companion.report.pictures.target_plan import target_plan
from companion.report.sounds import Clips, Sound, sound_of
from companion.report.taken_over import taken_over_table
from companion.report.timeline import Line, line_of
from companion.report.trusted import (
    environment,
    instruments_table,
    stand_check,
    trials,
    validation,
)
from companion.report.view import SessionView
from companion.report.wording import Wording, wording_of
from companion.web.templates import marking_up, page_templates

SOUND_WITHIN = 'src="data:audio/flac'
TEMPLATES = Path(__file__).parent / "templates"
GENERATOR = "bay companion report"
"""By this a file is known as a report, whatever language it is in."""


@dataclass(frozen=True)
class Integrity:
    """What the check of the record found, and the head hash it is checked by."""

    head_hash: str
    event_count: int
    findings: tuple[Finding, ...]
    signings: tuple[Signing, ...] = ()


@dataclass(frozen=True)
class Frame:
    """Where a report is shown: a file of its own, or (with addresses) one page among others.

    `style_href` is the style sheet's address, `clips_href` what clips' addresses begin with,
    `file_href` this report as a file, `bar` what stands above every page. All empty: everything
    lies within the file. `part`: all of it, or on a page of its own what counts ("main", at
    `main_href`) or the appendix ("rest", at `rest_href`): few look at both, and each is there
    sooner. `day` and `clock` tell a moment's day and time in the `zone` named.
    """

    style_href: str = ""
    clips_href: str = ""
    file_href: str = ""
    part: Literal["whole", "main", "rest"] = "whole"
    main_href: str = ""
    rest_href: str = ""
    bar: Markup = field(default_factory=Markup)
    day: Callable[[str], str] = wording.day
    clock: Callable[[str], str] = wording.clock_time
    zone: str = "UTC"

    @property
    def is_page(self) -> bool:
        """Whether it is one page among others."""
        return bool(self.style_href)

    @property
    def to_main(self) -> str:
        """The page of what counts, for a place on it; "" on that page itself."""
        return self.main_href if self.part == "rest" else ""

    @property
    def to_rest(self) -> str:
        """The page of the appendix, for a place on it; "" on that page itself."""
        return self.rest_href if self.part == "main" else ""


OWN_FILE = Frame()


@dataclass(frozen=True)
class ReportPage:
    """A report as it is written, and how many clips of recorded voice it carries."""

    html: str
    clips: int


def write_report(
    database_path: Path,
    session_id: str,
    out_path: Path,
    clips: ClipStore | None = None,
    *,
    force: bool = False,
    shows: Shows = NO_SHOWS,
    language: str = "",
) -> Path:
    """Write the report of a session and return its path; an older report is replaced whole.

    The clips are looked for beside the record unless given. `shows`: the kinds of step that put
    facts of their own into words. `language`: that of the job where none is given. Raises
    `RecordError` when the record cannot be read or holds no such session, and `CompanionError` as
    `write_page` does.
    """
    page = render_page(database_path, session_id, clips, shows=shows, language=language)
    write_page(page, out_path, force=force)
    return out_path


def write_page(page: ReportPage, out_path: Path, *, force: bool = False) -> None:
    """Write a report; raises `CompanionError` when that cannot be done.

    So also where something else than a report stands in its place, unless `force`; a record is
    never overwritten.
    """

    def write(path: Path) -> None:
        path.write_text(page.html, encoding="utf-8")

    write_output(out_path, write, is_report, force=force)


def is_report(first: bytes) -> bool:
    """Whether a file that begins like this is a report."""
    if not first.startswith(b"<!DOCTYPE html>"):
        return False
    # Reports of before they were named so are known by their English title.
    title = first.partition(b"<title>")[2].partition(b"</title>")[0]
    return f'content="{GENERATOR}"'.encode() in first or b", session " in title


def render_page(
    database_path: Path,
    session_id: str,
    clips: ClipStore | None = None,
    *,
    with_sound: bool = True,
    with_car: bool = True,
    shows: Shows = NO_SHOWS,
    language: str = "",
) -> ReportPage:
    """The same with the number of clips in it; without sound it has none.

    `with_car`: whether it says which car it was, which is personal data.
    """
    store = clips or ClipStore(clips_folder(database_path))
    kept = read_session(database_path, session_id, store)
    kept = kept if with_car else replace(kept, car=None)
    html = render_view(kept, store, with_sound=with_sound, shows=shows, language=language)
    return ReportPage(html, html.count(SOUND_WITHIN))


@dataclass(frozen=True)
class KeptSession:
    """A session as it was read: what it holds, and whether that is as it was written.

    `car`: what is known of the car; None where that is not known here, or of a job of no visit.
    """

    view: SessionView
    opened_utc: str
    integrity: Integrity
    car: Car | None = None


def read_session(database_path: Path, session_id: str, clips: ClipStore) -> KeptSession:
    """A session out of the record, checked while it is read.

    Raises `RecordError` when there is no such session, and naming the first broken event when
    it cannot be read.
    """
    with open_for_reading(database_path) as database:
        session = database.session(session_id)
        examined = examine_session(database_path, session_id, clips)
        findings = examined.findings
        try:
            events = tuple(database.events(session_id))
        except RecordError as error:
            if not findings:
                raise
            told = "; ".join(map(str, findings))
            raise RecordError(
                f"{database_path}: the session cannot be shown, it was damaged or changed: {told}"
            ) from error
        view = fold(session_id, events)
        car = car_of_job(database, database_path, view.opened)
    integrity = Integrity(session.head_hash, session.event_count, findings, examined.signings)
    return KeptSession(view, session.opened_utc, integrity, car)


def render_view(
    kept: KeptSession,
    clips: Clips | None,
    frame: Frame = OWN_FILE,
    *,
    with_sound: bool = True,
    shows: Shows = NO_SHOWS,
    language: str = "",
) -> str:
    """The report of a folded session; any events whatever give a page.

    Without `clips` it has no sound. `language`: that of the job where none is given.
    """
    view = kept.view
    words = wording_of(view.opened, language)
    looks = tables.aim_looks(view, words)
    values = {
        "w": words,
        "t": marking_up(words),
        "frame": frame,
        "day": frame.day,
        "clock_time": frame.clock,
        "style": report_style(),
        "view": view,
        "opened_utc": kept.opened_utc,
        "looks": looks,
        "own_part": PART if looks else None,
        "notable": notable(view.events, words, shows),
        "integrity": kept.integrity,
        "carried": 0,
        "car": None if kept.car is None else car_rows(kept.car, words),
        "complaint": "" if kept.car is None else kept.car.complaint,
    }
    if frame.part != "rest":
        values |= _main_part(kept, words, shows)
    if frame.part != "main":
        sound = clips if with_sound else None
        values |= _appendix(view, words, shows, sound, frame)
    return report_environment().get_template("report.html.j2").render(values)


def _main_part(kept: KeptSession, words: Wording, shows: Shows) -> dict[str, Any]:
    """What the templates of the main part show."""
    view = kept.view
    lines = [line_of(event, words, shows) for event in view.events if _is_told_first(event)]
    return {
        "headline": headline(view, words),
        "tables": _tables(view, shows, words),
        "standing": tables.standing_stages(view, words),
        "plan": plan_view(view, words),
        "target_plan": target_plan(view, words),
        "stand_moves": advised.stand_moves(view.events, words),
        "leans": lean_curves(view, words),
        "rounds": convergence(view, words),
        "dials": dials(view, words),
        "strip": hearing_strip(view, words),
        "cautions": _unique([line for line in lines if line.is_caution]),
        "signatures": [line for line in lines if line.is_sign_off],
        "worth": {one.seq: _worth(one, words) for one in kept.integrity.signings},
    }


def _is_told_first(event: StoredEvent) -> bool:
    """Whether the main part has a line of it: a caution, a sign-off."""
    match event.fact:
        case SignedOff() | Said(purpose="caution"):
            return True
        case _:
            return False


def _appendix(
    view: SessionView, words: Wording, shows: Shows, clips: Clips | None, frame: Frame
) -> dict[str, Any]:
    """What the templates of the appendix show; without `clips` it has no sound."""
    lines = [line_of(event, words, shows) for event in view.events]
    sounds = (
        _left_out(lines) if clips is None else _sounds(lines, clips, frame, _expired(view.events))
    )
    return {
        "budget": budget_table(view, words),
        "instruments": instruments_table(view, words),
        "stand_check": stand_check(view, words),
        "environment": environment(view, words),
        "validation": validation(words, trials(view.opened.job.get("id"))),
        "readings_by_stage": tables.by_stage(view.readings),
        "decisions_by_stage": tables.by_stage(view.decisions),
        "lines": lines,
        "talk": _by_stage(lines),
        "sounds": sounds,
        "carried": sum(sound.source.startswith("data:") for sound in sounds.values()),
        "refusals": [line for line in lines if line.is_refusal],
        "entered": tables.entered(view, words),
    }


def _tables(view: SessionView, shows: Shows, words: Wording) -> list[Table]:
    """What kinds of step show of themselves; nothing of a kind that has nothing to show."""
    facts = [event.fact for event in view.events]
    found = (
        taken_over_table(facts, words),
        *(kind.report(facts, words) for kind in shows.values()),
    )
    return [table for table in found if table is not None and table.rows]


def report_style() -> Markup:
    """The style sheet of the report."""
    return Markup((TEMPLATES / "report.css").read_text("utf-8"))  # noqa: S704 - our own file


@lru_cache(maxsize=1)
def report_environment() -> jinja2.Environment:
    """The templates of the report: everything that is put in is escaped."""
    environment = page_templates(TEMPLATES)
    environment.globals.update(
        utc_day=wording.day,
        utc_clock=wording.clock_time,
        bdi=_element("bdi"),
        bold=_element("b"),
        technical_words=_element("span", lang="en"),
        hash=lambda told: _element("span", class_="hash")(wording.spaced_hash(told)),
        GENERATOR=GENERATOR,
        COVERAGE_FACTOR=wording.COVERAGE_FACTOR,
        accepted_up_to=accepted_up_to,
        reading_value=tables.reading_value,
        reading_with_uncertainty=tables.reading_with_uncertainty,
        limits_of=tables.limits_of,
        input_title=tables.input_title,
        figure_title=tables.figure_title,
        Quantity=Quantity,
        MOST_NOTABLE=MOST_SHOWN,
    )
    return environment


def _element(name: str, **attributes: str) -> Callable[[str], Markup]:
    """Puts a text into an element; the text is escaped."""

    def put(told: str) -> Markup:
        return svg.element(name, told, **attributes)

    return put


def _by_stage(lines: Iterable[Line]) -> list[tuple[str, list[Line]]]:
    """The lines under the stages that they belong to; a stage's own line is its first."""
    stages: list[tuple[str, list[Line]]] = []
    for line in lines:
        if line.is_stage or not stages:
            stages.append((line.told if line.is_stage else "", []))
        stages[-1][1].append(line)
    return stages


def _sounds(
    lines: list[Line], clips: Clips, frame: Frame, expired: Mapping[str, str]
) -> dict[str, Sound]:
    named = {line.clip_sha256 for line in lines if line.clip_sha256}
    return {
        sha256: Sound(expired_on=expired[sha256][:10])
        if sha256 in expired
        else sound_of(sha256, clips, frame.clips_href)
        for sha256 in named
    }


def _left_out(lines: list[Line]) -> dict[str, Sound]:
    problem = "sound-left-out"
    return {line.clip_sha256: Sound(problem=problem) for line in lines if line.clip_sha256}


def _expired(events: Iterable[StoredEvent]) -> dict[str, str]:
    """The clips that were let go by agreement, and when."""
    return {
        clip: event.at_utc
        for event in events
        if isinstance(event.fact, ClipsExpired)
        for clip in event.fact.clips
    }


def _worth(signing: Signing, words: Wording) -> str:
    """What was found of a signature; what is wrong with it is English, and marked so."""
    if signing.told is None:
        return _element("span", lang="en")(signing.problem)
    return words(signing.told.id, **signing.told.args)


def _unique(lines: list[Line]) -> list[Line]:
    return list({line.told: line for line in lines}.values())
