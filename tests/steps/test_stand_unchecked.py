"""A stand that failed its check, or missed it, holds the next job back as the shop wants."""

from __future__ import annotations

import html
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.errors import FileProblem
from companion.facts.answers import Answered
from companion.facts.kinds import Entry
from companion.facts.opening import Opened, StandCheck
from companion.facts.talking import Said
from companion.facts.workings import Decided
from companion.job.loader import EXAMPLES, STAND_CHECK, JobPaths, LoadedJob
from companion.record import FixedClock, SqliteLog, open_record
from companion.record.port import StoredEvent
from companion.runtime import assembly
from companion.runtime.stand_check import refuse_unchecked
from tests.rendered import render_report
from tests.steps.test_heads_correction import DAY_MS, Job, Shop

FAILED = "The stand failed its last check."
OVERDUE = "The stand's monthly check is overdue."


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    clock = FixedClock("2031-05-06T08:00:00.000Z", step_ms=100)
    with open_record(tmp_path / "record.sqlite", clock) as database:
        yield Shop(database, clock)


@pytest.fixture(scope="module")
def radar() -> LoadedJob:
    return assembly.load(JobPaths())


@pytest.fixture(scope="module")
def check() -> LoadedJob:
    return assembly.load(JobPaths(job=STAND_CHECK))


def stand_of(job: Job) -> StandCheck | None:
    return next(fact for fact in job.facts if isinstance(fact, Opened)).stand_check


def said_before_anything_is_asked(job: Job) -> list[str]:
    place = next(n for n, fact in enumerate(job.facts) if isinstance(fact, Answered))
    return [fact.text for fact in job.facts[:place] if isinstance(fact, Said)]


def report_of(shop: Shop, job: Job, language: str = "en") -> str:
    page = render_report(shop.database.path, job.session, language=language)
    return html.unescape(page)


def test_a_stand_that_was_never_checked_stands_on_the_report_and_is_not_talked_of(
    shop: Shop, radar: LoadedJob
) -> None:
    job = shop.job(radar)
    assert stand_of(job) == StandCheck("never")
    assert not any(
        "check" in text and "stand" in text for text in said_before_anything_is_asked(job)
    )
    assert "No check of this stand is on record" in report_of(shop, job)
    with pytest.raises(FileProblem, match=r"no check of it on record; wanted: a 'companion check"):
        refuse_unchecked(stand_of(job), Path("bay.yaml"))


def test_one_that_passed_lets_jobs_begin(shop: Shop, radar: LoadedJob, check: LoadedJob) -> None:
    checked = shop.job(check)
    job = shop.job(radar)
    assert stand_of(job) == StandCheck("as_known", "2031-05-06", checked.session)
    assert not {FAILED, OVERDUE}.intersection(said_before_anything_is_asked(job))
    refuse_unchecked(stand_of(job), Path("bay.yaml"))
    assert f"came out as known (session {checked.session})" in report_of(shop, job)


def test_one_that_failed_is_said_first_reported_and_refused_where_wanted(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    shop.job(check)
    shop.clock.advance(DAY_MS)
    knocked = shop.job(check, seed=5, heads_times=12.0)
    assert knocked.came_to != "stand_as_known"
    shop.clock.advance(60 * DAY_MS)
    job = shop.job(radar)
    assert stand_of(job) == StandCheck("failed", "2031-05-07", knocked.session), "however old"
    assert FAILED in said_before_anything_is_asked(job)
    assert "check of 2031-05-07 failed" in report_of(shop, job)
    assert "La comprobación del soporte del 2031-05-07 falló" in report_of(shop, job, "es")
    with pytest.raises(
        FileProblem, match=r"bay.yaml, stand: found a check of 2031-05-07 that failed"
    ):
        refuse_unchecked(stand_of(job), Path("bay.yaml"))


def test_the_next_check_that_passes_frees_the_stand(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    shop.job(check, seed=5, heads_times=12.0)
    shop.clock.advance(DAY_MS)
    shop.job(check)
    told = stand_of(shop.job(radar))
    assert told is not None
    assert told.came_to == "as_known"


def test_one_that_is_older_than_it_holds_is_overdue(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    shop.job(check)
    shop.clock.advance(31 * DAY_MS)
    assert OVERDUE not in said_before_anything_is_asked(shop.job(radar))
    shop.clock.advance(DAY_MS)
    job = shop.job(radar)
    assert OVERDUE in said_before_anything_is_asked(job)
    assert "was overdue when this was measured" in report_of(shop, job)
    with pytest.raises(FileProblem, match="a last check of 2031-05-06"):
        refuse_unchecked(stand_of(job), Path("bay.yaml"))


def recorded(shop: Shop, events: list[StoredEvent]) -> None:
    log = SqliteLog(shop.database, shop.database.create_session())
    log.append([Entry(event.kind, event.body) for event in events])


def came_to(shop: Shop, radar: LoadedJob) -> str:
    told = stand_of(shop.job(radar))
    assert told is not None
    return told.came_to


def test_a_check_that_was_broken_off_counts_by_what_it_had_judged(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    failed = list(shop.database.events(shop.job(check, seed=5, heads_times=12.0).session))
    wrong = next(n for n, e in enumerate(failed) if getattr(e.fact, "answer", "") == "outside")
    passed = list(shop.database.events(shop.job(check).session))
    judged = next(n for n, event in enumerate(passed) if isinstance(event.fact, Decided))
    assert came_to(shop, radar) == "as_known"
    recorded(shop, failed[: wrong + 1])
    assert came_to(shop, radar) == "failed", "pulled out when it went wrong"
    recorded(shop, passed[:judged])
    assert came_to(shop, radar) == "failed", "one that judged nothing frees no stand"


def test_the_check_itself_and_jobs_without_the_lasers_are_never_held_back(
    shop: Shop, check: LoadedJob
) -> None:
    failed = shop.job(check, seed=5, heads_times=12.0)
    assert stand_of(failed) is None
    assert stand_of(shop.job(check)) is None
    mats = assembly.load(JobPaths(job=EXAMPLES / "surround_mats.yaml"))
    assert stand_of(shop.job(mats)) is None
    camera = assembly.load(JobPaths(job=EXAMPLES / "forward_camera.yaml"))
    assert stand_of(shop.job(camera)) is not None
