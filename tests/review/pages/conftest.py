"""The pages served on loopback, and a real browser to read them with."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from companion.browse.server import page_server
from companion.facts.car import Car
from companion.job.loader import JobPaths
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.rfc3339 import format_rfc3339
from companion.record.visits import open_visit
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.browsers import serving_on_free_port


@dataclass(frozen=True)
class Served:
    """A record and the address of its pages."""

    record: Path
    address: str


@contextlib.contextmanager
def serving(record: Path, token: str | None = None) -> Iterator[Served]:
    """The pages of a record on a free port of this machine."""
    with serving_on_free_port(page_server(record, token)) as address:
        yield Served(record, address)


@pytest.fixture
def serve() -> Iterator[Callable[..., Served]]:
    with contextlib.ExitStack() as stack:
        yield lambda record, token=None: stack.enter_context(serving(record, token))


@pytest.fixture(scope="session")
def shop_record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A dozen rehearsed jobs of two technicians in two bays, a day apart."""
    path = tmp_path_factory.mktemp("shop") / "shop.record"
    loaded, grammar = assembly.load(JobPaths()), assembly.language()
    for day in range(12):
        clock = FixedClock(f"2031-03-{day + 1:02}T08:00:00.000Z", step_ms=1700)
        with open_record(path, clock) as database:
            log = SqliteLog(database, database.create_session())
            spread = HARDER if day % 5 == 4 else None
            rehearsal = make_rehearsal(loaded, day + 1, spread=spread)
            run_rehearsal(loaded, grammar, rehearsal, SilentVoice(), log)
    return path


@pytest.fixture(scope="session")
def drifting_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty jobs in two bays, one a day each; in bay two the floor's twist grew on 21 April."""
    path = tmp_path_factory.mktemp("drifting") / "shop.record"
    scatter = [0.1, -0.1, 0.2, -0.2, 0.15, -0.05, 0.25, -0.15, 0.05, -0.25]
    for number in range(80):
        place, bay = divmod(number, 2)
        opened = datetime(2031, 4, 1, 8, 30 * bay, tzinfo=UTC) + timedelta(days=place)
        clock = FixedClock(format_rfc3339(opened), step_ms=1700)
        twist_mm = scatter[place * 3 % 10] + (2.0 if bay and place >= 20 else 0.0)
        with open_record(path, clock) as database:
            log = SqliteLog(database, database.create_session())
            named = {"name": ("Bay one", "Bay two")[bay]}
            log.append([Entry("opened", {"technician": "A. Example", "bay": named})])
            outputs = {"floor_twist_mm": {"value": twist_mm, "u": 0.2, "unit": "mm"}}
            log.append([Entry("computed", {"step_id": "floor", "outputs": outputs, "inputs": {}})])
    return path


@pytest.fixture(scope="session")
def shop_with_cars(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Three cars on their orders; the second had two jobs, of the third nothing is known."""
    path = tmp_path_factory.mktemp("cars") / "shop.record"
    known = (Car(order="4711", plate="EX 123"), Car(order="4712", plate="EX 806"), Car())
    with open_record(path, FixedClock("2031-03-01T08:00:00.000Z", step_ms=60_000)) as database:
        for car, jobs in zip(known, (1, 2, 1), strict=True):
            visit = open_visit(database, CarStore(cars_folder(path)), car)
            for _ in range(jobs):
                log = SqliteLog(database, database.create_session())
                log.append([Entry("opened", {"technician": "A. Example", "visit": visit.id})])
                log.append([Entry("finished", {"result": "inside"})])
    with serving(path) as served:
        yield served


@pytest.fixture(scope="session")
def served_shop(shop_record: Path) -> Iterator[Served]:
    with serving(shop_record) as served:
        yield served


@pytest.fixture
def context(chromium: Browser) -> Iterator[BrowserContext]:
    found = chromium.new_context(viewport={"width": 1180, "height": 860})
    yield found
    found.close()


@pytest.fixture
def page(context: BrowserContext) -> Iterator[Page]:
    """A page that must leave no complaint in the browser's console, and fetch nothing elsewhere."""
    found = context.new_page()
    complaints: list[str] = []
    found.on("console", lambda told: complaints.append(told.text))
    found.on("pageerror", lambda error: complaints.append(str(error)))
    yield found
    assert complaints == []
