"""The camera's and the corner radar's job: rehearsed whole, with slips, in Spanish, reported."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from pathlib import Path

import pytest

from companion.facts.answers import Accepted, Done
from companion.facts.instructions import PlaceBy
from companion.facts.kinds import Entry, Fact
from companion.facts.talking import Said
from companion.facts.workings import Corrected
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.record import MemoryLog, SqliteLog, open_record
from companion.runtime import assembly
from companion.runtime.rehearsing import Rehearsed, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice
from tests.rendered import render_report

JOBS = {
    "forward_camera": "camera_inside",
    "rear_corner_radar": "corner_inside",
    "surround_mats": "mats_inside",
}


class Looking:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


def load(name: str, language: str = "en") -> LoadedJob:
    paths = JobPaths(job=EXAMPLES / f"{name}.yaml", mount=None)
    return assembly.load(paths, assembly.language(language))


def rehearse(
    name: str,
    seed: int,
    slips: Sequence[PlannedSlip] = (),
    language: str = "en",
    side: str = "side_left",
) -> tuple[Rehearsed, list[Fact]]:
    loaded, spoken, looking = load(name, language), assembly.language(language), Looking()
    scenario = Scenario(answers={"side": side})
    rehearsal = make_rehearsal(loaded, seed, slips=slips, scenario=scenario, language=spoken)
    found = run_rehearsal(loaded, spoken, rehearsal, SilentVoice(), MemoryLog(), watcher=looking)
    return found, looking.facts


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", JOBS)
def test_it_ends_inside_and_that_is_true(name: str, language: str) -> None:
    found, facts = rehearse(name, 4, language=language)
    assert found.state.result == JOBS[name]
    assert found.score.truly_inside
    last = [f.body for f in facts if isinstance(f, Entry) and f.kind == "verdict"][-1]
    assert last["answer"] == "inside"
    assert last["sets"] >= 2


@pytest.mark.parametrize("side", ["side_left", "side_right"])
def test_either_corner_is_found(side: str) -> None:
    found, _ = rehearse("rear_corner_radar", 11, side=side)
    assert found.state.result == "corner_inside"
    assert found.score.truly_inside


def test_a_toe_that_was_misread_is_noticed_by_the_second_reading_of_it() -> None:
    slip = PlannedSlip("swaps_digits", 2, "toe_deg")
    found, facts = rehearse("rear_corner_radar", 1537, (slip,), side="side_right")
    read = [f.value for f in facts if isinstance(f, Accepted) and f.reading_id == "toe_right_deg"]
    assert read[0] == "-0.70"
    assert set(read[1:]) == {"-0.07"}
    assert found.score.truly_inside
    assert not found.score.false_inside


def test_a_move_says_what_will_be_read() -> None:
    facts = [fact for seed in (1, 4) for fact in rehearse("forward_camera", seed)[1]]
    said = [fact.text for fact in facts if isinstance(fact, Corrected)]
    assert any(re.search("until its height reads|until the left arm scale reads", t) for t in said)


@pytest.mark.parametrize("name", JOBS)
def test_its_report_says_its_own_result(name: str, tmp_path: Path) -> None:
    loaded, record = load(name), tmp_path / "r.sqlite"
    with open_record(record) as database:
        session = database.create_session()
        rehearsal = make_rehearsal(loaded, 4, scenario=Scenario(answers={"side": "side_left"}))
        log = SqliteLog(database, session)
        run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    page = render_report(record, session)
    assert 'class="result tone-inside"' in page
    assert "inside " in page
    assert 'id="aim"' not in page
    if name == "forward_camera":
        shown = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
        assert not re.search("the radar's aim", shown)


@pytest.mark.parametrize("name", JOBS)
def test_a_part_empty_tank_wants_ballast(name: str) -> None:
    looking = Looking()
    scenario = Scenario(answers={"side": "side_left", "fuel": "not_full"})
    rehearsal = make_rehearsal(load(name), 4, scenario=scenario)
    run_rehearsal(
        load(name), assembly.language(), rehearsal, SilentVoice(), MemoryLog(), watcher=looking
    )
    assert any(isinstance(f, Done) and f.step_id == "ballast" for f in looking.facts)


def test_what_is_put_by_its_tapes_is_read_where_it_belongs() -> None:
    _, facts = rehearse("rear_corner_radar", 11)
    placed = next(
        f.prompt.instruction
        for f in facts
        if isinstance(f, Said)
        and f.prompt is not None
        and isinstance(f.prompt.instruction, PlaceBy)
    )
    first: dict[str, float] = {}
    for fact in facts:
        if isinstance(fact, Accepted):
            first.setdefault(fact.reading_id, float(fact.value))
    for name, value in placed.reads:
        assert first[name] == pytest.approx(float(value), abs=8)


def test_hands_that_swap_two_tapes_are_found_out() -> None:
    slip = PlannedSlip("moves_wrong_way", 1)
    found, facts = rehearse("rear_corner_radar", 11, (slip,))
    assert found.score.slips.get("moves_wrong_way") == 1
    assert any(isinstance(fact, Corrected) for fact in facts)
    assert found.state.result == "corner_inside"
    assert found.score.truly_inside


@pytest.mark.parametrize("name", JOBS)
def test_it_has_what_every_job_needs(name: str) -> None:
    ids = {step.id for step in load(name).plan.steps}
    assert {"look_list", "wheels_straight", "fuel", "faults_before", "faults_after"} <= ids
    assert {"learn", "learning_off", "road_test"} <= ids


@pytest.mark.parametrize("name", JOBS)
def test_it_says_every_caution_that_its_work_calls_for(name: str) -> None:
    """A list of hazards from outside the project; every one of these jobs has all of them."""
    cautions = load(name).plan.files.job.cautions
    written = " ".join(caution.write for caution in cautions)
    for wanted in (
        "parking brake on, wheels chocked, gear as the maker says",
        "never lean under a vehicle that a jack alone holds",
        "Class 2 lasers only. Never stare",
        "beams away from eye height",
        "may transmit while powered",
        "airbags and belt tensioners; keep to the maker's waiting times",
        "Orange cables and their covers are for qualified persons only",
        "stabilised supply and keep sparks away",
        "service information, local codes and licensed practice come first",
        "Only authorised persons may do the work and release",
        "road test is for a qualified, insured driver on a permitted road, with nobody reading",
        "silence is never taken for yes",
    ):
        assert wanted in written, wanted
    assert len(load(name, "es").plan.files.job.cautions) == len(cautions)
    assert "safe" in " ".join(load(name).plan.files.job.not_meant)


@pytest.mark.parametrize(
    ("name", "side", "told"),
    [
        ("rear_corner_radar", "side_left", "straight back to the car's left"),
        ("rear_corner_radar", "side_right", "straight back to the car's right"),
        ("forward_camera", "side_left", "The board belongs 2000 mm ahead"),
        ("surround_mats", "side_left", "The rear mat belongs 1100 mm behind"),
    ],
)
def test_its_report_draws_its_own_target_and_no_stand(
    name: str, side: str, told: str, tmp_path: Path
) -> None:
    loaded, record = load(name), tmp_path / "r.sqlite"
    with open_record(record) as database:
        session = database.create_session()
        rehearsal = make_rehearsal(loaded, 3, scenario=Scenario(answers={"side": side}))
        log = SqliteLog(database, session)
        run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    page = html.unescape(render_report(record, session)).replace("\xa0", " ")
    pictures = re.findall(r'<figure class="plan">.*?</figure>', page, flags=re.DOTALL)
    assert len(pictures) == 1
    assert told in pictures[0]
    assert "stand, last measured" not in pictures[0]
