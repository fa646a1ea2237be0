"""The hand-over: one printed page for the car's owner, over all jobs of its visit.

What was asked, what was done, before and after, what it means and does not, and the code that
finds the record. The full report of each job stands behind it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from markupsafe import Markup

from companion.facts.answers import Answered
from companion.facts.car import Car
from companion.facts.office import CodesRead
from companion.facts.opening import Opened
from companion.record.cars import CarStore, cars_folder
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import OFFICE, open_for_reading
from companion.record.office import has_office
from companion.record.rfc3339 import parse_rfc3339
from companion.record.visits import visits_of
from companion.report.car import car_rows
from companion.report.headline import headline
from companion.report.pictures import svg
from companion.report.report import TEMPLATES, KeptSession, read_session, report_environment
from companion.report.view import SessionView
from companion.report.visit_left import Left, left_of
from companion.report.wording import Wording, spaced_hash, wording_of
from companion.web.templates import marking_up

AXES = (("aim_yaw_deg", "hand-over-sideways"), ("aim_elevation_deg", "hand-over-height"))
AS_LEFT = ("camera_yaw_deg", "camera_elevation_deg", "corner_angle_deg")
"""Of these nothing is measured before the sensor has learnt: only as it was left."""
ANSWERS = ("reason", "faults_before", "faults_after")
"""The questions of a job, by their ids, whose answers stand here in the words of the answer."""
ROAD_TEST = "road_test"
SAID_STORED: Mapping[str, bool] = {
    "no_faults": False,
    "faults_cleared": False,
    "aim_fault_only": True,
    "faults_remain": True,
}
"""Whether the technician's answer says that codes are stored as they were read then."""
JobsOf = Callable[[str], Sequence[str]]
"""The sessions of a visit by its name, in the order of recording."""
CODE_LENGTH = 16
"""Of the head hash: no two jobs of a shop share so many signs."""


@dataclass(frozen=True)
class JobDone:
    """One job of the visit, in the words of the page."""

    name: str
    session: str
    result: str
    tone: str
    before_and_after: tuple[tuple[str, str, str], ...]
    answers: tuple[tuple[str, str], ...]
    limits: tuple[str, ...]
    who: str
    when: str
    code: str
    trouble: str


@dataclass(frozen=True)
class HandOver:
    """The page as values."""

    shop: str
    vehicle: str
    car: tuple[tuple[str, str], ...]
    complaint: str
    visit: str
    jobs: tuple[JobDone, ...]
    codes: tuple[tuple[str, str], ...]
    contradictions: tuple[str, ...]
    left: tuple[str, ...]
    limits: tuple[str, ...]
    not_meant: tuple[str, ...]
    is_example: bool
    is_rehearsal: bool
    clock_trusted: bool


def hand_over(
    record: Path,
    session_id: str,
    jobs_of: JobsOf,
    language: str = "",
    translated: Callable[[Opened], Opened] = lambda opened: opened,
) -> tuple[HandOver, Wording]:
    """The hand-over of the visit that this job belongs to; of the job alone, where of none.

    In the language of that job, unless another is asked for; `translated`: a job with its own texts
    in that one. Raises RecordError as `read_session`
    does, and for what is known of the car and was changed.
    """
    clips = ClipStore(clips_folder(record))
    chosen = read_session(record, session_id, clips)
    opened = chosen.view.opened
    say = wording_of(opened, language)
    kept = [chosen]
    car, read = opened.car_sha256, dict[str, tuple[str, ...]]()
    undone = Left()
    if opened.visit:
        kept = [read_session(record, one, clips) for one in jobs_of(opened.visit)]
        with open_for_reading(record) as database:
            office = tuple(database.events(OFFICE)) if has_office(database) else ()
            this = next((visit for visit in visits_of(office) if visit.id == opened.visit), None)
            if this is not None:
                car, undone = this.car_sha256, left_of(database, this)
        for event in office:
            if isinstance(event.fact, CodesRead) and event.fact.visit == opened.visit:
                read[event.fact.when] = event.fact.codes
    kept = [
        replace(one, view=replace(one.view, opened=translated(one.view.opened))) for one in kept
    ]
    known = CarStore(cars_folder(record)).get(car) or Car()
    lasting = dict.fromkeys(
        line for one in kept for line in headline(one.view, say.of(one.view.opened)).not_meant
    )
    jobs = tuple(_job(one, say.of(one.view.opened)) for one in kept)
    page = HandOver(
        shop=opened.bay_told.shop,
        vehicle=opened.vehicle_told.name,
        car=car_rows(known, say),
        complaint=known.complaint,
        visit=opened.visit,
        jobs=jobs,
        codes=tuple(
            (say(f"hand-over-codes-{when}"), ", ".join(read[when]) or say("none"))
            for when in ("before", "after")
            if when in read
        ),
        contradictions=tuple(
            say(told) for told in contradicting(read, [_answers(one.view) for one in kept])
        ),
        left=tuple(undone.told(say)),
        limits=tuple(dict.fromkeys(line for job in jobs for line in job.limits)),
        not_meant=tuple(lasting),
        is_example=any(one.view.opened.has_an_example for one in kept),
        is_rehearsal=any(one.view.opened.rehearsal for one in kept),
        clock_trusted=all(one.view.clock_trusted for one in kept),
    )
    return page, say


def render_hand_over(page: HandOver, say: Wording, session_id: str) -> str:
    """The page as HTML: no scripts, nothing fetched, made for one sheet of A4."""
    style = Markup((TEMPLATES / "hand_over.css").read_text("utf-8"))  # noqa: S704 - our own file
    template = report_environment().get_template("hand_over.html.j2")
    return template.render(
        page=page, style=style, session=session_id, w=say, t=marking_up(say), code=_code
    )


def contradicting(
    read: Mapping[str, Sequence[str]], answers: Sequence[Mapping[str, str]]
) -> Iterator[str]:
    """Where codes that were typed say other than the technician did: the ids of the sentences.

    `read`: the codes before and after; `answers`: of each job of the visit, in their order. Codes
    that were stored before and are cleared since stand in no contradiction to "cleared".
    """
    before = next((a["faults_before"] for a in answers if "faults_before" in a), "")
    if read.get("before") and before == "no_faults":
        yield "hand-over-codes-before-but-none"
    after = next((a["faults_after"] for a in reversed(answers) if "faults_after" in a), "")
    if "after" in read and after in SAID_STORED and bool(read["after"]) != SAID_STORED[after]:
        stored = SAID_STORED[after]
        yield f"hand-over-codes-after-{'none-but-stored' if stored else 'but-none'}"


def _code(told: str) -> Markup:
    return svg.element("span", told, class_="code")


def _job(one: KeptSession, say: Wording) -> JobDone:
    view, opened = one.view, one.view.opened
    head = headline(view, say)
    findings = one.integrity.findings
    return JobDone(
        name=opened.job_name,
        session=view.session_id,
        result=head.answer,
        tone=head.tone,
        before_and_after=_before_and_after(view, say),
        answers=tuple(_told_answers(_answers(view), say)),
        limits=(say("hand-over-inside-means"),) if head.tone == "inside" else (),
        who=opened.technician or say("line-nobody-named"),
        when=local_time(view.events[-1].at_utc if view.events else one.opened_utc),
        code=spaced_hash(one.integrity.head_hash[:CODE_LENGTH]),
        trouble=say(f"finding-{findings[0].kind}") if findings else "",
    )


def _answers(view: SessionView) -> Mapping[str, str]:
    """The last answer to each question."""
    facts = [event.fact for event in view.events]
    return {fact.step_id: fact.choice for fact in facts if isinstance(fact, Answered)}


def _told_answers(answers: Mapping[str, str], say: Wording) -> Iterator[tuple[str, str]]:
    for name in ANSWERS:
        if name in answers:
            yield say(f"hand-over-answer-{name}"), say.words.choice(answers[name])
    if ROAD_TEST in answers:
        driven = say.words.named("hand-over-road-", answers[ROAD_TEST])
        yield say(f"hand-over-answer-{ROAD_TEST}"), driven


def _before_and_after(view: SessionView, say: Wording) -> tuple[tuple[str, str, str], ...]:
    """The aim as it was found and as it was left, by axis, with twice the uncertainty."""
    rows = []
    for name, title in AXES:
        history = view.aim_history(name)
        if history:
            found, left = (
                say.amount_with_uncertainty(quantity, name)
                for quantity in (history[0][1], history[-1][1])
            )
            rows.append((say(title), found, left))
    for name in AS_LEFT:
        standing = view.outputs_named(name)
        if standing:
            left = say.amount_with_uncertainty(standing[-1], name)
            rows.append((say.title_of(name), say("hand-over-not-measured"), left))
    return tuple(rows)


def local_time(at_utc: str) -> str:
    """The moment on this place's clock, with its zone: "2031-05-06 10:08 (UTC+02:00)"."""
    moment: datetime = parse_rfc3339(at_utc).astimezone()
    offset = moment.strftime("%z")
    zone = moment.tzname() or ""
    if zone == "UTC":
        return f"{moment:%Y-%m-%d %H:%M} (UTC)"
    named = f"{zone}, " if zone.isalpha() else ""
    return f"{moment:%Y-%m-%d %H:%M} ({named}UTC{offset[:3]}:{offset[3:5]})"
