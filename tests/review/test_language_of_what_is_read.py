"""Report and pages have no sentence but those of the language's files.

The judge: every letter of the language's sentences is masked. What is then still readable on the
page has to stand in the record, in the language's words of numbers and directions, or be a unit.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from fluent.syntax import FluentParser, FluentSerializer, ast
from fluent.syntax.visitor import Transformer
from starlette.testclient import TestClient

from companion.browse import shelf
from companion.browse.app import make_app
from companion.job.loader import JobPaths
from companion.language.loader import load_language
from companion.language.messages import Messages
from companion.language.words import Words
from companion.record import ClipStore, FixedClock, SqliteLog, clips_folder, open_record
from companion.report import report
from companion.report.report import render_report
from companion.report.wording import Wording
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice

MASK = "ж"
NO_SENTENCE = frozenset(["UTC", "dB", "dBFS", "mm", "min", "bar", "SHA", "PIN", "CUSUM", "Wilson"])
"""Signs of units, quantities and the like, the same in every language here."""


class _Masking(Transformer):
    def visit_TextElement(self, node: ast.TextElement) -> ast.TextElement:
        node.value = re.sub(r"[^\W\d_]", MASK, node.value)
        return node


def masked(code: str) -> Words:
    """The words of a language, no letter of its sentences readable."""
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
    found = re.findall(r"[^\W\d_]+", f"{told} {session} {' '.join(e.hash for e in events)}")
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


@pytest.mark.parametrize("address", list(pages()))
def test_pages_in_spanish_have_no_sentence_of_their_own(
    spanish_job: tuple[Path, str], monkeypatch: pytest.MonkeyPatch, address: str
) -> None:
    path, session = spanish_job

    def wording_in(code: str) -> Any:
        return Wording(masked(code))

    monkeypatch.setattr(shelf, "wording_in", wording_in)
    client = TestClient(make_app(path, language="es"), base_url="http://127.0.0.1")
    page = client.get(address).text
    assert MASK in page
    assert left_over(page, path, session) == set()


def test_a_report_of_a_spanish_job_can_be_had_in_english(spanish_job: tuple[Path, str]) -> None:
    path, session = spanish_job
    page = render_report(path, session, language="en")
    assert '<html lang="en">' in page
    assert "is inside the entered limits." in page
