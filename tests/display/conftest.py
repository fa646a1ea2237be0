"""A record that a rehearsal writes, the page that follows it, a real browser that shows it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from companion.display.fold import Told, take
from companion.display.look import look
from companion.display.moment import Moment
from companion.display.server import make_app
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.record import SqliteLog, open_record
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.silent import SilentVoice
from companion.web.serving import make_server
from tests.browsers import serving_on_free_port

INPUTS = ("opened", "resumed", "heard", "refused", "silent")


class TellingVoice(SilentVoice):
    """Silent; calls back after each prompt, when all of its step stands in the record."""

    def __init__(self, said: Callable[[str], None]) -> None:
        super().__init__()
        self._said = said

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        self._said(text)
        return super().say(text, speed, volume)


class Knowing:
    """A watcher that knows what the screen should know."""

    def __init__(self) -> None:
        self.told = Told()
        self.prompt: Said | None = None

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.prompt_id is not None:
            self.prompt = fact
        self.told = take(self.told, fact)


def rehearsed_told(seed: int, slips: int = 0, harder: bool = True) -> list[Told]:
    """What the screen knows after each whole step of a rehearsed job."""
    loaded = assembly.load(JobPaths())
    log = MemoryLog("a job")
    rehearsal = make_rehearsal(
        loaded, seed, slips=choose_slips(seed, slips), spread=HARDER if harder else None
    )
    run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
    events = list(log.events("a job"))
    told, after_each = Told(), []
    for place, event in enumerate(events):
        told = take(told, event.fact)
        if place + 1 == len(events) or events[place + 1].kind in INPUTS:
            after_each.append(told)
    return after_each


@pytest.fixture(scope="session")
def moments() -> list[Moment]:
    """Everything that three rehearsed jobs put on the screen."""
    return [look(told) for seed in (1, 3, 7) for told in rehearsed_told(seed, slips=4)]


@contextmanager
def serving(record: Path) -> Iterator[str]:
    """The address of a display that follows this record."""
    server = make_server(make_app(record, look_every_s=0.02), has_lifespan=True)
    with serving_on_free_port(server) as address:
        yield f"{address}/"


def play(
    record: Path,
    *,
    seed: int,
    slips: int = 0,
    harder: bool = True,
    seen: Callable[[Moment], None] = lambda moment: None,
) -> None:
    """A whole rehearsed job into the record; `seen` is called at each prompt and at the end."""
    loaded = assembly.load(JobPaths())
    with open_record(record) as database:
        session = database.create_session()
        log = SqliteLog(database, session)
        knowing = Knowing()

        def said(text: str) -> None:
            if knowing.prompt is not None and knowing.prompt.text == text:
                seen(look(knowing.told))

        rehearsal = make_rehearsal(
            loaded, seed, slips=choose_slips(seed, slips), spread=HARDER if harder else None
        )
        voice = TellingVoice(said)
        run_rehearsal(loaded, assembly.language(), rehearsal, voice, log, watcher=knowing)
        seen(look(knowing.told))


@pytest.fixture
def screen(chromium: Browser) -> Iterator[Page]:
    """A page as large as a common screen."""
    page = chromium.new_page(viewport={"width": 1920, "height": 1080})
    yield page
    page.close()
