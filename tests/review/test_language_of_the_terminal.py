"""The commands speak the set language: nothing of a sentence that a command prints is in the code.

The judge is the one of `test_language_of_what_is_read`: every letter of the language's sentences is
masked. What is then still readable was typed, stands in the record, or is the name of a thing.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from companion.cli import main
from companion.commands import saying, settings
from companion.facts.message import Message
from companion.job.loader import EXAMPLES
from companion.job.vin import in_groups
from companion.language.loader import load_language
from companion.language.words import Words
from companion.record import (
    ClipStore,
    Entry,
    FixedClock,
    SqliteLog,
    clips_folder,
    open_record,
)
from companion.record.audit import check_phrase
from companion.report.wording import Wording
from tests.review.test_language_of_what_is_read import MASK, masked

YES = MASK
"""The letter for yes is masked, too; an empty answer is no."""
PIN, SUPERVISORS = "4711", "2580"


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "ajustes"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "datos"))
    monkeypatch.setattr(saying, "wording_in", lambda code: Wording(masked(code)))
    monkeypatch.setattr(settings, "wording_in", lambda code: Wording(masked(code)))
    return tmp_path


def words_of(text: str) -> set[str]:
    return {word for word in re.findall(r"[^\W\d_]+", text) if len(word) > 1}


def unmasked(*arguments: object, typed: str = "", code: int = 0, known: str = "") -> set[str]:
    """What can still be read of what the command printed, less what was typed and is `known`."""
    given = list(map(str, arguments))
    done = CliRunner().invoke(main, [*given, "--language", "es"], input=typed)
    assert done.exit_code == code, done.output
    assert MASK in done.output, done.output
    files = re.findall(r"\S*/\S+", done.output)
    told = f"{' '.join(given)} {typed} {known} {' '.join(files)} companion UTC"
    return {word for word in words_of(done.output) if MASK not in word} - words_of(told)


@pytest.fixture
def record(tmp_path: Path) -> Path:
    """A job that is over, one that is not, and a third with a voice."""
    path = tmp_path / "taller.sqlite"
    clips = ClipStore(clips_folder(path))
    with open_record(path, FixedClock("2031-05-06T08:00:00.000Z", step_ms=700)) as database:
        over = SqliteLog(database, database.create_session("lunes"), clips)
        over.append([Entry("finished", {"result": "inside"})])
        SqliteLog(database, database.create_session("martes"), clips).append([Entry("said", {})])
        stopped = SqliteLog(database, database.create_session("voz"), clips)
        clip = clips.put(b"\x01\x00" * 4000)
        stopped.append([Entry("heard", {"words": "sí", "clip_sha256": clip})])
        stopped.append([Entry("stopped", {"why": "x"})])
    return path


def without_hashes(left: set[str]) -> set[str]:
    return {word for word in left if not re.fullmatch("[a-f]+", word)}


def test_visits(record: Path) -> None:
    at = ("--record", record)
    assert unmasked("visit", "list", *at) == set()
    entered = ("--order", "4711", "--plate", "EX 123")
    assert unmasked("visit", "new", *entered, *at, known="start visit forget") == set()
    vin = "1M8GDM9AXKP042788"
    answers = f"4712\nEX 124\nABC\n{vin}\n\n{vin}\n{YES}\nmuchos\n48210\nruido\n"
    parts = f"{' '.join(in_groups(vin))} GDM AXKP VIN km start visit forget"
    assert unmasked("visit", "new", "--ask", *at, typed=answers, known=parts) == set()
    assert unmasked("visit", "list", *at, known=f"EX {parts}") == set()
    assert unmasked("visit", "list", "nadie", *at) == set()
    assert unmasked("visit", "show", "last", *at, known=f"EX ruido {parts}") == set()
    assert unmasked("visit", "show", "nadie", *at, code=7, known="visit list") == set()
    assert unmasked("visit", "change", "last", "--odometer-km", "5", *at) == set()
    assert unmasked("visit", "change", "last", "--vin", "I", *at, code=1, known="VIN") == set()
    codes = ("visit", "codes", "last", "--before", "U0A1B")
    assert unmasked(*codes, *at) == set()
    assert unmasked("visit", "codes", "last", "--before", "x" * 300, *at, code=7) == set()
    frame = "Usage OPTIONS NAME Try help for Error main"
    assert unmasked("visit", "codes", *at, code=2, known=f"{frame} before after none") == set()
    assert unmasked("visit", "close", "last", *at) == set()
    assert unmasked("visit", "forget", "--days", "0", *at, code=7, typed=f"{YES}\n") == set()
    assert unmasked("visit", "forget", *at, code=1, typed="quizá\n\n") == set()


def test_sign_offs_and_people(record: Path, tmp_path: Path) -> None:
    at = ("--record", record)
    by = ("sign", "lunes", "--by", "Ana", *at)
    assert unmasked(*by, code=7, known="role") == set()
    twice = ("sign", "lunes", "--by", "Ana", "--role", "technician", *at)
    assert without_hashes(unmasked(*twice)) == set()
    assert without_hashes(unmasked(*twice)) == set()
    assert unmasked("sign", "martes", "--by", "Ana", *at, code=7, known="resume") == set()
    add = ("people", "add", "Berta", "--role", "supervisor", *at)
    assert unmasked(*add, typed=f"{SUPERVISORS}\n1\n{SUPERVISORS}\n{SUPERVISORS}\n") == set()
    ana = ("people", "add", "Ana", "--role", "technician", *at)
    assert unmasked(*ana, typed=f"{PIN}\n", code=7, known="Berta PIN") <= {"Berta"}
    assert unmasked(*ana, typed=f"{SUPERVISORS}\nx\nx\n", code=7, known="Berta PIN") == set()
    assert unmasked(*ana, typed=f"{SUPERVISORS}\n{PIN}\n{PIN}\n", known="Berta PIN") == set()
    assert unmasked(*ana, typed=f"{PIN}\n{PIN}\n{PIN}\n", known="PIN") == set()
    assert unmasked(*by, "--role", "supervisor", code=7) == set()
    assert without_hashes(unmasked(*by, typed=f"{PIN}\n", known="PIN")) == set()
    listed = unmasked("people", "list", *at, known="Ana Berta PIN")
    assert without_hashes(listed) == set()
    wrong = ("correct", "lunes", "--event", "1", "--now", "a", "--why", "b", "--by", "Berta", *at)
    assert unmasked(*wrong, code=7, known="finished opened said companion review show") == set()
    assert unmasked("people", "remove", "Ana", *at, typed="1\n", code=7, known="PIN") == set()
    assert unmasked("people", "remove", "Ana", *at, typed=f"{PIN}\n", known="PIN") == set()
    key = tmp_path / "clave"
    made = unmasked("keys", "make", key, typed="una\notra\nuna\nuna\n")
    assert without_hashes(made) == set()
    known = "Ana Berta PIN head seal root store box key"
    assert without_hashes(unmasked("verify", *at, known=known)) == set()


def test_seals_copies_and_exports(record: Path, tmp_path: Path) -> None:
    at = ("--record", record)
    out = tmp_path / "lunes.sello"
    sealed = CliRunner().invoke(main, ["seal", "--record", str(record)]).output
    phrase = " ".join(re.findall(r"(?<=Phrase {2}).*?(?= {2})", sealed))
    left = unmasked("seal", "--out", out, *at, known=phrase)
    assert without_hashes(left) <= words_of(phrase) | phrases() | {"bits"}
    assert unmasked("seal", "--out", out, *at, code=7) == set()
    usage = "Usage OPTIONS Try help for Error proof of out main"
    assert unmasked("seal", "--proof-of", "lunes", *at, code=2, known=usage) == set()
    assert unmasked("seal", "--record", tmp_path / "nada", code=7) == set()
    copy = tmp_path / "copia.sqlite"
    assert unmasked("backup", copy, *at) == set()
    assert unmasked("restore", copy, *at, code=7) == set()
    assert unmasked("export", "lunes", "--out", tmp_path / "l.jsonl", *at) == set()
    assert unmasked("export", "--all", "--form", "parquet", *at, code=2, known=usage) <= {
        "SESSION",
        "Parquet",
    }
    assert unmasked("verify", "--session", "nadie", *at, code=7) == set()
    assert unmasked("clips", "expire", *at, typed="n\n", code=1) == set()


def phrases() -> set[str]:
    return set(check_phrase.WORDS)


def test_a_check_of_an_unbroken_record(record: Path) -> None:
    options = "head seal root store box key"
    left = unmasked("verify", "--record", record, known=options)
    assert without_hashes(left) == set()


def test_settings(tmp_path: Path) -> None:
    names = " ".join(settings.Settings.model_fields)
    values = "true false en es yaml own typed silent speaker whole last six never say refuse first"
    values += " job always mm null sphinx vosk KEY USB Vosk VIN BTN dB sqlite"
    known = f"{names} {values} {' '.join(path.name for path in EXAMPLES.iterdir())}".replace(
        "_", " "
    )
    assert unmasked("settings", "--explain", known=known) == set()
    assert unmasked("settings", "--init", known="settings explain") == set()
    assert unmasked("settings", "--init", code=3, known="settings") == set()
    written = (tmp_path / "ajustes" / "bay-companion" / "settings.yaml").read_text("utf-8")
    comments = " ".join(line for line in written.splitlines() if line.startswith("# "))
    assert {word for word in words_of(comments) if MASK not in word} <= words_of(known)


@pytest.mark.parametrize("kind", ["vehicle", "bay", "stand", "mount"])
def test_the_shops_own_files(kind: str) -> None:
    example = " ".join(path.read_text("utf-8") for path in EXAMPLES.glob(f"{kind}*.yaml"))
    known = f"{example} start check".replace("_", " ")
    assert unmasked(kind, "list", known=f"{known} {kind}") == set()
    assert unmasked(kind, "show", f"example-{kind}", known=known) == set()
    assert unmasked(kind, "copy", f"example-{kind}", "nuestro", known=known) == set()
    assert unmasked(kind, "check", "nuestro", known=known) == set()
    there = f"{known} example my new yaml three screws {kind} nuestro"
    assert unmasked(kind, "show", "nadie", code=3, known=there) == set()
    frame = f"{known} Usage OPTIONS NAME Try help for Error force main"
    assert unmasked(kind, "new", "nuestro", code=2, known=frame) == set()


def test_a_vehicle_is_made_by_questions() -> None:
    answers = ["Coche", YES, "", "", "", "270", "nada", "2700", "1550", "1250", "1545", "800", ""]
    answers += ["520", "400; 370", "370; 400", "375", "375; 405", "0,4", "0,4", "x", "ground"]
    answers += ["10", "12", "", "", "nada", "echo_levels"]
    typed = "\n".join(answers) + "\n"
    left = unmasked("vehicle", "new", "mio", typed=typed, known="start vehicle mm")
    assert left == set()


def test_a_mount_is_made_by_questions() -> None:
    answers = ["Dos", "", "", "", "tornillo izquierdo", "60", "5", "0.8", "", "5", "5", ""]
    answers += ["tornillo superior", "-4", "55", "0.8", "right", "5", "5", ""]
    left = unmasked("mount", "new", "mio", typed="\n".join(answers) + "\n", known="start mount mm")
    assert left == set()


def test_what_a_sound_means(tmp_path: Path) -> None:
    quiet = tmp_path / "nada.wav"
    soundfile.write(quiet, np.zeros(16000, dtype=np.float32), 16000)
    spoken = load_language("es").grammar.all_words()
    step = ("--step", "plate_distance_mm")
    left = unmasked("hear", quiet, *step, code=1, known=" ".join(spoken))
    assert left == set()
    assert unmasked("hear", tmp_path / "no.wav", *step, code=5) == set()
    steps = CliRunner().invoke(main, ["hear", str(quiet), "--step", "x"]).output
    assert unmasked("hear", quiet, "--step", "x", code=3, known=steps) == set()


def test_jobs_that_are_not_there(record: Path, tmp_path: Path) -> None:
    assert unmasked("report", "--record", tmp_path / "nada", code=7) == set()
    with open_record(tmp_path / "leer.sqlite"):
        pass
    empty = ("--record", tmp_path / "leer.sqlite")
    assert unmasked("report", *empty, code=7, known="start") == set()
    assert unmasked("review", "show", "nadie", "--record", record, code=7) == set()
    ears = ("--ears", "vosk")
    assert unmasked("start", *ears, *empty, code=5, known="Vosk model fetch ears help") == set()


def test_the_report_and_the_card(record: Path, tmp_path: Path) -> None:
    out = tmp_path / "informe.html"
    assert unmasked("report", "lunes", "--record", record, "--out", out) == set()
    hand_over = ("report", "lunes", "--hand-over", "--record", record, "--out", tmp_path / "h.html")
    assert unmasked(*hand_over) == set()
    assert unmasked("card", "--out", tmp_path / "tarjeta.html") == set()
    assert unmasked("report", "lunes", "--record", record, "--out", record, code=1) == set()


def test_shipping_without_a_store(record: Path, tmp_path: Path) -> None:
    at = ("ship", "--record", record)
    assert unmasked(*at, code=9, known="store") == set()
    nowhere = f"host={tmp_path} dbname=s user=b"
    left = unmasked(*at, "--store", nowhere, code=9)
    # What the database's library says of the socket is its own.
    assert {"store", "reached"}.isdisjoint(left)


def test_the_judge_sees_a_sentence_that_code_makes(
    record: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Words, "problem", lambda self, error: "There is none.")
    assert unmasked_or_not("visit", "show", "nadie", "--record", record) >= {"There", "none"}


def unmasked_or_not(*arguments: object) -> set[str]:
    done = CliRunner().invoke(main, [*map(str, arguments), "--language", "es"])
    return words_of(done.output)


def test_both_languages_have_the_same_problems() -> None:
    english, spanish = (load_language(code).messages.arguments for code in ("en", "es"))
    assert english == spanish
    assert load_language("es").show(Message("prompt-no-if-empty")) == "s/N"
