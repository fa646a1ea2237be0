"""What is asked once for a car is asked at its last sensor, and never taken for done before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from companion.dialogue.events import Heard
from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode, State
from companion.errors import FileProblem
from companion.facts.answers import Answered, Done
from companion.facts.car import Car
from companion.facts.ending import Finished
from companion.facts.kinds import Fact
from companion.facts.meanings import Choice, Command, Yes
from companion.facts.opening import NextSensor, Opened, Resumed
from companion.facts.talking import How, Refused, Said, Silent
from companion.facts.visit_end import Sensor, at_the_end, still_to_do, to_come
from companion.job.loader import EXAMPLES, VISIT_END, JobPaths, LoadedJob
from companion.recognition.port import SoundEnded
from companion.record import Database, FixedClock, MemoryLog, SqliteLog
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import Visit, find_visit, jobs_of, keep_sensors, open_visit
from companion.report.visit_left import left, left_of
from companion.report.wording import wording_in
from companion.runtime import assembly
from companion.runtime.loop import OfVisit, Room, replay_record, resume_job, start_job
from companion.runtime.rehearsing import TECHNICIAN, make_rehearsal, run_rehearsal
from companion.runtime.taking_over import Validity
from companion.runtime.visiting import next_sensor, next_sensor_now, of_visit
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from companion.steps.visit_end.run import NEXT_SENSOR
from tests.scripted_ears import ScriptedEars

AT_THE_END = {"faults_after", "switching_off", "road_test"}
MATS, CORNER = Sensor("surround_mats", "Mats"), Sensor("rear_corner_radar", "Corner")
SMALL = """\
kind: job
id: small
name: A small job
example: true
cautions: [{say: Brakes on., write: Brakes on.}]
stages:
  - id: all
    title: All of it
    steps:
      - step: question
        id: faults_before
        title: Fault codes before
        ask: Codes.
        choices: [no_faults, aim_fault_only]
      - step: visit_end
        id: visit_end
        title: Another sensor
        ask: This car.
        reply: Next sensor, or all complete?
        own_code: {question: faults_before, answered: aim_fault_only}
      - step: question
        id: faults_after
        title: Fault codes after
        when: {question: visit_end, answered: [last_sensor, own_code_first]}
        ask: Codes again.
        choices: [no_faults, aim_fault_only]
      - step: instruction
        id: switching_off
        title: Switching off
        when: {question: visit_end, answered: last_sensor}
        say: Ignition off.
  - id: result
    title: Result
    steps:
      - {step: finish, id: finish, say_signed: Sign off.}
"""


@pytest.fixture(scope="module")
def jobs() -> dict[str, LoadedJob]:
    names = ("surround_mats", "rear_corner_radar", "visit_end")
    return {name: assembly.load(JobPaths(job=EXAMPLES / f"{name}.yaml")) for name in names}


@pytest.fixture
def small(tmp_path: Path) -> LoadedJob:
    file = tmp_path / "small.yaml"
    file.write_text(SMALL, "utf-8")
    return assembly.load(JobPaths(job=file))


@dataclass
class Shop:
    """A record with one visit."""

    database: Database
    visit: Visit

    def listing(self, *sensors: Sensor) -> Shop:
        return Shop(self.database, keep_sensors(self.database, self.visit, sensors))

    def job(self, loaded: LoadedJob, was_there: bool = True, **answers: str) -> tuple[Fact, ...]:
        """The facts of one more job of the visit."""
        language = assembly.language()
        belongs = of_visit(
            self.database,
            self.visit,
            loaded,
            language,
            Validity(),
            rehearsal=True,
            technician=TECHNICIAN,
            was_there=was_there,
        )
        session = self.database.create_session()
        rehearsal = make_rehearsal(loaded, seed=3, scenario=Scenario(answers=answers))
        log = SqliteLog(self.database, session)
        run_rehearsal(loaded, language, rehearsal, SilentVoice(), log, visit=belongs)
        return tuple(event.fact for event in self.database.events(session))

    @property
    def undone(self) -> set[str]:
        return {one.step_id for one in still_to_do(jobs_of(self.database, self.visit.id))}


@pytest.fixture
def shop(day: tuple[Database, FixedClock]) -> Shop:
    database, _ = day
    return Shop(database, open_visit(database, CarStore(cars_folder(database.path)), Car()))


def asked(facts: tuple[Fact, ...]) -> set[str]:
    """What of the visit's end was answered in this job."""
    found = {f.step_id for f in facts if isinstance(f, Answered | Done)}
    return found & AT_THE_END


def said(facts: tuple[Fact, ...]) -> str:
    return "\n".join(f.text for f in facts if isinstance(f, Said))


def test_a_job_alone_asks_all_of_it(shop: Shop, jobs: dict[str, LoadedJob]) -> None:
    facts = shop.job(jobs["surround_mats"], was_there=False)
    assert asked(facts) == AT_THE_END
    assert isinstance(facts[0], Opened)
    assert facts[0].next_sensor is None
    assert {one.step_id for one in at_the_end(facts[0])} == AT_THE_END
    assert "Next sensor, or all complete?" not in said(facts)
    assert shop.undone == set()


@pytest.mark.parametrize("order", [(MATS, CORNER), (CORNER, MATS)])
def test_of_two_sensors_the_last_asks_it_whatever_the_order(
    shop: Shop, jobs: dict[str, LoadedJob], order: tuple[Sensor, Sensor]
) -> None:
    # Listed the other way round: which is done last is what counts.
    shop = shop.listing(*reversed(order))
    first = shop.job(jobs[order[0].job])
    assert asked(first) == set()
    assert "At the last sensor: Fault codes after, Switching lasers off" in said(first)
    assert shop.undone == AT_THE_END
    found = left_of(shop.database, shop.visit)
    assert found.sensors == (order[1].name,)
    second = shop.job(jobs[order[1].job])
    assert "Not done yet: Fault codes after, Switching lasers off" in said(second)
    assert asked(second) == AT_THE_END
    assert "At the last sensor" not in said(second)
    assert (shop.undone, left_of(shop.database, shop.visit).sensors) == (set(), ())


def test_brake_and_chocks_hold_while_the_car_stands(shop: Shop, jobs: dict[str, LoadedJob]) -> None:
    first, second = shop.job(jobs["surround_mats"]), shop.job(jobs["rear_corner_radar"])
    assert "Brake on, wheels chocked." in said(first)
    assert "Brake on, wheels chocked." not in said(second)
    assert "Clear everything shiny" in said(second), "who stands behind the car is looked for anew"
    assert "Clear area" not in said(second), "what is looked for anew is not told as taken over"
    moved = shop.job(jobs["surround_mats"], taken_over="was_moved")
    assert "Brake on, wheels chocked." in said(moved)


def test_a_code_of_this_sensor_s_own_is_seen_to_be_gone_before_the_next(
    shop: Shop, jobs: dict[str, LoadedJob]
) -> None:
    first = shop.listing(MATS, CORNER).job(jobs["surround_mats"], faults_before="aim_fault_only")
    assert asked(first) == {"faults_after"}
    assert "At the last sensor: Switching lasers off and Road" in said(first)
    # And all codes are read once more at the end.
    second = shop.listing(MATS, CORNER).job(jobs["rear_corner_radar"])
    assert asked(second) == AT_THE_END


def test_without_a_list_it_is_asked_and_never_taken_for_granted(
    shop: Shop, jobs: dict[str, LoadedJob]
) -> None:
    first = shop.job(jobs["surround_mats"], visit_end="sensor_follows")
    assert "This car. Next sensor, or all complete?" in said(first)
    assert asked(first) == set()
    assert shop.undone == AT_THE_END
    last = shop.job(jobs["rear_corner_radar"], visit_end="last_sensor")
    assert asked(last) == AT_THE_END
    assert shop.undone == set()


def test_what_nobody_did_is_done_by_its_own_job(shop: Shop, jobs: dict[str, LoadedJob]) -> None:
    shop.job(jobs["surround_mats"], visit_end="sensor_follows")
    assert shop.undone == AT_THE_END
    end = shop.job(jobs["visit_end"])
    assert asked(end) == AT_THE_END
    assert shop.undone == set()
    # Work on the car behind it makes all of it due anew.
    shop.job(jobs["rear_corner_radar"], visit_end="sensor_follows")
    assert shop.undone == AT_THE_END


def test_a_job_that_goes_on_behind_the_last_sensor_makes_the_end_due_anew(
    shop: Shop, jobs: dict[str, LoadedJob]
) -> None:
    shop = shop.listing(MATS, CORNER)
    shop.job(jobs["surround_mats"])
    (row,) = shop.database.read("SELECT id FROM session ORDER BY rowid DESC LIMIT 1", ())
    shop.job(jobs["rear_corner_radar"])
    assert shop.undone == set()
    resumed = Done("goes_on", "Something of the first sensor once more.")
    SqliteLog(shop.database, row["id"]).append([resumed])
    assert shop.undone == AT_THE_END


def test_a_clock_that_was_put_back_does_not_make_later_work_the_earlier(
    shop: Shop, jobs: dict[str, LoadedJob], day: tuple[Database, FixedClock]
) -> None:
    shop.job(jobs["surround_mats"], visit_end="sensor_follows")
    shop.job(jobs["visit_end"])
    assert shop.undone == set()
    _, clock = day
    clock.advance(-86_400_000)
    shop.job(jobs["rear_corner_radar"], visit_end="sensor_follows")
    assert shop.undone == AT_THE_END


def test_a_radar_on_each_side_is_two_sensors() -> None:
    listed = (CORNER, CORNER, MATS)
    assert to_come(listed, [_ended("rear_corner_radar")]) == (CORNER, MATS)
    assert to_come(listed, [_ended("rear_corner_radar", "stopped")]) == listed
    assert to_come(listed, [_ended("surround_mats"), _ended("own_job")]) == (CORNER, CORNER)


@pytest.mark.parametrize(
    ("done", "now", "known"),
    [
        ([], "surround_mats", "follows"),
        ([("rear_corner_radar", "corner_inside")], "surround_mats", "last"),
        # Stopped: whether it is still to be set, somebody has to say.
        ([("rear_corner_radar", "stopped")], "surround_mats", "asked"),
        # Done once more, after all were done.
        ([("rear_corner_radar", ""), ("surround_mats", "")], "surround_mats", "last"),
        # One that is not on the list.
        ([("rear_corner_radar", "")], "front_radar", "follows"),
    ],
)
def test_what_is_known_of_a_next_sensor(
    shop: Shop, done: list[tuple[str, str]], now: str, known: str
) -> None:
    visit = shop.listing(MATS, CORNER).visit
    assert next_sensor(visit, now, [_ended(*one) for one in done]).known == known
    assert find_visit(shop.database, "last").sensors == (MATS, CORNER)


@pytest.mark.parametrize(
    ("done", "now", "known"),
    [
        ([], CORNER.job, "follows"),
        # The other side, or the same once more: somebody has to say.
        ([(CORNER.job, "corner_inside")], CORNER.job, "asked"),
        ([(CORNER.job, "corner_inside"), (CORNER.job, "corner_inside")], MATS.job, "asked"),
        ([(MATS.job, "mats_inside"), (CORNER.job, "corner_inside")], CORNER.job, "asked"),
        ([(CORNER.job, "corner_inside")], MATS.job, "follows"),
    ],
)
def test_of_one_that_is_listed_twice_nobody_takes_a_repetition_for_the_other(
    shop: Shop, done: list[tuple[str, str]], now: str, known: str
) -> None:
    listed = (CORNER, CORNER, MATS) if now == MATS.job else (CORNER, CORNER)
    visit = shop.listing(*listed).visit
    assert next_sensor(visit, now, [_ended(*one) for one in done]).known == known


def test_one_that_was_set_twice_over_is_still_to_come_where_somebody_said_so() -> None:
    visit_end = {"stages": [{"steps": [{"step": "visit_end", "id": "end"}, {"step": "aim"}]}]}

    def corner(answer: str) -> tuple[Fact, ...]:
        job = Opened(job={"id": CORNER.job, **visit_end})
        return (job, Answered("end", "", answer), *_ended(CORNER.job)[1:])

    once = _ended(CORNER.job)
    assert to_come((CORNER, CORNER), [once, corner("last_sensor")]) == ()
    repeated = [once, corner("sensor_follows")]
    assert to_come((CORNER, CORNER), repeated) == (CORNER,)
    assert to_come((CORNER, CORNER), [*repeated, corner("last_sensor")]) == ()
    # Of one that is listed once it can only be one that is not on the list.
    assert to_come((CORNER,), [corner("sensor_follows")]) == ()


@pytest.mark.parametrize("job", ["front_radar", "forward_camera", CORNER.job, MATS.job])
def test_a_sensor_that_ended_not_aimed_is_still_to_be_set(job: str) -> None:
    """By the shipped files: what they name where nothing was set, and what the arithmetic does."""
    files = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml")).plan.files.job
    opened = Opened(job=files.model_dump(mode="json"))
    finish = next(
        s for stage in opened.job["stages"] for s in stage["steps"] if s["id"] == "finish"
    )
    nothing = (finish.get("otherwise") or {}).get("result", "not_aimed")
    listed = (Sensor(job, "This sensor"),)

    def after(result: str) -> tuple[Sensor, ...]:
        return to_come(listed, [(opened, Finished(result, None, None, ()))])

    for result in (nothing, "stopped", "outside", "not_settled"):
        assert after(result) == listed, result
    ends = {"front_radar": "inside", "forward_camera": "camera_inside"}
    assert after(ends.get(job, "corner_inside" if job == CORNER.job else "mats_inside")) == ()
    assert after("tool_inside") == ()


def test_a_list_of_things_to_do_is_done_at_its_end() -> None:
    steps = [{"step": "instruction", "id": "look"}, {"step": "finish", "id": "finish"}]
    opened = Opened(job={"id": "own_job", "stages": [{"steps": steps}]})
    done = (opened, Finished("not_aimed", None, None, ()))
    assert to_come((Sensor("own_job", "My own"),), [done]) == ()


def test_a_job_that_goes_on_knows_what_was_set_meanwhile(
    shop: Shop, jobs: dict[str, LoadedJob]
) -> None:
    """Begun as the first of two, it rests while the other is set; then it is the last."""
    shop = shop.listing(MATS, CORNER)
    first = shop.job(jobs["surround_mats"])
    assert asked(first) == set()
    session = next(shop.database.newest_first()).session_id
    stored = list(shop.database.events(session))
    assert next_sensor_now(shop.database, stored, session) == NextSensor("follows")
    shop.job(jobs["rear_corner_radar"])
    now = next_sensor_now(shop.database, stored, session)
    assert now == NextSensor("last")


def test_what_is_known_anew_is_settled_anew(small: LoadedJob) -> None:
    language = assembly.language()
    log = MemoryLog()
    talk = Talk(small, NextSensor("follows")).choose("no_faults")
    assert (talk.at, talk.state.answers["visit_end"]) == ("finish", "sensor_follows")
    visit = OfVisit("20310506-1", next_sensor=NextSensor("follows"))
    with pytest.raises(SoundEnded):
        start_job(_room(log, "none stored", "yes"), small, language, visit=visit)
    first = tuple(log.events("memory"))
    assert replay_record(small, language, first).answers["visit_end"] == "sensor_follows"
    with pytest.raises(SoundEnded):
        resume_job(_room(log), small, language, first, next_sensor=NextSensor("last"))
    state = replay_record(small, language, tuple(log.events("memory")))
    assert state.prompt is not None
    assert (state.prompt.step_id, state.answers["visit_end"]) == ("faults_after", "last_sensor")
    # A second break in which nothing more was learned keeps it.
    with pytest.raises(SoundEnded):
        resume_job(_room(log), small, language, tuple(log.events("memory")))
    assert (
        replay_record(small, language, tuple(log.events("memory"))).answers["visit_end"]
        == "last_sensor"
    )


def test_what_somebody_answered_stands_after_a_break(small: LoadedJob) -> None:
    talk = Talk(small, NextSensor("asked")).choose("no_faults").choose("sensor_follows")
    talk.state = replace(talk.state, kept={NEXT_SENSOR: NextSensor("last")})
    talk.do(Resumed())
    assert talk.state.answers["visit_end"] == "sensor_follows"


def _ended(job: str, result: str = "") -> tuple[Fact, ...]:
    finished = Finished(result or "inside", yaw=None, elevation=None, misses_m=())
    return (Opened(job={"id": job}), finished)


def test_rehearsals_count_among_themselves() -> None:
    real = (Opened(job={"id": MATS.job}), *_ended(MATS.job)[1:])
    rehearsed = (replace(real[0], rehearsal=True), *real[1:])
    assert left((MATS,), [rehearsed]).sensors == ()
    begun = (Opened(job={"id": CORNER.job}),)
    assert left((MATS,), [rehearsed, begun]).sensors == (MATS.name,)


def _room(log: MemoryLog, *answers: str) -> Room:
    """Somebody gives these answers, and then the power goes."""
    return Room(ScriptedEars(answers), SilentVoice(), log, None, NobodyWatching())


class NobodyWatching:
    def fact(self, fact: Fact) -> None:
        pass


class Talk:
    """The small job by its events."""

    def __init__(self, loaded: LoadedJob, known: NextSensor | None) -> None:
        state = begin(loaded.plan, assembly.language())
        self.state: State = replace(state, kept={NEXT_SENSOR: known}) if known else state
        self.do(Opened())

    def do(self, event: object) -> Talk:
        self.state, _ = step(self.state, event)  # type: ignore[arg-type]
        return self

    @property
    def at(self) -> str:
        assert self.state.prompt is not None
        return self.state.prompt.step_id

    @property
    def prompt(self) -> str:
        assert self.state.prompt is not None
        return self.state.prompt.id

    def choose(self, choice: str) -> Talk:
        return self.do(Heard(self.prompt, Choice(choice))).do(Heard(self.prompt, Yes()))


def test_silence_and_mumbling_say_neither(small: LoadedJob) -> None:
    talk = Talk(small, NextSensor("asked")).choose("no_faults")
    assert talk.at == "visit_end"
    for _ in range(2):
        talk.do(Silent(talk.prompt, 30.0))
        assert "visit_end" not in talk.state.answers
    talk = Talk(small, NextSensor("asked")).choose("no_faults")
    for _ in range(4):
        talk.do(Refused(talk.prompt, "unsure", How("mumble")))
        assert (talk.at, talk.state.answers.get("visit_end")) == ("visit_end", None)
    # Said, and no yes to it.
    talk.do(Heard(talk.prompt, Choice("sensor_follows"))).do(Silent(talk.prompt, 30.0))
    assert "visit_end" not in talk.state.answers
    assert talk.state.mode is not Mode.CLOSED


def test_who_goes_back_can_say_it_otherwise(small: LoadedJob) -> None:
    talk = Talk(small, NextSensor("asked")).choose("no_faults").choose("sensor_follows")
    assert talk.at == "finish"
    talk.do(Heard(talk.prompt, Command("go_back")))
    assert talk.at == "visit_end"
    assert talk.choose("last_sensor").at == "faults_after"


@pytest.mark.parametrize("known", [NextSensor("follows"), NextSensor("asked")])
def test_an_own_code_told_after_going_back_is_looked_for(
    small: LoadedJob, known: NextSensor
) -> None:
    talk = Talk(small, known).choose("no_faults")
    if known.known == "asked":
        talk.choose("sensor_follows")
    assert talk.at == "finish"
    while talk.at != "faults_before":
        talk.do(Heard(talk.prompt, Command("go_back")))
    talk.choose("aim_fault_only")
    if known.known == "asked":
        talk.choose("sensor_follows")
    assert talk.at == "faults_after"
    assert talk.choose("no_faults").at == "finish"


def test_it_goes_on_after_a_power_cut(shop: Shop, jobs: dict[str, LoadedJob]) -> None:
    mats = jobs["surround_mats"]
    shop.listing(MATS, CORNER).job(mats)
    session = next(shop.database.newest_first()).session_id
    stored = [e for e in shop.database.events(session) if e.kind != "finished"]
    place = max(i for i, e in enumerate(stored) if e.kind == "heard")
    state = replay_record(mats, assembly.language(), stored[:place])
    assert state.answers["visit_end"] == "sensor_follows"


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ("own_code: {question: faults_before, answered: mended}", "own_code 'faults_before'"),
        ("own_code: {question: nothing, answered: no_faults}", "own_code 'nothing'"),
        ("when: {question: faults_before, answered: no_faults}", "a condition"),
    ],
)
def test_a_job_file_that_does_not_fit_is_refused(tmp_path: Path, wrong: str, told: str) -> None:
    right = "own_code: {question: faults_before, answered: aim_fault_only}"
    file = tmp_path / "small.yaml"
    file.write_text(SMALL.replace(right, wrong), "utf-8")
    with pytest.raises(FileProblem, match=told):
        assembly.load(JobPaths(job=file))


@pytest.mark.parametrize("language", ["en", "es"])
def test_every_shipped_job_of_a_sensor_has_it_and_its_words(language: str) -> None:
    said = assembly.language(language)
    say = wording_in(language)
    for name in ("front_radar", "forward_camera", "rear_corner_radar", "surround_mats"):
        plan = assembly.load(JobPaths(job=EXAMPLES / f"{name}.yaml"), said).plan
        told = {one.step_id for one in at_the_end(Opened(job=plan.files.job.model_dump()))}
        assert told == AT_THE_END
        for step_id in told:
            assert say.words.has(f"at-the-end-{step_id}")
    ends = assembly.load(JobPaths(job=VISIT_END), said).plan
    assert {s.id for s in ends.steps} >= AT_THE_END
