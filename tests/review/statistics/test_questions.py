"""From recorded sessions to answers: summaries kept up to date, and what is asked of them."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from companion.archive.opening import open_archive
from companion.errors import RecordError
from companion.facts.meanings import No, Number, Yes, meaning_to_json
from companion.record import ClipStore, Entry, FixedClock, MemoryLog, SqliteLog, open_record
from companion.report.hearing import hearings
from companion.statistics import questions
from companion.statistics.figures_check import open_summaries
from companion.statistics.questions import Choice
from companion.statistics.steadiness import charts, signals
from companion.statistics.store import summaries_path
from companion.statistics.summary import NOISE_NOT_KEPT, noise_step, summary

EVERYBODY = Choice()


def events_of(*entries: tuple[str, dict[str, Any]]) -> tuple[Any, ...]:
    log = MemoryLog("s", FixedClock(step_ms=10_000))
    for kind, body in entries:
        log.append([Entry(kind, body)])
    return tuple(log.events("s"))


def said(prompt_id: str, purpose: str) -> tuple[str, dict[str, Any]]:
    return "said", {"prompt_id": prompt_id, "purpose": purpose, "text": "?"}


MEANINGS = {
    "number": meaning_to_json(Number(Decimal(4))),
    "choice": {"kind": "choice", "id": "bumper"},
    "yes": meaning_to_json(Yes()),
    "no": meaning_to_json(No()),
}


def heard(prompt_id: str, meaning: str, **more: Any) -> tuple[str, dict[str, Any]]:
    return "heard", {
        "prompt_id": prompt_id,
        "meaning": MEANINGS.get(meaning, {"kind": meaning}),
        "ears": "own",
        **more,
    }


def twist(value: float) -> tuple[str, dict[str, Any]]:
    outputs = {"floor_twist_mm": {"value": value, "u": 0.2, "unit": "mm"}}
    return "computed", {"step_id": "floor", "outputs": outputs, "inputs": {}}


def opened(technician: str, bay: str) -> tuple[str, dict[str, Any]]:
    return "opened", {"technician": technician, "bay": {"name": bay}, "vehicle": {"name": "Car"}}


class Shop:
    """A record that sessions are added to, a day apart."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.days = 0

    def session(self, *entries: tuple[str, dict[str, Any]]) -> str:
        self.days += 1
        clock = FixedClock(f"2031-04-{self.days:02}T08:00:00.000Z", step_ms=10_000)
        with open_record(self.path, clock) as database:
            log = SqliteLog(database, database.create_session(), ClipStore(self.path.parent))
            for kind, body in entries:
                log.append([Entry(kind, body)])
            return log.session_id

    def ask(self, question: Callable[..., Any], *more: Any) -> Any:
        with open_archive(self.path) as archive, open_summaries(archive) as store:
            return question(store, *more)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return Shop(tmp_path / "shop.record")


def test_an_answer_denied_when_said_back_was_misheard() -> None:
    answers = hearings(
        events_of(
            said("p1", "ask"),
            heard("p1", "number"),
            said("p2", "read_back"),
            heard("p2", "no"),
            said("p3", "ask"),
            heard("p3", "number"),
            said("p4", "read_back"),
            heard("p4", "number"),
            said("p5", "read_back"),
            heard("p5", "yes"),
        )
    )
    assert [a.outcome for a in answers] == ["misheard", "taken", "misheard", "taken", "taken"]


def test_a_no_to_a_question_of_its_own_denies_nothing() -> None:
    answers = hearings(
        events_of(said("p1", "ask"), heard("p1", "choice"), said("p2", "ask"), heard("p2", "no"))
    )
    assert [answer.outcome for answer in answers] == ["taken", "taken"]


def test_the_noise_is_found_in_the_words_of_the_ears() -> None:
    detail = "margin 0.4; speech -20 dBFS, background -41.5 dBFS"
    (answer,) = hearings(events_of(("refused", {"prompt_id": "p", "detail": detail})))
    assert answer.noise_dbfs == -41.5
    assert noise_step(answer.noise_dbfs) == -45


def test_time_goes_to_the_stage_that_is_on_and_breaks_to_none() -> None:
    def stage(title: str) -> tuple[str, dict[str, Any]]:
        return "stage", {"title": title}

    told = summary(
        events_of(
            ("opened", {}),
            stage("Floor"),
            heard("p", "done"),
            ("resumed", {}),
            heard("p", "done"),
            stage("Stand"),
            heard("p", "done"),
        )
    )
    assert told.stages == {"Floor": 30.0, "Stand": 10.0}


def test_typed_answers_say_nothing_of_hearing() -> None:
    told = summary(events_of(heard("p", "yes", ears="typed technician"), heard("p", "yes")))
    assert told.heard == {(NOISE_NOT_KEPT, "taken"): 1}


def test_a_level_kept_with_refusals_alone_makes_no_rate_by_noise() -> None:
    refused = ("refused", {"prompt_id": "p", "ears": "own", "detail": "background -41 dBFS"})
    told = summary(events_of(heard("p", "yes"), refused))
    assert told.heard == {(NOISE_NOT_KEPT, "taken"): 1, (NOISE_NOT_KEPT, "refused"): 1}


def test_a_floor_that_settles_is_seen_by_the_page_and_by_the_watch(shop: Shop) -> None:
    steady = [0.1, -0.1, 0.2, -0.2, 0.15, -0.05, 0.25, -0.15, 0.05, -0.25]
    for value in [*steady, *steady, *(1.0 + value for value in steady[:9])]:
        shop.session(opened("A", "Bay 1"), twist(value))
    shop.session(opened("A", "Bay 2"), twist(5.0))
    settled, other = shop.ask(charts)
    assert (settled.bay, settled.state, other.state) == ("Bay 1", "changed", "too few")
    assert settled.changed_at is not None
    assert settled.changed_at.opened_utc[:10] == "2031-04-21"
    assert settled.changed_at.value == 1.1
    assert shop.ask(signals) == ()


def test_the_job_that_makes_the_watch_signal_is_told_and_the_next_is_not(shop: Shop) -> None:
    steady = [0.1, -0.1, 0.2, -0.2, 0.15, -0.05, 0.25, -0.15, 0.05, -0.25]
    for value in (*steady, *steady):
        shop.session(opened("A", "Bay 1"), twist(value))
    told = []
    for value in (1.0, 1.3, 0.9, 1.1, 1.2, 1.15, 0.95, 1.05, 1.25, 0.85):
        shop.session(opened("A", "Bay 1"), twist(value))
        told += shop.ask(signals)
    (signal,) = told
    assert (signal.bay, signal.measure) == ("Bay 1", "floor_twist_mm")
    assert signal.since.opened_utc[:10] == "2031-04-21"


def test_the_first_value_of_a_session_counts_not_the_corrected_one(shop: Shop) -> None:
    for value in (0.1, 0.2):
        shop.session(opened("A", "Bay 1"), twist(value), twist(9.0))
    (drift,) = shop.ask(charts)
    assert drift.values == (0.1, 0.2)


def test_readings_are_split_between_and_within_technicians(shop: Shop) -> None:
    for technician, value in (("A", 1.0), ("A", 1.2), ("B", 3.0), ("B", 3.2)):
        shop.session(opened(technician, "Bay 1"), twist(value))
    (found,) = shop.ask(questions.repeatability, "technician", Choice(bay="Bay 1"))
    assert found.components.within == pytest.approx(0.02)
    assert found.components.between == pytest.approx(2.0 - 0.01)
    assert found.components.share_between > 0.98


def test_one_technician_alone_cannot_be_told_from_others(shop: Shop) -> None:
    for value in (1.0, 1.2):
        shop.session(opened("A", "Bay 1"), twist(value))
    assert shop.ask(questions.repeatability, "technician", EVERYBODY) == ()


def test_rates_are_told_by_noise_the_quietest_first(shop: Shop) -> None:
    shop.session(
        opened("A", "Bay 1"),
        heard("p", "number", detail="background -52 dBFS"),
        heard("p", "number", detail="background -51 dBFS"),
        ("refused", {"prompt_id": "p", "ears": "own", "detail": "background -31 dBFS"}),
        ("silent", {"prompt_id": "p"}),
    )
    quiet, loud = [
        rate
        for rate in shop.ask(questions.hearing_rates, EVERYBODY)
        if rate.noise_low_dbfs is not None
    ]
    assert (quiet.noise_low_dbfs, quiet.answers, quiet.refused) == (-55, 2, 0)
    assert (loud.noise_low_dbfs, loud.answers, loud.refused) == (-35, 1, 1)


def test_the_stage_that_takes_the_most_of_the_day_comes_first(shop: Shop) -> None:
    for _ in range(3):
        shop.session(
            opened("A", "Bay 1"),
            ("stage", {"title": "Job card"}),
            ("stage", {"title": "Stand"}),
            *[heard("p", "done")] * 6,
        )
    first, second = shop.ask(questions.stage_times, EVERYBODY)
    assert (first.title, first.median_s, first.sessions) == ("Stand", 60.0, 3)
    assert first.share + second.share == pytest.approx(1.0)


def test_a_session_that_goes_on_is_summarised_anew(shop: Shop) -> None:
    session_id = shop.session(opened("A", "Bay 1"))
    assert shop.ask(charts) == ()
    shop.session(opened("A", "Bay 1"), twist(0.3))
    with open_record(shop.path) as database:
        SqliteLog(database, session_id, ClipStore(shop.path.parent)).append([Entry(*twist(0.4))])
    (drift,) = shop.ask(charts)
    assert drift.values == (0.4, 0.3)


def test_summaries_may_be_deleted_and_come_back(shop: Shop) -> None:
    for value in (0.1, 0.2):
        shop.session(opened("A", "Bay 1"), twist(value))
    before = shop.ask(charts)
    summaries_path(shop.path).unlink()
    assert shop.ask(charts) == before


def test_another_file_with_their_name_is_left_alone(shop: Shop) -> None:
    shop.session(opened("A", "Bay 1"))
    with sqlite3.connect(summaries_path(shop.path)) as other:
        other.execute("CREATE TABLE precious (thing TEXT)")
    other.close()
    with pytest.raises(RecordError, match="it is a database of another program"):
        shop.ask(charts)
    with sqlite3.connect(summaries_path(shop.path)) as other:
        assert other.execute("SELECT name FROM sqlite_schema").fetchall() == [("precious",)]
    other.close()


def test_a_session_taken_out_of_the_record_is_forgotten(shop: Shop, tmp_path: Path) -> None:
    older = tmp_path / "older.record"
    shop.session(opened("A", "Bay 1"), twist(0.1))
    older.write_bytes(shop.path.read_bytes())
    shop.session(opened("A", "Bay 1"), twist(0.2))
    assert shop.ask(questions.session_count, EVERYBODY) == 2
    shop.path.write_bytes(older.read_bytes())
    assert shop.ask(questions.session_count, EVERYBODY) == 1
