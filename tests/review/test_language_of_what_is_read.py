"""Report, hand-over, pages and terminal have no sentence but those of the language's files.

The judge: every letter of the language's sentences is masked. What is then still readable on the
page has to stand in the record, in the language's words of numbers and directions, or be a unit.
"""

from __future__ import annotations

import json
import re
import time
from collections.abc import Iterator
from functools import cache
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from fluent.syntax import FluentParser, FluentSerializer, ast
from fluent.syntax.visitor import Transformer
from starlette.testclient import TestClient

from companion.browse import record_source
from companion.browse.app import make_app
from companion.cli import main
from companion.commands import checking, job_screen, looking, rehearsing
from companion.facts.message import Message
from companion.job.loader import JobPaths
from companion.language.loader import load_language
from companion.language.messages import Messages
from companion.language.words import Words
from companion.record import ClipStore, Entry, FixedClock, SqliteLog, clips_folder, open_record
from companion.report import hand_over, report
from companion.report.wording import Wording, spaced_hash
from companion.runtime import assembly
from companion.runtime.checks import bench
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from tests.rendered import render_report

MASK = "ж"
NO_SENTENCE = frozenset(
    ["UTC", "dB", "dBFS", "mm", "min", "bar", "SHA", "PIN", "CUSUM", "Wilson", "hostile"]
)
"""Signs of units, quantities, a benchmark and the like, the same in every language here."""


class _Masking(Transformer):
    def visit_TextElement(self, node: ast.TextElement) -> ast.TextElement:
        node.value = re.sub(r"[^\W\d_]", MASK, node.value)
        return node


@cache
def masked(code: str) -> Words:
    """The words of a language, no letter of its sentences readable; they are made once."""
    words = Words(code)
    whole = load_language(code)
    texts = {}
    for name, text in whole._sentence_texts.items():
        resource = _Masking().visit(FluentParser().parse(text))
        texts[name] = FluentSerializer().serialize(resource)
    words.language = whole.without(frozenset({"no such word"}))
    words.language.__dict__["messages"] = Messages(texts, whole.speaker, whole.grammar)
    return words


@pytest.fixture(scope="module")
def spanish_job(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A whole job in Spanish, with slips and corrections, as a record."""
    path = tmp_path_factory.mktemp("taller") / "registro.sqlite"
    spanish = assembly.language("es")
    loaded = assembly.load(JobPaths(), spanish)
    rehearsal = make_rehearsal(
        loaded,
        3,
        slips=choose_slips(3, 4),
        spread=HARDER,
        language=spanish,
        scenario=Scenario(answers={"aim_route": "echo_levels"}),
    )
    with open_record(path, FixedClock(step_ms=700)) as database:
        session = database.create_session()
        log = SqliteLog(database, session, ClipStore(clips_folder(path)))
        run_rehearsal(loaded, spanish, rehearsal, SilentVoice(), log)
    return path, session


def readable(page: str) -> set[str]:
    """The words that a person reads of the page, or hears of it; not what is marked as English."""
    page = re.sub(r"<style>.*?</style>|<title>.*?</title>", "", page, flags=re.DOTALL)
    page = re.sub(r'<(span|th|p)[^>]* lang="en"[^>]*>.*?</\1>', " ", page, flags=re.DOTALL)
    told = re.findall(r'(?:aria-label|placeholder)="([^"]*)"', page)
    told.append(re.sub(r"<[^>]+>", " ", page))
    return set(re.findall(r"[^\W\d_]+", unescape(" ".join(told))))


def recorded(path: Path, session: str) -> set[str]:
    """Every word of the job's facts, and its ids in parts."""
    with open_record(path) as database:
        events = tuple(database.events(session))
    told = json.dumps([event.body for event in events], ensure_ascii=False)
    hashes = " ".join(f"{event.hash} {spaced_hash(event.hash)}" for event in events)
    found = re.findall(r"[^\W\d_]+", f"{told} {session} {hashes}")
    return {form for word in found for form in (word, word.capitalize())}


def of_the_language(code: str) -> set[str]:
    vocabulary = load_language(code).vocabulary.model_dump_json()
    return set(re.findall(r"[^\W\d_]+", json.dumps(json.loads(vocabulary), ensure_ascii=False)))


def left_over(page: str, path: Path, session: str) -> set[str]:
    known = recorded(path, session) | of_the_language("es") | NO_SENTENCE
    grammar = load_language("es").grammar.all_words()
    said = {form for word in grammar for form in (word, word.capitalize())}
    return {word for word in readable(page) - known - said if MASK not in word and len(word) > 1}


def test_a_report_in_spanish_has_no_sentence_of_its_own(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path, session = spanish_job
    plain = render_report(path, session)
    assert '<html lang="es">' in plain
    assert "orientación del radar está dentro" in plain
    monkeypatch.setattr(report, "wording_of", lambda opened, code: Wording(masked("es"), opened))
    assert left_over(render_report(path, session), path, session) == set()


def test_the_judge_sees_a_sentence_that_code_makes(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path, session = spanish_job
    monkeypatch.setattr(Wording, "title_of", lambda self, name: "Somewhere sideways")
    monkeypatch.setattr(report, "wording_of", lambda opened, code: Wording(masked("es"), opened))
    assert "Somewhere" in left_over(render_report(path, session), path, session)


def pages() -> Iterator[str]:
    yield from ("/", "/search?q=izquierda", "/search?q=nada1", "/statistics", "/compare", "/none")
    yield from ("/statistics/repeats", "/statistics/values?measure=floor_twist_mm")


@pytest.mark.parametrize("address", list(pages()))
def test_pages_in_spanish_have_no_sentence_of_their_own(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    path, session = spanish_job

    def wording_in(code: str) -> Any:
        return Wording(masked(code))

    monkeypatch.setattr(record_source, "wording_in", wording_in)
    client = TestClient(make_app(path, language="es"), base_url="http://127.0.0.1")
    page = client.get(address).text
    assert MASK in page
    assert left_over(page, path, session) == set()


def test_a_hand_over_in_spanish_has_no_sentence_of_its_own(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    path, session = spanish_job

    def printed_page(language: str = "") -> str:
        page, say = hand_over.hand_over(path, session, lambda visit: (), language)
        return hand_over.render_hand_over(page, say, session)

    plain = printed_page()
    assert '<html lang="es">' in plain
    assert "Códigos de avería antes: " in plain
    assert 'lang="en"' in printed_page("en")
    monkeypatch.setattr(hand_over, "wording_of", lambda opened, code: Wording(masked("es"), opened))
    page = printed_page()
    assert MASK in page
    # The name of the time zone stands beside the time.
    assert left_over(page, path, session) <= set(time.tzname)


TYPED = {"companion", "start", "page", "limit", "inside"}
"""What is typed as it stands."""


def printed(*arguments: str | Path) -> str:
    ended = CliRunner().invoke(main, [str(each) for each in arguments])
    assert ended.exit_code in (0, 1), ended.output
    return ended.output


@pytest.mark.parametrize(
    "asked",
    [
        ("review", "list"),
        ("review", "list", "--limit", "1"),
        ("review", "list", "--result", "insyde"),
        ("review", "list", "--vehicle", "insyde"),
        ("review", "search", "izquierda", "--limit", "1"),
        ("review", "search", "insyde"),
        ("review", "search", "*"),
        ("review", "drift"),
    ],
)
def test_what_a_review_prints_in_spanish_has_no_sentence_of_its_own(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, asked: tuple[str, ...]
) -> None:
    path, session = spanish_job
    monkeypatch.setattr(looking, "wording_in", lambda code: Wording(masked(code)))
    told = printed(*asked, "--language", "es", "--record", path)
    assert MASK in told
    assert left_over(told, path, session) - TYPED <= {"insyde"}


def test_what_a_drift_prints_in_spanish_has_no_sentence_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "taller.sqlite"
    for number in range(26):
        moved = 2.0 if number >= 20 else 0.0
        with open_record(path, FixedClock(f"2031-04-{number + 1:02}T08:00:00.000Z")) as database:
            log = SqliteLog(database, database.create_session())
            log.append([Entry("opened", {"bay": {"name": ""}})])
            value = {"value": moved + number % 3 / 10, "u": 0.2, "unit": "mm"}
            body = {"step_id": "floor", "outputs": {"floor_twist_mm": value}, "inputs": {}}
            log.append([Entry("computed", body)])
    monkeypatch.setattr(looking, "wording_in", lambda code: Wording(masked(code)))
    told = printed("review", "drift", "--language", "es", "--record", path)
    assert MASK in told
    assert not [word for word in readable(told) if MASK not in word and len(word) > 1]


def test_what_a_check_prints_in_spanish_has_no_sentence_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench, "wording_in", lambda code: Wording(masked(code)))
    monkeypatch.setattr(checking, "wording_in", lambda code: Wording(masked(code)))
    record = tmp_path / "taller.sqlite"
    for ears in ("typed", "sphinx"):
        told = printed("check", "--language", "es", "--ears", ears, "--record", record)
        looks = json.loads(
            printed("check", "--language", "es", "--ears", ears, "--record", record, "--json")
        )["looks"]
        # What a part of the program says of a failure is English and stands behind its mark.
        errors = " ".join(each["found"] for each in looks if each["state"] in ("wrong", "skipped"))
        shown = {word for word in readable(told) if MASK not in word and len(word) > 1}
        named = f"{record} {errors} "
        loaded = assembly.load(JobPaths(), assembly.language("es")).plan.files
        named += f"{loaded.job.name} {loaded.vehicle.name} {loaded.bay.name} espeak ng dBFS"
        phrase = load_language("es").grammar.command_phrase("where_are_we")
        assert shown <= set(re.findall(r"[^\W\d_]+", f"{named} {phrase}")) | {"MB"}


def test_what_a_rehearsal_prints_in_spanish_has_no_sentence_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "taller.sqlite"
    monkeypatch.setattr(rehearsing, "wording_in", lambda code: Wording(masked(code)))
    monkeypatch.setattr(job_screen, "wording_in", lambda code: Wording(masked(code)))
    chosen = ("--slips", "6", "--seed", "3", "--language", "es")
    told = printed("rehearse", *chosen, "--record", path)
    assert MASK in told
    with open_record(path) as database:
        (session,) = (each.session_id for each in database.sessions())
    files = {"files": ("front_radar.yaml", "bay.yaml")}
    spanish = load_language("es")
    example = spanish.show(Message("live-example-files"))
    which = spanish.show(Message("live-example-which", files))
    known = set(re.findall(r"[^\W\d_]+", f"{example} {which}"))
    assert left_over(told, path, session) <= known


def test_a_report_of_a_spanish_job_can_be_had_in_english(spanish_job: tuple[Path, str]) -> None:
    path, session = spanish_job
    page = render_report(path, session, language="en")
    assert '<html lang="en">' in page
    assert "is inside the entered limits." in page
