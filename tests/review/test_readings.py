"""The readings for a spreadsheet: which limits each was held against, and which ones count."""

from __future__ import annotations

from companion.record import Entry, MemoryLog
from companion.report.readings import reading_rows


def level(value: str) -> Entry:
    return Entry("accepted", {"reading_id": "level_mm_per_m", "value": value, "unit": "mm_per_m"})


def held(answer: str) -> Entry:
    body = {"result": "level_mm_per_m", "unit": "mm_per_m", "low": -2.0, "high": 2.0}
    return Entry("decided", {**body, "answer": answer})


def taken_back(why: str) -> Entry:
    return Entry("taken_back", {"step_ids": ["level_mm_per_m"], "why": why})


def rows(*entries: Entry) -> list[tuple[str, float | None, float | None, str, str]]:
    log = MemoryLog("s1")
    log.append(entries)
    return [
        (row.value, row.low, row.high, row.answer, row.set_aside)
        for row in reading_rows(log.events("s1"))
    ]


def test_a_reading_stands_with_its_limits_and_the_answer() -> None:
    arm = Entry("accepted", {"reading_id": "left_arm_mm", "value": "775", "unit": "mm"})
    assert rows(arm, level("0.4"), held("inside")) == [
        ("775", None, None, "", ""),
        ("0.4", -2.0, 2.0, "inside", ""),
    ]


def test_what_was_measured_again_says_so_and_keeps_its_own_answer() -> None:
    again = taken_back("Now the level again.")
    assert rows(level("4.8"), held("outside"), again, level("0.4"), held("inside")) == [
        ("4.8", -2.0, 2.0, "outside", "measured again: Now the level again."),
        ("0.4", -2.0, 2.0, "inside", ""),
    ]


def test_a_reading_taken_back_before_it_was_judged_has_no_answer_of_the_next() -> None:
    back = taken_back("taken back by the technician")
    assert rows(level("4.8"), back, level("0.4"), held("inside")) == [
        ("4.8", None, None, "", "taken back by the technician"),
        ("0.4", -2.0, 2.0, "inside", ""),
    ]


def test_the_jobs_of_a_record_do_not_mix() -> None:
    first, second = MemoryLog("s1"), MemoryLog("s2")
    first.append([level("0.4")])
    second.append([level("0.5"), held("inside")])
    both = [*first.events("s1"), *second.events("s2")]
    assert [(row.session_id, row.answer) for row in reading_rows(both)] == [
        ("s1", ""),
        ("s2", "inside"),
    ]
