"""What the monthly check finds of the laser heads is put right in the jobs that follow it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import pytest

from companion.dialogue.events import is_event
from companion.facts.car import Car
from companion.facts.ending import Finished
from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.taking_over import StillTrue
from companion.facts.talking import Said
from companion.facts.workings import Computed, Input
from companion.job.loader import EXAMPLES, STAND_CHECK, JobPaths, LoadedJob
from companion.record import Database, FixedClock, SqliteLog
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import Visit, open_visit
from companion.report.explain import explain
from companion.runtime import assembly, visiting
from companion.runtime.loop import replay_record
from companion.runtime.rehearsing import TECHNICIAN, make_rehearsal, run_rehearsal
from companion.runtime.taking_over import Validity
from companion.runtime.visiting import of_visit
from companion.simulation.scenario import Scenario
from companion.simulation.truth import Spread
from companion.simulation.world import World
from companion.speech.silent import SilentVoice
from tests.rendered import render_report

DAY_MS = 86_400_000
HEADS = "heads_out_left_deg"


@dataclass(frozen=True)
class Job:
    """One that was done, with the bay as it really was."""

    session: str
    facts: tuple[Fact, ...]
    world: World

    @property
    def taken_over(self) -> StillTrue | None:
        opened = next(fact for fact in self.facts if isinstance(fact, Opened))
        return next((one for one in opened.still_true if one.what == "correction"), None)

    @property
    def came_to(self) -> str:
        found = [fact.result for fact in self.facts if isinstance(fact, Finished)]
        return found[-1] if found else "stopped"

    @property
    def heads_mean_deg(self) -> float:
        unseen = self.world._truth.unseen
        return (unseen.head_left_deg + unseen.head_right_deg) / 2.0

    def computed(self, step_id: str) -> Computed:
        found = [f for f in self.facts if isinstance(f, Computed) and f.step_id == step_id]
        return found[-1]

    def put_right_by(self, step_id: str = "stand_turn") -> Input:
        return self.computed(step_id).inputs[HEADS]


@dataclass
class Shop:
    """A record, the clock that it is kept by, and a stand whose heads stay as they are."""

    database: Database
    clock: FixedClock

    def visit(self) -> Visit:
        return open_visit(self.database, CarStore(cars_folder(self.database.path)), Car())

    def job(self, loaded: LoadedJob, seed: int = 3, heads_times: float = 1.0) -> Job:
        language = assembly.language()
        belongs = of_visit(
            self.database,
            self.visit(),
            loaded,
            language,
            Validity(),
            rehearsal=True,
            technician=TECHNICIAN,
        )
        session = self.database.create_session()
        spread = Spread(times={"head_out": heads_times})
        rehearsal = make_rehearsal(loaded, seed, spread=spread, scenario=Scenario(), slips=())
        log = SqliteLog(self.database, session)
        run_rehearsal(loaded, language, rehearsal, SilentVoice(), log, visit=belongs)
        facts = tuple(event.fact for event in self.database.events(session))
        return Job(session, facts, rehearsal.world)


@pytest.fixture
def shop(day: tuple[Database, FixedClock]) -> Shop:
    return Shop(*day)


@pytest.fixture(scope="module")
def check() -> LoadedJob:
    return assembly.load(JobPaths(job=STAND_CHECK))


def test_unmeasured_heads_are_in_doubt_as_entered(shop: Shop, radar: LoadedJob) -> None:
    job = shop.job(radar)
    assert job.taken_over is None
    put_right = job.put_right_by()
    stand = radar.plan.files.bay.stand
    assert put_right.value == 0.0
    assert put_right.u == pytest.approx(stand.head_doubt_deg / math.sqrt(2.0))


def test_what_the_check_found_is_put_right(shop: Shop, radar: LoadedJob, check: LoadedJob) -> None:
    checked = shop.job(check)
    assert checked.came_to == "stand_as_known"
    found = checked.computed("head_squareness").outputs[HEADS]
    job = shop.job(radar)
    told = job.taken_over
    assert told is not None
    assert (told.session, told.figure) == (checked.session, found.value)
    put_right = job.put_right_by()
    assert put_right.value == found.value
    # The check's own doubt, and that of both heads having been seated anew since.
    stand = radar.plan.files.bay.stand
    assert stand.laser_path_mm is not None
    seat_deg = math.degrees(math.atan(stand.head_seat_doubt_mm / stand.laser_path_mm)) / 2.0
    assert found.u is not None
    assert put_right.u == pytest.approx(math.hypot(found.u, seat_deg / math.sqrt(2.0)), rel=1e-9)
    assert put_right.u < stand.head_mean_doubt_deg
    assert job.put_right_by("stand_sideways") == put_right
    said = [fact.text for fact in job.facts if isinstance(fact, Said)]
    told_of = next(text for text in said if "Taken over from today: " in text)
    assert "Laser heads" in told_of


def test_it_is_true_within_its_doubt_and_nearer_than_nothing(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    off, before, seen = [], [], 0
    for seed in range(14):
        # The same seed is the same stand: its heads are what the check found them.
        if shop.job(check, seed, heads_times=2.0).came_to != "stand_as_known":
            continue
        job = shop.job(radar, seed, heads_times=2.0)
        put_right = job.put_right_by()
        assert put_right.u is not None
        assert put_right.value is not None
        off.append((put_right.value - job.heads_mean_deg) / put_right.u)
        before.append(job.heads_mean_deg / put_right.u)
        seen += 1
        shop.clock.advance(60 * DAY_MS)
    assert seen >= 6
    assert math.sqrt(sum(x * x for x in off) / seen) < 1.6
    assert sum(x * x for x in off) < 0.5 * sum(x * x for x in before)


def test_it_holds_as_long_as_the_shop_says(shop: Shop, radar: LoadedJob, check: LoadedJob) -> None:
    shop.job(check)
    shop.clock.advance(30 * DAY_MS)
    assert shop.job(radar).taken_over is not None
    shop.clock.advance(2 * DAY_MS)
    late = shop.job(radar)
    assert late.taken_over is None, "a job that took it over does not make it younger"
    assert late.put_right_by().value == 0.0


def test_the_newest_check_decides(shop: Shop, radar: LoadedJob, check: LoadedJob) -> None:
    shop.job(check)
    shop.clock.advance(DAY_MS)
    # Heads that were knocked since: far beyond what the bay file says.
    knocked = shop.job(check, seed=5, heads_times=12.0)
    assert knocked.came_to != "stand_as_known"
    assert shop.job(radar).taken_over is None


def test_jobs_hand_it_on_however_many_there_were_since(
    shop: Shop, radar: LoadedJob, check: LoadedJob, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = shop.job(check)
    monkeypatch.setattr(visiting, "MOST_JOBS", 1)
    for _ in range(2):
        shop.clock.advance(DAY_MS)
        told = shop.job(radar).taken_over
        assert told is not None
        assert told.session == first.session
    assert told.days_ago == 2


def test_report_and_explanation_say_where_it_is_from(
    shop: Shop, radar: LoadedJob, check: LoadedJob
) -> None:
    checked, job = shop.job(check), shop.job(radar)
    page = render_report(shop.database.path, job.session)
    assert "Laser heads" in page
    assert f"job {checked.session}" in page
    assert "Laser heads, as the stand's check found them" in page.replace("&#39;", "'")
    assert "Laser heads seated anew" in page
    events = list(shop.database.events(job.session))
    told = "\n".join(explain(events, "stand_turn_deg"))
    assert f"taken over: {HEADS}, job {checked.session}" in told


def test_a_replay_needs_no_other_job(shop: Shop, radar: LoadedJob, check: LoadedJob) -> None:
    shop.job(check)
    job = shop.job(radar)
    stored = list(shop.database.events(job.session))
    place = next(n for n, event in enumerate(stored) if isinstance(event.fact, Finished))
    # Up to the answer that ended it.
    place = max(n for n in range(place) if is_event(stored[n].fact))
    state = replay_record(radar, assembly.language(), stored[:place])
    assert state.results[HEADS].value == job.put_right_by().value


def test_the_camera_is_put_right_as_well(shop: Shop, check: LoadedJob) -> None:
    checked = shop.job(check)
    job = shop.job(assembly.load(JobPaths(job=EXAMPLES / "forward_camera.yaml")))
    found = checked.computed("head_squareness").outputs[HEADS].value
    assert job.put_right_by().value == found
    assert job.put_right_by("board_sideways").value == found
