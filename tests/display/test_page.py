"""The page in a real browser: it follows a job live, fits, can be read, and takes nothing in."""

from __future__ import annotations

import re
import sqlite3
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from companion.display.moment import Instruction, Moment
from companion.display.page import ANSWERS, MARKS, TEMPLATES, shell, view
from companion.display.server import SECURITY_HEADERS
from companion.language.loader import language_codes
from companion.language.words import Words
from companion.record import Entry, SqliteLog, open_for_reading, open_record
from companion.record.audit.verify import verify

from .conftest import play, serving

CSS = (TEMPLATES / "display.css").read_text(encoding="utf-8")
HOSTILE = "<img src=x onerror=alert(1)>\"'&</p><script>alert(2)</script>"
OVERFLOWS = """() => [...document.querySelectorAll(
        '.ask, .answer, header, .cautions, .text, .shown')]
    .filter(e => e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 2)
    .map(e => e.className + ': ' + e.textContent.trim().slice(0, 80))"""
OUT_OF_PICTURE = """() => [...document.querySelectorAll('svg text')].filter(t => {
    const box = t.getBoundingClientRect(), frame = t.ownerSVGElement.getBoundingClientRect();
    return box.left < frame.left - 1 || box.right > frame.right + 1
        || box.bottom > frame.bottom + 1;
}).map(t => t.textContent)"""


@pytest.fixture
def record(tmp_path: Path) -> Path:
    return tmp_path / "record.sqlite"


@pytest.fixture
def address(record: Path) -> Iterator[str]:
    with serving(record) as found:
        yield found


def show(screen: Page, moment: Moment, css: str = CSS) -> None:
    """The moment as the page shows it, without a server."""
    style = '<link rel="stylesheet" href="display.css">'
    screen.set_content(shell(moment).replace(style, f"<style>{css}</style>"))


def test_a_whole_job_is_followed_prompt_by_prompt(record: Path, address: str, screen: Page) -> None:
    troubles: list[str] = []
    screen.on("console", lambda message: troubles.append(message.text))
    screen.on("pageerror", lambda error: troubles.append(str(error)))
    screen.goto(address)
    expect(screen.locator(".text")).to_have_text("No job is running.")
    shown: list[tuple[str, str]] = []

    def seen(moment: Moment) -> None:
        expect(screen.locator("main")).to_have_attribute("data-condition", moment.condition)
        expect(screen.locator(".text")).to_have_text(moment.instruction.text)
        if moment.answer is not None:
            expect(screen.locator(".answer")).to_have_attribute("data-answer", moment.answer.state)
        shown.append((moment.condition, type(moment.picture).__name__))

    play(record, seed=3, slips=4, seen=seen)
    assert {"asking", "doing", "read_back", "over"} <= {condition for condition, _ in shown}
    assert {"Cautions", "StandMove", "ScrewRound", "AimShown"} <= {picture for _, picture in shown}
    assert len(shown) > 80
    assert troubles == []
    assert verify(record) == []


def test_a_new_job_takes_the_place_of_the_old_one(record: Path, address: str, screen: Page) -> None:
    play(record, seed=1, harder=False)
    screen.goto(address)
    expect(screen.locator(".text")).to_have_text("Inside.")
    with open_record(record) as database:
        database.create_session()
    # A session without an event is no job yet.
    expect(screen.locator(".text")).to_have_text("Inside.")
    play(record, seed=2, harder=False)
    expect(screen.locator("main")).to_have_attribute("data-condition", "over")


def test_a_companion_that_died_in_the_middle_is_missed(
    record: Path, address: str, screen: Page, tmp_path: Path
) -> None:
    whole = tmp_path / "whole.sqlite"
    play(whole, seed=1, harder=False)
    with open_record(record) as database:
        session = database.create_session()
        with open_for_reading(whole) as source:
            (done,) = source.sessions()
            events = list(source.events(done.session_id))[:60]
        SqliteLog(database, session).append([Entry(e.kind, e.body) for e in events])
        screen.goto(address)
        expect(screen.locator("header .example")).to_be_visible()
        expect(screen.locator(".off")).to_have_count(0)
    expect(screen.locator(".off")).to_contain_text("The companion is off.")


def test_a_page_that_lost_its_server_says_so(record: Path, screen: Page) -> None:
    with serving(record) as address:
        screen.goto(address)
        expect(screen.locator("#lost")).to_be_hidden()
    expect(screen.locator("#lost")).to_be_visible(timeout=60_000)


def test_everything_of_three_jobs_fits_on_the_screen(moments: list[Moment], screen: Page) -> None:
    seen = set()
    for moment in moments:
        kind = (moment.instruction, moment.picture, moment.answer and moment.answer.state)
        if repr(kind) in seen:
            continue
        seen.add(repr(kind))
        show(screen, moment)
        assert screen.evaluate(OVERFLOWS) == []
        assert screen.evaluate(OUT_OF_PICTURE) == []
    assert len(seen) > 50


def test_what_is_said_back_fits_where_only_wider_letters_are_installed(
    moments: list[Moment], screen: Page
) -> None:
    narrower = '"Liberation Sans", Arimo, Arial, '
    assert narrower in CSS
    said_back = {m.instruction.text: m for m in moments if m.condition == "read_back"}
    longest = sorted(said_back.values(), key=lambda m: -len(m.instruction.text))[:12]
    for moment in (*longest, *list(said_back.values())[::6]):
        show(screen, moment, CSS.replace(narrower, ""))
        assert screen.evaluate(OVERFLOWS) == []


@pytest.mark.parametrize("size", [(1280, 720), (1024, 768), (1366, 768), (3840, 2160)])
def test_it_fits_on_screens_of_other_shapes(
    size: tuple[int, int], moments: list[Moment], screen: Page
) -> None:
    screen.set_viewport_size({"width": size[0], "height": size[1]})
    pictures = {type(m.picture).__name__: m for m in moments}
    for moment in (*pictures.values(), moments[10], moments[11]):
        show(screen, moment)
        assert screen.evaluate(OVERFLOWS) == []


def test_axe_finds_nothing_to_say(moments: list[Moment], screen: Page) -> None:
    pictures = {(type(m.picture).__name__, m.condition): m for m in moments}
    for moment in pictures.values():
        show(screen, moment)
        # One landmark holds all; a screen in the bay has no navigation to skip.
        found = Axe().run(screen).response["violations"]
        assert [(v["id"], [n["html"] for n in v["nodes"]]) for v in found] == []


# What it takes in and gives out


def test_hostile_words_stay_words(moments: list[Moment], screen: Page) -> None:
    alerts: list[str] = []
    screen.on("dialog", lambda dialog: alerts.append(dialog.message))
    moment = next(m for m in moments if m.answer is not None and m.answer.state == "said_back")
    assert moment.answer is not None
    bad = replace(
        moment,
        instruction=Instruction(HOSTILE, HOSTILE, HOSTILE),
        answer=replace(moment.answer, words=HOSTILE, title=HOSTILE, shown=HOSTILE),
        step_title=HOSTILE,
    )
    assert "<img" not in view(bad)
    assert "<script" not in view(bad)
    show(screen, bad)
    expect(screen.locator(".text")).to_have_text(HOSTILE)
    assert alerts == []


def test_every_answer_carries_the_security_headers(address: str) -> None:
    for path in ("", "display.css", "display.js"):
        with urllib.request.urlopen(address + path) as answer:  # noqa: S310
            headers = answer.headers
        assert {name: headers[name] for name in SECURITY_HEADERS} == SECURITY_HEADERS
    with pytest.raises(urllib.error.HTTPError) as missing:
        urllib.request.urlopen(address + "no_such_page")  # noqa: S310
    assert missing.value.code == 404
    found = missing.value.headers
    assert {name: found[name] for name in SECURITY_HEADERS} == SECURITY_HEADERS
    assert "unsafe" not in SECURITY_HEADERS["content-security-policy"]


@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_nothing_can_be_sent_to_it(address: str, method: str) -> None:
    request = urllib.request.Request(address, method=method, data=b"x")  # noqa: S310
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request)  # noqa: S310
    assert refused.value.code == 405


def test_it_answers_to_its_own_name_only(address: str) -> None:
    request = urllib.request.Request(address, headers={"Host": "elsewhere.example"})  # noqa: S310
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request)  # noqa: S310
    assert refused.value.code == 421


def test_following_writes_nothing(record: Path, screen: Page) -> None:
    play(record, seed=1, harder=False)
    before = record.read_bytes()
    with serving(record) as address:
        screen.goto(address)
        expect(screen.locator(".text")).to_have_text("Inside.")
    assert record.read_bytes() == before
    with sqlite3.connect(record) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()


# Contrast: WCAG 2, relative luminance and ratio, AAA asks for 7 (4.5 for large type)

COLOURS = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", CSS))


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(first: str, second: str) -> float:
    light, dark = sorted((luminance(COLOURS[first]), luminance(COLOURS[second])), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize(
    ("ink", "ground"),
    [
        *[("ink", ground) for ground in ("paper", "shade", "doubt", "doubt-soft")],
        *[("ink", ground) for ground in ("taken-soft", "halt-soft")],
        *[("soft", ground) for ground in ("paper", "shade", "doubt-soft", "halt-soft")],
        *[("paper", ground) for ground in ("ink", "soft", "ask", "taken", "halt")],
        ("ask", "paper"),
        ("halt", "halt-soft"),
        ("taken", "taken-soft"),
    ],
)
def test_type_stands_out_by_seven_to_one(ink: str, ground: str) -> None:
    assert contrast(ink, ground) >= 7


def test_edges_of_the_drawings_stand_out_by_three_to_one() -> None:
    assert contrast("rule", "paper") >= 3
    assert contrast("rule", "shade") >= 3
    # The arrow's fill may be pale: its edge is ink.
    assert contrast("ink", "paper") >= 3


def test_no_state_is_told_by_colour_alone(moments: list[Moment]) -> None:
    """Every state has a mark and words of its own."""
    for code in language_codes():
        words = Words(code)
        assert len({words(f"screen-mark-{name}") for name in MARKS}) == len(MARKS)
        assert len({words(f"screen-answer-{name}") for name in ANSWERS}) == len(ANSWERS)
