"""The report of a whole job: what stands first, what is kept, what it does not claim."""

from __future__ import annotations

import base64
import sqlite3
import time
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from companion.errors import CompanionError, RecordError
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.report.report import write_report
from tests.rendered import render_report


def page_of(recorded: Any) -> str:
    return render_report(recorded.path, recorded.session_id)


def test_the_result_comes_first_then_what_counts_and_the_whole_record_in_an_appendix(
    finished_job: Any,
) -> None:
    page = page_of(finished_job)
    order = ['id="answer"', "What this does not mean", 'id="aim"', 'id="notable"']
    order += ['id="pictures"', 'id="readings"', 'id="cautions"', 'id="integrity"']
    order += ['id="appendix"', 'id="every-reading"', 'id="every-decision"', 'id="timeline"']
    order += ['id="refusals"', 'id="entered"']
    places = [page.index(part) for part in order]
    assert places == sorted(places)


def test_the_result_is_said_in_plain_words_with_what_it_does_not_mean(finished_job: Any) -> None:
    page = page_of(finished_job)
    assert "The radar&#39;s aim is inside the entered limits." in page
    assert "It does not say that driver assistance is safe" in page
    assert "over 99.9\u00a0%" in page


def test_the_aim_before_and_after_has_words_for_its_directions(finished_job: Any) -> None:
    page = page_of(finished_job)
    aim = page[page.index('id="aim"') : page.index('id="notable"')]
    assert "1.37 ±\u00a00.12° right" in aim
    assert "0.05 ±\u00a00.12° left" in aim
    assert "0.82 ±\u00a00.12° up" in aim
    assert "0.03 ±\u00a00.12° down" in aim
    assert "within 0.4°" in aim
    assert "100\u00a0m ahead" in aim
    assert "0.09\u00a0m left" in aim


@pytest.mark.parametrize(
    ("result", "answer", "tone"),
    [
        ("outside", "outside the entered limits", "tone-outside"),
        ("not_settled", "too close to the limits to call", "tone-open"),
        ("tool_inside", "The scan tool reported the aim as inside", "tone-open"),
        ("not_aimed", "Nothing was aimed in this job", "tone-open"),
        ("stopped", "Stopped before there was a result", "tone-open"),
        ("something new", "Ended with “something new”", "tone-open"),
    ],
)
def test_other_endings_are_never_dressed_as_inside(
    recorded: Callable[..., Any],
    job_opening: Callable[..., dict[str, Any]],
    result: str,
    answer: str,
    tone: str,
) -> None:
    def play(shop: Any) -> None:
        shop.put("opened", **job_opening())
        shop.put("finished", result=result)

    page = page_of(recorded(play))
    assert answer in page
    assert f'class="result {tone}"' in page
    assert "is inside the entered limits" not in page


def test_a_stopped_job_says_why_and_an_unfinished_one_says_so(recorded: Callable[..., Any]) -> None:
    page = page_of(recorded(lambda shop: shop.put("stopped", why="the lift was needed")))
    assert "Why: The lift was needed." in page
    assert "Nothing is said here about what the job was for" in page


def test_a_stop_that_was_gone_on_from_is_not_the_end(recorded: Callable[..., Any]) -> None:
    def play(shop: Any) -> None:
        shop.put("stopped", why="the lift was needed")
        shop.put("done", step_id="lift", text="Lower the lift.")

    assert "This session was not finished." in page_of(recorded(play))


def test_a_session_that_just_ends_has_no_result(recorded: Callable[..., Any]) -> None:
    assert "This session was not finished." in page_of(recorded(lambda shop: shop.put("resumed")))


def test_example_files_are_marked_and_a_shops_own_are_not(
    recorded: Callable[..., Any],
    job_opening: Callable[..., dict[str, Any]],
    finished_job: Any,
    tmp_path: Path,
) -> None:
    assert unescape(page_of(finished_job)).count("not a maker's value") == 3
    own = recorded(lambda shop: shop.put("opened", **job_opening(example=False)))
    assert "not a maker" not in page_of(own)


def test_every_accepted_reading_stands_with_value_and_doubt(finished_job: Any) -> None:
    page = page_of(finished_job)
    readings = page[page.index('id="every-reading"') : page.index('id="every-decision"')]
    assert readings.count('<th scope="row">') == 1 + 4 + 3 * 6
    assert "771.0\u00a0mm" in readings
    assert "0.30\u00a0mm" in readings


def test_the_main_part_holds_what_counts_and_leaves_out_what_was_replaced(
    finished_job: Any,
) -> None:
    page = page_of(finished_job)
    main = page[page.index('id="readings"') : page.index('id="cautions"')]
    assert "711.0" not in main  # taken back by the technician
    assert "785.5 ±\u00a00.60\u00a0mm" in main
    assert main.count('class="decision"') == 1  # the stand's second, which replaced the first
    assert ">inside</span>" in main


def test_what_a_supervisor_should_look_at_is_listed_once_with_how_often(
    recorded: Callable[..., Any],
) -> None:
    def play(shop: Any) -> None:
        for _ in range(3):
            shop.put("doubted", step_id="left", why="far from the last reading")
        shop.put("move_judged", kind="wrong_way", screw_ids=["left"])
        shop.put("move_judged", kind="as_planned", screw_ids=["left"])
        shop.put("shimmed", under="rear left wheel", by_mm=2)

    page = page_of(recorded(play))
    notable = page[page.index('id="notable"') : page.index('id="pictures"')]
    assert "far from the last reading (3 times)" in " ".join(notable.split())
    assert "judged wrong way" in notable
    assert "as planned" not in notable
    assert "by_mm: 2, under: rear left wheel" in notable


def test_advice_stands_out_in_short_sentences(recorded: Callable[..., Any]) -> None:
    slip = {"kind": "wrong_way", "screw_ids": ["left_screw"], "probability": 0.5}
    other = {"kind": "wrong_screw", "screw_ids": ["left_screw"], "instead_ids": ["upper_screw"]}

    def play(shop: Any) -> None:
        shop.put("move_judged", kind="ambiguous", names=[slip, {**other, "probability": 0.4}])
        suspects = [{"cause": "the left spot", "percent": 72.0, "error": 10}]
        shop.put("suspected", step_id="beams", suspects=suspects, asked_again=["the left spot"])
        twist = {"value": 5.0, "u": 0.2, "low": -2.0, "high": 2.0}
        shop.put("shims", needed=False, under={}, **twist)
        shop.put("shims", needed=True, under={"the rear left wheel": 10.0}, **twist)
        shop.put("cannot_pass", title="Plate level", u=2.0, unit="mm", half_width=1.0)
        shop.put("aim_decided", answer="too_close", level=0.95, more_sets_to_settle=2)

    page = page_of(recorded(play))
    notable = " ".join(page[page.index('id="notable"') : page.index('id="pictures"')].split())
    assert (
        "judged either wrong way, left screw (50.0 %) "
        "or wrong screw, left screw (the upper screw in its place) (40.0 %)" in notable
    )
    assert "the left spot (72 %); read again: the left spot" in notable
    assert "10 mm under the rear left wheel for a floor twist of 5.00 mm" in notable
    assert notable.count("<b>shims</b>") == 1
    assert "Plate level: standard uncertainty 2.0 mm, limits within 1 mm" in notable
    assert "2 more sets of readings should settle it" in notable


def test_what_spoils_a_result_stands_above_what_is_only_odd(recorded: Callable[..., Any]) -> None:
    def play(shop: Any) -> None:
        for value in range(6):
            shop.put("late", prompt_id=f"p{value}")
        shop.put("move_judged", kind="wrong_way", screw_ids=["left_screw"], probability=0.9)

    page = page_of(recorded(play))
    notable = page[page.index('id="notable"') : page.index('id="pictures"')]
    assert "judged wrong way" in notable
    if "<b>late</b>" in notable:
        assert notable.index("judged wrong way") < notable.index("<b>late</b>")


def test_readings_that_all_count_under_one_title_are_told_apart(
    recorded: Callable[..., Any],
) -> None:
    def play(shop: Any) -> None:
        for value in ("58.1", "58.3"):
            shop.put("accepted", reading_id="echo_db", title="Echo", value=value, unit="db")
        for value in ("11.9", "13.0"):
            shop.put("accepted", reading_id="battery", title="Battery", value=value, unit="volt")
            if value == "11.9":
                shop.put("not_allowed", step_id="battery", why="Set it, then read it again.")

    page = page_of(recorded(play))
    main = page[page.index('id="readings"') : page.index('id="cautions"')]
    assert "Echo, set 1" in main
    assert "Echo, set 2" in main
    assert "13.0" in main
    assert "11.9" not in main


def test_the_moves_of_the_stand_stand_below_the_plan(finished_job: Any) -> None:
    moves = [
        {"quantity": "turn", "by": 0.576},
        {"quantity": "distance", "by": -37.4},
        {"quantity": "height", "by": 38.0},
    ]
    with open_record(finished_job.path, FixedClock()) as database:
        SqliteLog(database, finished_job.session_id).append(
            [Entry("stand_moves", {"moves": moves})]
        )
    page = page_of(finished_job)
    assert (
        "Asked for: turned 0.58° to the left, then moved 37\xa0mm towards the car, "
        "then plate 38\xa0mm up." in page
    )


def test_sound_that_was_let_go_says_when_and_is_not_called_missing(finished_job: Any) -> None:
    clip = min(finished_job.clips.folder.iterdir())
    clip.unlink()
    with open_record(finished_job.path, FixedClock()) as database:
        gone = Entry("clips_expired", {"clips": [clip.stem], "why": "kept for 90 days"})
        (event,) = SqliteLog(database, finished_job.session_id).append([gone])
    page = page_of(finished_job)
    assert f"the sound expired on {event.at_utc[:10]}" in page
    assert "the sound is missing" not in page


def test_sign_offs_and_corrections_made_afterwards_are_told(recorded: Callable[..., Any]) -> None:
    def play(shop: Any) -> None:
        shop.put("resumed")
        shop.put("amended", by="S. Visor", how="pin", event=1, now="Bay 3", why="wrong sheet")
        shop.put("signed_off", by="S. Visor", role="supervisor", how="pin", events=2, head="0" * 64)

    page = page_of(recorded(play))
    assert "Signed off: <bdi>S. Visor (supervisor) signed off events 1 to 2</bdi>" in page
    assert (
        "instead of event 1: Bay 3"
        in page[page.index('id="notable"') : page.index('id="pictures"')]
    )
    assert "by nobody yet" in page_of(recorded_unsigned(recorded))


def recorded_unsigned(recorded: Callable[..., Any]) -> Any:
    return recorded(lambda shop: shop.put("resumed"))


def test_a_reading_taken_back_stays_struck_out_with_its_reason(finished_job: Any) -> None:
    page = page_of(finished_job)
    struck = page.index('<tr class="struck">')
    assert "711.0" in page[struck : struck + 400]
    assert ">taken back by the technician<" in page[struck : struck + 400]
    assert page.count('class="struck"') == 1


def test_every_utterance_is_there_with_its_sound_inside_the_page(finished_job: Any) -> None:
    page = page_of(finished_job)
    for clip in finished_job.clips.folder.iterdir():
        assert base64.b64encode(clip.read_bytes()).decode() in page
    assert "“seven eleven”" in page
    assert "margin 0.4 under 1.0" in page


def test_refusals_silences_and_cautions_are_listed(finished_job: Any) -> None:
    page = page_of(finished_job)
    refusals = page[page.index('id="refusals"') : page.index('id="entered"')]
    assert "2 times the companion could not accept" in refusals
    assert "not sure enough: “seven eleven”" in refusals
    assert "no answer in 8 seconds" in refusals
    cautions = page[page.index('id="cautions"') : page.index('id="integrity"')]
    assert "Keep the bonnet propped" in cautions


def test_a_sound_record_says_so_beside_its_head_hash(finished_job: Any) -> None:
    page = page_of(finished_job)
    integrity = page[page.index('id="integrity"') :]
    assert "follow one another unchanged" in integrity
    assert finished_job.head in integrity.replace(" ", "")
    assert "broken-record" not in integrity


def test_a_changed_record_says_which_event_is_broken(finished_job: Any) -> None:
    stranger = sqlite3.connect(finished_job.path)
    stranger.execute("DROP TRIGGER event_is_never_changed")
    (seq,) = stranger.execute(
        "SELECT MIN(seq) FROM event WHERE kind = 'accepted' AND body LIKE '%771.0%'"
    ).fetchone()
    stranger.execute(
        "UPDATE event SET body = replace(body, '771.0', '775.0') WHERE seq = ?", (seq,)
    )
    stranger.commit()
    stranger.close()
    page = page_of(finished_job)
    assert "No: the record is not as it was written." in page
    assert f"event {seq}: its content is not what its hash was made of" in page
    assert "follow one another unchanged" not in page


def test_missing_and_changed_sounds_are_named_and_not_played(finished_job: Any) -> None:
    missing, changed = sorted(finished_job.clips.folder.iterdir())[:2]
    missing.unlink()
    changed.write_bytes(changed.read_bytes() + b"x")
    page = page_of(finished_job)
    assert "the sound is missing" in page
    assert "was changed since it was kept" in page
    assert base64.b64encode(changed.read_bytes()).decode() not in page
    assert f"its clip {missing.stem} is gone" in page
    assert f"its clip {changed.stem} was changed" in page


def test_a_clock_that_nothing_vouched_for_is_marked(finished_job: Any, tmp_path: Path) -> None:
    assert "nothing vouched for" not in page_of(finished_job)
    with open_record(finished_job.path, FixedClock(trusted=False)) as database:
        SqliteLog(database, finished_job.session_id).append([Entry("resumed", {})])
    assert "by a clock that nothing vouched for" in page_of(finished_job)


def test_the_report_is_written_whole_or_not_at_all(finished_job: Any, tmp_path: Path) -> None:
    out = tmp_path / "report.html"
    assert write_report(finished_job.path, finished_job.session_id, out) == out
    assert out.read_text("utf-8") == page_of(finished_job)
    with pytest.raises(CompanionError, match="cannot be written"):
        write_report(finished_job.path, finished_job.session_id, tmp_path / "no" / "report.html")
    assert [path for path in tmp_path.iterdir() if path.name.startswith(".part")] == []


def test_an_unknown_session_or_file_is_an_error(finished_job: Any, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no session 'other'"):
        render_report(finished_job.path, "other")
    with pytest.raises(RecordError, match="no such record file"):
        render_report(tmp_path / "nowhere.record", "other")


def test_five_hundred_events_take_seconds_and_not_minutes(
    recorded: Callable[..., Any],
) -> None:
    def play(shop: Any) -> None:
        for place in range(100):
            shop.read(f"r{place}", f"Reading {place}", f"{place}.5", "mm", 0.3)

    long_job = recorded(play)
    started = time.process_time()
    page = page_of(long_job)
    assert time.process_time() - started < 5.0
    assert page.count('id="event-') == 500


def test_the_shares_of_the_doubt_are_named_as_the_readings_are(
    recorded: Callable[..., Any],
) -> None:
    budget = [["left_arm #2", 71.6], ["turn.path_mm", 28.0], ["nothing", 0.1]]
    outputs = {"aim_yaw_deg": {"value": 0.1, "u": 0.05, "unit": "deg", "budget": budget}}

    def play(shop: Any) -> None:
        shop.read("left_arm", "Left arm scale", "771", "mm", 0.3)
        shop.put("computed", step_id="aim", formula="aim_error", inputs={}, outputs=outputs)

    page = page_of(recorded(play))
    assert "Aim sideways: Left arm scale 72\u00a0%, Path 28\u00a0%." in page


def test_a_reading_shows_the_limits_it_was_later_held_against(recorded: Callable[..., Any]) -> None:
    def play(shop: Any) -> None:
        shop.read("plumb_mm_per_m", "Plate plumb", "-0.4", "mm_per_m", 0.1, direction="towards")
        shop.decide("plumb_ok", "plumb_mm_per_m", -0.4, 0.1, 1.0)

    page = page_of(recorded(play))
    readings = page[page.index('id="every-reading"') : page.index('id="every-decision"')]
    assert "0.4\u00a0mm/m towards" in readings
    assert "within 1\u00a0mm/m" in readings
