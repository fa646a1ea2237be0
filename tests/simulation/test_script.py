"""The rehearsal file beside a job: each reading its own scale, clear errors, and none at all."""

from __future__ import annotations

import math
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from companion.errors import FileProblem
from companion.facts.answers import Accepted
from companion.facts.instructions import MoveStand, PlaceShim, StandQuantity, TurnScrew
from companion.facts.talking import Said
from companion.facts.workings import Computed
from companion.job.kind import JobFiles
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal, script_of
from companion.simulation.scenario import Scenario
from companion.simulation.script import make_script
from companion.simulation.script_file import path_beside
from companion.simulation.slips import PlannedSlip
from companion.speech.silent import SilentVoice
from companion.steps.question.model import Question
from companion.steps.taken_over.model import TakingOver
from companion.steps.visit_end.model import VisitEnd
from tests.simulation.prompting import shipped
from tests.spoken_numbers import amount_in, number_words_in

SHIPPED = EXAMPLES / "front_radar.yaml"


@pytest.mark.parametrize("mount", ["mount.yaml", "mount_three_screws.yaml"])
def test_every_reading_of_the_shipped_job_has_a_scale_of_its_own(mount: str) -> None:
    loaded = assembly.load(JobPaths(mount=EXAMPLES / mount))
    script = script_of(loaded)
    seen: dict[tuple[object, ...], str] = {}
    for name, reads in script.readings.items():
        step = loaded.plan.step(name)
        assert reads.typical is None, name
        place = (reads.name, reads.where, reads.before)
        assert place not in seen, f"{name} and {seen.get(place)} read alike"
        seen[place] = name
        assert float(reads.scale.resolution) == step.resolution, name  # type: ignore[attr-defined]
        for side in ("left", "right"):
            if side in reads.where.split():
                assert side in name.split("_")


def test_every_question_of_the_shipped_job_is_answered_by_its_file() -> None:
    """The first choice answers what the file leaves out: none is left to it here."""
    told = yaml.safe_load(path_beside(SHIPPED).read_text(encoding="utf-8"))["answers"]
    asked = {
        step.id
        for step in shipped().plan.steps
        if isinstance(step, Question | TakingOver | VisitEnd)
    }
    assert set(told) == asked
    script = script_of(shipped())
    assert set(script.answers) == asked
    assert list(script.keeps_sound) == ["consent"]


@pytest.fixture
def beside(tmp_path: Path) -> Callable[[str, str], LoadedJob]:
    """The shipped job with a changed rehearsal file beside it."""

    def make(old: str, new: str) -> LoadedJob:
        job = tmp_path / SHIPPED.name
        shutil.copy(SHIPPED, job)
        told = path_beside(SHIPPED).read_text(encoding="utf-8")
        assert old in told
        path_beside(job).write_text(told.replace(old, new), encoding="utf-8")
        return assembly.load(JobPaths(job=job))

    return make


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("job: front_radar", "job: other", "found 'other'; wanted: 'front_radar'"),
        ("battery_volt:", "battery_volts:", "readings, battery_volts: found no such reading"),
        ("scale: battery", "scale: batery", "found scale 'batery'; wanted: "),
        ("scale: battery", "scale: temperature", "found scale 'temperature' in celsius"),
        ("scale: tool_yaw", "scale: tool_elevation", "in deg left or right"),
        ("scale: spot, at: left", "scale: spot, at: front", "found at 'front'; wanted: 'left'"),
        ("line_laser:", "laser_line:", "acts, laser_line: found no such step"),
        ("do: zero_plate", "do: zero_plates", "zero_plates"),
        ("reason: bumper", "reason: bonnet", "answers, reason: found 'bonnet'; wanted: replaced"),
        ("fuel: full", "fuels: full", "answers, fuels: found no such question"),
        ("kind: rehearsal", "kind: rehearsal\ncolour: blue", "colour"),
    ],
)
def test_what_does_not_fit_is_told_with_what_is_wanted(
    beside: Callable[[str, str], LoadedJob], old: str, new: str, said: str
) -> None:
    with pytest.raises(FileProblem) as refused:
        script_of(beside(old, new))
    assert said in str(refused.value)
    assert "front_radar.rehearsal.yaml" in str(refused.value)


def test_a_job_without_such_a_file_is_rehearsed_with_typical_values(tmp_path: Path) -> None:
    """Echo levels as typical fit an aim that is exactly right: it ends inside, unsimulated."""
    job = tmp_path / "own.yaml"
    shutil.copy(SHIPPED, job)
    loaded = assembly.load(JobPaths(job=job))
    assert all(reads.typical is not None for reads in script_of(loaded).readings.values())
    answers = {"aim_route": "tool_angle", "toe_route": "degrees", "fuel": "full"}
    rehearsal = make_rehearsal(loaded, 1, scenario=Scenario(answers=answers))
    log = MemoryLog("typical")
    run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    facts = [event.fact for event in log.events("typical")]
    taken = {fact.reading_id: fact.value for fact in facts if hasattr(fact, "reading_id")}
    assert taken["battery_volt"] == "12.5"
    assert taken["rule_stand_mm"] == "500"


def test_a_job_of_its_own_is_rehearsed_to_its_end(tmp_path: Path) -> None:
    job = tmp_path / "own.yaml"
    shutil.copy(Path(__file__).parents[1] / "runtime" / "short_job.yaml", job)
    loaded = assembly.load(JobPaths(job=job))
    rehearsal = make_rehearsal(loaded, 1)
    log = MemoryLog("own")
    ended = run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    assert ended.score.finished
    assert ended.state.result is not None


def test_every_instruction_is_spoken_as_it_is_told() -> None:
    """A judge that shares nothing: an ear for plain English hears in the sentence what the fact
    tells. The technician goes by the fact; a person in a bay goes by the sentence."""
    heard = seen = 0
    for seed in range(1, 9):
        loaded = shipped()
        route = ("echo_levels", "tool_angle", "tool_turns")[seed % 3]
        slips = (PlannedSlip("wrong_amount", 2), PlannedSlip("moves_wrong_way", 3))
        scenario = Scenario(answers={"aim_route": route})
        rehearsal = make_rehearsal(loaded, seed, slips=slips, spread=HARDER, scenario=scenario)
        log = MemoryLog("judge")
        run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
        names = {screw.id: screw.name for screw in rehearsal.setting.mount.screws}
        files = loaded.plan.files
        known: dict[str, float] = {}
        for event in log.events("judge"):
            fact = event.fact
            if isinstance(fact, Accepted):
                known[fact.reading_id] = float(fact.value)
            elif isinstance(fact, Computed):
                known |= {
                    name: out.value for name, out in fact.outputs.items() if out.value is not None
                }
            if not isinstance(fact, Said) or fact.prompt is None or fact.prompt.instruction is None:
                continue
            heard += 1
            told, spoken = fact.prompt.instruction, fact.ask or ""
            if isinstance(told, MoveStand) and ", until " in spoken:
                seen += 1
                assert_seen(spoken, told, known, files)
            else:
                assert_says(spoken, told, names)
            assert_back(fact)
    assert heard > 40
    assert seen > 20


def assert_seen(spoken: str, told: MoveStand, known: dict[str, float], files: JobFiles) -> None:
    """What is read once it is moved, on paper: where it belongs, or that far from what was read."""
    move, _, sight = spoken.lower().removesuffix(".").partition(", until ")
    assert told.direction in move.split(), spoken
    amount = amount_in(number_words_in(sight))
    assert amount is not None, spoken
    reads, size = float(amount), float(told.amount)
    match told.quantity:
        case StandQuantity.LEVEL | StandQuantity.PLUMB as quantity:
            assert reads == 0, spoken
            assert size == abs(known[f"{quantity}_mm_per_m"]), spoken
        case StandQuantity.DISTANCE:
            assert reads == files.bay.stand.plate_distance_mm, spoken
        case StandQuantity.HEIGHT:
            assert reads == files.vehicle.sensor_height_mm, spoken
            assert size == abs(known["plate_height_mm"] - reads), spoken
        case StandQuantity.SIDEWAYS:
            wanted = known["arm_left_mm"] + known["stand_offset_left_mm"]
            assert reads == pytest.approx(wanted, abs=0.51), spoken
        case StandQuantity.TURN:
            # The mirror turns its beam by twice as much; a beam to the left counts above zero.
            beam_mm = 2 * files.bay.stand.laser_path_mm * math.radians(known["stand_turn_deg"])
            to_left = {"left": reads, "right": -reads}.get(sight.split()[-1], reads)
            assert to_left == pytest.approx(known["spot_left_mm"] + beam_mm, abs=1.0), spoken
        case _:
            pytest.fail(spoken)


def assert_says(
    spoken: str, told: MoveStand | TurnScrew | PlaceShim, names: dict[str, str]
) -> None:
    words = spoken.lower().replace(",", "").replace(".", "").split()
    amount = amount_in(number_words_in(spoken))
    match told:
        case MoveStand(_, direction, size, _):
            assert amount == size, spoken
            assert direction in words, spoken
        case TurnScrew(screw_id, sense, turns):
            assert amount == turns, spoken
            assert sense in words, spoken
            assert names[screw_id].lower() in spoken.lower()
        case PlaceShim(reading_id, thickness_mm):
            assert amount == thickness_mm, spoken
            assert all(part in words for part in reading_id.split("_")[1:-1]), spoken


def assert_back(said: Said) -> None:
    told = said.prompt.said_back if said.prompt is not None else None
    if told is not None and told.value is not None and told.unit != "turns":
        assert str(amount_in(number_words_in(said.ask or ""))) == told.value
        assert told.direction is None or told.direction in (said.ask or "").lower()


def test_the_first_choice_answers_where_nothing_is_told() -> None:
    script = make_script(shipped().plan)
    assert script.answers["reason"] == "replaced"
    assert script.keeps_sound["consent"] == ("words_only", "keep_sound")
    assert replace(script).acts == {}
