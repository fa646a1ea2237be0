"""The hand-over: one printed page for the car's owner, over all jobs of its visit.

What was asked, what was done, before and after, what it means and does not, and the code that
finds the record. The full report of each job stands behind it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
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
from companion.report import wording
from companion.report.headline import headline
from companion.report.report import TEMPLATES, KeptSession, read_session, report_environment
from companion.report.view import SessionView

LABELS = {
    "order": "Order",
    "plate": "Plate",
    "vin": "VIN",
    "odometer_km": "Odometer",
}
CODES = {"faults_before": "Fault codes before", "faults_after": "Fault codes after"}
DRIVEN = {
    "test_good": "driven, complete",
    "test_bad": "driven, still wrong",
    "test_later": "still to be driven",
    "test_left_out": "left out",
}
INSIDE_MEANS = (
    "Inside means: inside the limits that were entered for this car, with the uncertainties that "
    "were entered, at the moment it was measured."
)
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
    not_meant: tuple[str, ...]
    is_example: bool
    is_rehearsal: bool
    clock_trusted: bool


def hand_over(record: Path, session_id: str) -> HandOver:
    """The hand-over of the visit that this job belongs to; of the job alone, where of none.

    Raises RecordError as `read_session` does, and for what is known of the car and was changed.
    """
    clips = ClipStore(clips_folder(record))
    chosen = read_session(record, session_id, clips)
    opened = chosen.view.opened
    kept = [chosen]
    car, codes = opened.car_sha256, tuple[tuple[str, str], ...]()
    if opened.visit:
        kept = [read_session(record, one, clips) for one in _sessions_of(record, opened.visit)]
        with open_for_reading(record) as database:
            office = tuple(database.events(OFFICE)) if has_office(database) else ()
        car = next((v.car_sha256 for v in visits_of(office) if v.id == opened.visit), car)
        codes = tuple(
            (f"Codes {event.fact.when}", ", ".join(event.fact.codes) or "none")
            for event in office
            if isinstance(event.fact, CodesRead) and event.fact.visit == opened.visit
        )
    known = CarStore(cars_folder(record)).get(car) or Car()
    lasting = dict.fromkeys(
        line
        for one in kept
        for line in headline(one.view, wording.wording_of(one.view.opened)).not_meant
    )
    return HandOver(
        shop=opened.bay_told.shop,
        vehicle=opened.vehicle_told.name,
        car=_car(known),
        complaint=known.complaint,
        visit=opened.visit,
        jobs=tuple(_job(one) for one in kept),
        codes=codes,
        not_meant=tuple(lasting),
        is_example=any(one.view.opened.has_an_example for one in kept),
        is_rehearsal=any(one.view.opened.rehearsal for one in kept),
        clock_trusted=all(one.view.clock_trusted for one in kept),
    )


def render_hand_over(record: Path, session_id: str) -> str:
    """The page as HTML: no scripts, nothing fetched, made for one sheet of A4."""
    style = Markup((TEMPLATES / "hand_over.css").read_text("utf-8"))  # noqa: S704 - our own file
    template = report_environment().get_template("hand_over.html.j2")
    return template.render(page=hand_over(record, session_id), style=style, session=session_id)


def _sessions_of(record: Path, visit: str) -> list[str]:
    found = []
    with open_for_reading(record) as database:
        for session in database.sessions():
            first = next(database.events(session.session_id), None)
            if first and isinstance(first.fact, Opened) and first.fact.visit == visit:
                found.append(session.session_id)
    return found


def _car(car: Car) -> tuple[tuple[str, str], ...]:
    told = dict(car.rows())
    if "odometer_km" in told:
        told["odometer_km"] = f"{car.odometer_km:,} km".replace(",", "\u00a0")
    return tuple((label, told[name]) for name, label in LABELS.items() if name in told)


def _job(one: KeptSession) -> JobDone:
    view, opened = one.view, one.view.opened
    head = headline(view, wording.wording_of(opened))
    answers = _answers(view)
    findings = one.integrity.findings
    return JobDone(
        name=opened.job_name,
        session=view.session_id,
        result=head.answer,
        tone=head.tone,
        before_and_after=_before_and_after(view),
        answers=tuple(_told_answers(answers)),
        limits=(INSIDE_MEANS,) if head.tone == "inside" else (),
        who=opened.technician or "nobody named",
        when=local_time(view.events[-1].at_utc if view.events else one.opened_utc),
        code=wording.spaced_hash(one.integrity.head_hash[:CODE_LENGTH]),
        trouble=str(findings[0]) if findings else "",
    )


def _answers(view: SessionView) -> Mapping[str, str]:
    """The last answer to each question."""
    facts = [event.fact for event in view.events]
    return {fact.step_id: fact.choice for fact in facts if isinstance(fact, Answered)}


def _told_answers(answers: Mapping[str, str]) -> list[tuple[str, str]]:
    told = []
    if "reason" in answers:
        told.append(("Why", answers["reason"].replace("_", " ")))
    told += [
        (label, answers[name].replace("_", " ")) for name, label in CODES.items() if name in answers
    ]
    if "road_test" in answers:
        told.append(("Road test", DRIVEN.get(answers["road_test"], answers["road_test"])))
    return told


def _before_and_after(view: SessionView) -> tuple[tuple[str, str, str], ...]:
    """The aim as it was found and as it was left, by axis, with twice the uncertainty."""
    rows = []
    words = wording.wording_of(view.opened)
    for name, title in (("aim_yaw_deg", "Sideways"), ("aim_elevation_deg", "Height")):
        history = view.aim_history(name)
        if history:
            found, left = (
                words.amount_with_uncertainty(quantity, name)
                for quantity in (history[0][1], history[-1][1])
            )
            rows.append((title, found, left))
    return tuple(rows)


def local_time(at_utc: str) -> str:
    """The moment on this place's clock, with its offset: "2031-05-06 10:08 (+02:00)"."""
    moment: datetime = parse_rfc3339(at_utc).astimezone()
    offset = moment.strftime("%z")
    zone = moment.tzname() or ""
    named = f"{zone}, " if zone.isalpha() else ""
    return f"{moment:%Y-%m-%d %H:%M} ({named}UTC{offset[:3]}:{offset[3:5]})"
