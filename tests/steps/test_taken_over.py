"""The second job of a visit asks only for what is not there or no longer holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import pytest

from companion.dialogue.machine import begin, step
from companion.facts.answers import Accepted, Consent, Done, TakenBack
from companion.facts.car import Car
from companion.facts.kinds import Fact
from companion.facts.meanings import Choice, Command, Yes
from companion.facts.opening import Opened
from companion.facts.taking_over import TakenOver
from companion.facts.talking import Heard, Said
from companion.facts.workings import Computed
from companion.job.kind import JobFiles
from companion.job.loader import LoadedJob
from companion.job.plan import make_plan
from companion.record import Database, FixedClock, SqliteLog
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import Visit, open_visit
from companion.runtime import assembly
from companion.runtime.loop import OfVisit, replay_record
from companion.runtime.rehearsing import TECHNICIAN, make_rehearsal, run_rehearsal
from companion.runtime.taking_over import Validity
from companion.runtime.visiting import of_visit
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from companion.steps.taken_over.run import KEPT
from tests.rendered import render_report

FLOOR = "rule_rear_left_mm"
RUN_OUT = "left_run_out_0_mm"
TOE = "toe_left_deg"
TEMPERATURE = "temperature_celsius"
DAY_MS = 86_400_000


@dataclass
class Shop:
    """A record, and the clock that it is kept by."""

    database: Database
    clock: FixedClock

    def visit(self) -> Visit:
        return open_visit(self.database, CarStore(cars_folder(self.database.path)), Car())

    def job(self, loaded: LoadedJob, visit: Visit, **told: Any) -> Job:
        language = assembly.language()
        belongs = told.pop("belongs", None) or of_visit(
            self.database,
            visit,
            loaded,
            language,
            Validity(),
            rehearsal=True,
            technician=TECHNICIAN,
        )
        session = self.database.create_session()
        keeps = told.pop("keeps_sound", False)
        scenario = Scenario(answers=told, keeps_sound=keeps)
        run_rehearsal(
            loaded,
            language,
            make_rehearsal(loaded, seed=3, scenario=scenario),
            SilentVoice(),
            SqliteLog(self.database, session),
            visit=belongs,
        )
        return Job(session, tuple(event.fact for event in self.database.events(session)))


@dataclass(frozen=True)
class Job:
    """One that was done."""

    session: str
    facts: tuple[Fact, ...]

    @property
    def asked(self) -> set[str]:
        return {f.reading_id for f in self.facts if isinstance(f, Accepted)}

    @property
    def questions(self) -> int:
        return sum(1 for f in self.facts if isinstance(f, Said) and f.prompt_id)

    @property
    def taken_over(self) -> TakenOver | None:
        return next((f for f in self.facts if isinstance(f, TakenOver)), None)

    def result(self, name: str) -> float:
        found = [
            f.outputs[name] for f in self.facts if isinstance(f, Computed) and name in f.outputs
        ]
        value = found[-1].value
        assert value is not None
        return value


@pytest.fixture
def shop(day: tuple[Database, FixedClock]) -> Shop:
    return Shop(*day)


def with_files(loaded: LoadedJob, **changed: Mapping[str, object]) -> LoadedJob:
    files = loaded.plan.files
    told: dict[str, Any] = {
        name: getattr(files, name).model_copy(update=fields) for name, fields in changed.items()
    }
    return replace(loaded, plan=make_plan(replace(files, **told)))


def test_the_first_job_of_a_visit_is_asked_nothing_of_it(shop: Shop, radar: LoadedJob) -> None:
    job = shop.job(radar, shop.visit())
    assert job.taken_over is None
    assert {FLOOR, RUN_OUT, TOE, TEMPERATURE} <= job.asked


def test_the_same_car_again_is_asked_only_for_what_was_set_up(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    first, second = shop.job(radar, visit), shop.job(radar, visit)
    assert {FLOOR, RUN_OUT, TOE, TEMPERATURE}.isdisjoint(second.asked)
    assert "spot_left_mm" in second.asked
    assert "battery_volt" not in second.asked, "ignition and support stay on until the last sensor"
    said = next(f.text for f in second.facts if isinstance(f, Said) and "Taken over" in f.text)
    assert said.startswith("Taken over from today: Job card, Brake and chocks, Floor check, ")
    assert said.endswith(" Not touched, or was moved?")
    assert second.questions < 0.72 * first.questions


def test_that_sound_may_be_kept_is_asked_each_time_and_of_each_person(
    shop: Shop, radar: LoadedJob
) -> None:
    def consents(job: Job) -> int:
        return sum(1 for f in job.facts if isinstance(f, Consent))

    visit = shop.visit()
    assert consents(shop.job(radar, visit, keeps_sound=True)) == 1
    assert consents(shop.job(radar, visit)) == 1, "it was allowed: asked again"
    assert consents(shop.job(radar, visit)) == 0, "it was not: nothing is kept, nothing is asked"
    another = of_visit(
        shop.database, visit, radar, assembly.language(), Validity(), rehearsal=True, technician="B"
    )
    assert "consent" not in {one.step_id for one in another.still_true}


def test_a_doubt_that_was_taken_over_keeps_its_names(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    _, second = shop.job(radar, visit), shop.job(radar, visit)
    turn = next(f for f in second.facts if isinstance(f, Computed) and f.step_id == "stand_turn")
    names = {share.name for share in turn.outputs["stand_turn_deg"].budget}
    assert {"left_run_out_0_mm #1", "right_run_out_0_mm #1"} <= names


def test_its_run_out_is_that_of_the_first_job_whatever_the_path(
    shop: Shop, radar: LoadedJob
) -> None:
    visit = shop.visit()
    first = shop.job(radar, visit)
    bay = radar.plan.files.bay
    longer = bay.stand.model_copy(update={"laser_path_mm": 6000.0})
    second = shop.job(with_files(radar, bay={"stand": longer}), visit)
    assert RUN_OUT not in second.asked
    opened = second.facts[0]
    assert isinstance(opened, Opened)
    told = next(one for one in opened.still_true if one.result == "left_run_out_heading_deg")
    assert told.figure == pytest.approx(first.result("left_run_out_heading_deg"))


def test_a_car_that_was_moved_is_measured_again_and_the_floor_is_not(
    shop: Shop, radar: LoadedJob
) -> None:
    visit = shop.visit()
    shop.job(radar, visit)
    second = shop.job(radar, visit, taken_over="was_moved")
    assert {RUN_OUT, TOE} <= second.asked
    assert {FLOOR, TEMPERATURE}.isdisjoint(second.asked)
    third = shop.job(radar, visit)
    opened = third.facts[0]
    assert isinstance(opened, Opened)
    of_the_car = {one.session for one in opened.still_true if one.scope == "car"}
    assert of_the_car == {second.session}, "what was read before the car moved is of no use"


def test_after_a_job_of_another_version_the_car_is_measured_again(
    shop: Shop, radar: LoadedJob
) -> None:
    """What that job did with the car nobody can read any more: it may have lifted it."""
    visit = shop.visit()
    first = shop.job(radar, visit)
    of_before = with_files(radar, job={"name": ""})
    assert RUN_OUT not in shop.job(of_before, visit).asked
    third = shop.job(radar, visit)
    assert {RUN_OUT, TOE} <= third.asked
    assert {FLOOR, TEMPERATURE}.isdisjoint(third.asked)
    opened = third.facts[0]
    assert isinstance(opened, Opened)
    assert {one.session for one in opened.still_true} == {first.session}


def test_the_next_car_of_the_type_is_asked_for_all_but_the_floor(
    shop: Shop, radar: LoadedJob
) -> None:
    shop.job(radar, shop.visit())
    second = shop.job(radar, shop.visit())
    assert {RUN_OUT, TOE} <= second.asked
    assert {FLOOR, TEMPERATURE}.isdisjoint(second.asked)
    assert not any("since then" in f.text for f in second.facts if isinstance(f, Said))


@pytest.mark.parametrize(
    ("days", "again"), [(1, {TEMPERATURE}), (28, {TEMPERATURE}), (29, {TEMPERATURE, FLOOR})]
)
def test_what_is_too_old_is_asked_again(
    shop: Shop, radar: LoadedJob, days: int, again: set[str]
) -> None:
    shop.job(radar, shop.visit())
    shop.clock.advance(days * DAY_MS - 3_600_000)
    second = shop.job(radar, shop.visit())
    assert second.asked & {FLOOR, TEMPERATURE} == again


def test_wheels_of_another_car_stand_on_other_spots(shop: Shop, radar: LoadedJob) -> None:
    shop.job(radar, shop.visit())
    longer = with_files(radar, vehicle={"wheelbase_mm": 2900.0})
    assert FLOOR in shop.job(longer, shop.visit()).asked


def test_another_bay_has_another_floor(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    shop.job(radar, visit)
    elsewhere = with_files(radar, bay={"name": "Bay two"})
    assert {FLOOR, RUN_OUT, TOE} <= shop.job(elsewhere, visit).asked


def test_a_rehearsal_says_nothing_of_a_real_car(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    shop.job(radar, visit)
    real = of_visit(shop.database, visit, radar, assembly.language(), Validity())
    assert real.still_true == ()


def test_dates_that_nothing_vouches_for_count_within_the_visit_alone(
    shop: Shop, radar: LoadedJob
) -> None:
    shop.clock._trusted = False
    visit = shop.visit()
    shop.job(radar, visit)
    assert FLOOR in shop.job(radar, shop.visit()).asked
    assert FLOOR not in shop.job(radar, visit).asked


def test_a_job_is_as_old_as_its_first_date_that_something_vouched_for(
    shop: Shop, radar: LoadedJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its session was opened by a clock of 2001 that was set right after it."""
    opened = shop.database.create_session

    def before_the_clock_was_set(session_id: str | None = None) -> str:
        now = shop.clock._moment
        shop.clock._moment = now.replace(year=2001)
        session = opened(session_id)
        shop.clock._moment = now
        return session

    monkeypatch.setattr(shop.database, "create_session", before_the_clock_was_set)
    shop.job(radar, shop.visit())
    assert FLOOR not in shop.job(radar, shop.visit()).asked


def test_half_a_survey_is_none(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    belongs = of_visit(shop.database, visit, radar, assembly.language(), Validity())
    job = shop.job(radar, visit, belongs=belongs)
    log = SqliteLog(shop.database, job.session)
    log.append([TakenBack(("rule_stand_mm",), "not right after all")])
    assert FLOOR in shop.job(radar, visit).asked


def test_a_wheel_that_is_lifted_again_makes_stance_and_toe_stale(
    shop: Shop, radar: LoadedJob
) -> None:
    visit = shop.visit()
    job = shop.job(radar, visit)
    log = SqliteLog(shop.database, job.session)
    log.append([Done("right_wheel_up", "Lift the rear right wheel.")])
    asked = shop.job(radar, visit).asked
    assert TOE in asked
    assert FLOOR not in asked


def test_a_job_that_took_over_goes_on_after_a_power_cut(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    shop.job(radar, visit)
    second = shop.job(radar, visit)
    stored = [e for e in shop.database.events(second.session) if e.kind != "finished"]
    place = max(i for i, e in enumerate(stored) if e.kind == "heard") - 6
    while stored[place].kind != "heard":
        place -= 1
    state = replay_record(radar, assembly.language(), stored[:place])
    assert FLOOR in state.readings
    assert "left_run_out_heading_deg" in state.results


def test_going_back_asks_again_what_was_taken_over(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    shop.job(radar, visit)
    language = assembly.language()
    belongs = of_visit(shop.database, visit, radar, language, Validity(), rehearsal=True)
    state = replace(begin(radar.plan, language), kept={KEPT: belongs.still_true})
    state, _ = step(state, Opened(still_true=belongs.still_true))
    for meaning in (Choice("not_touched"), Yes()):
        assert state.prompt is not None
        state, _ = step(state, Heard(state.prompt.id, meaning))
    assert FLOOR in state.readings
    assert state.prompt is not None
    state, effects = step(state, Heard(state.prompt.id, Command("go_back")))
    assert FLOOR not in state.readings
    assert state.prompt is not None
    assert state.prompt.step_id == "taken_over"
    assert effects


def test_the_report_says_what_was_taken_over_and_from_where(shop: Shop, radar: LoadedJob) -> None:
    visit = shop.visit()
    first, second = shop.job(radar, visit), shop.job(radar, visit)
    page = render_report(shop.database.path, second.session)
    assert "Taken over" in page
    assert f"job {first.session}, event" in page


def test_a_record_without_visits_says_so(shop: Shop, radar: LoadedJob) -> None:
    job = shop.job(radar, shop.visit(), belongs=OfVisit())
    opened = job.facts[0]
    assert isinstance(opened, Opened)
    assert (opened.visit, opened.car_sha256, opened.still_true) == ("", "", ())
    assert isinstance(radar.plan.files, JobFiles)
