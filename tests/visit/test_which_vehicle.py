"""Which of the shop's vehicles it is: asked first, said back, kept in the record, taken over."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.facts.meanings import Command
from companion.facts.opening import Opened, VehicleChoice
from companion.facts.talking import How
from companion.job.loader import EXAMPLES
from companion.job.own_files import listed, own_folder
from companion.language.language import Language
from companion.language.listed import Listed, ListedGrammar
from companion.language.loader import load_language
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import Ears, Refusal, Utterance
from companion.record.database import open_for_reading
from companion.runtime.aloud import Aloud
from companion.runtime.vehicle_aloud import VehicleAloud, VehicleLeft
from companion.speech.silent import SilentVoice
from tests.scripted_ears import ScriptedEars

SHOP = {
    "blue-one": "Blue estate",
    "green-g4": "Green four",
    "grey-one": "Grey hatchback",
    "red-van": "Red van",
    "white-t": "White transporter",
}


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five vehicles of its own, and for one of them a mount."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "conf"))
    for kind, names in (("vehicle", SHOP), ("mount", {"grey-one": "Grey mount"})):
        own_folder(kind).mkdir(parents=True)
        example = (EXAMPLES / f"{kind}.yaml").read_text("utf-8")
        was = next(line for line in example.splitlines() if line.startswith("name: "))
        for name, told in names.items():
            text = example.replace(was, f"name: {told}").replace("example: true", "example: false")
            (own_folder(kind) / f"{name}.yaml").write_text(text, "utf-8")


def run(record: Path, *arguments: str, typed: Iterable[str] = ()) -> Result:
    lines = "".join(f"{line}\n" for line in typed)
    return CliRunner().invoke(main, [*arguments, "--record", str(record)], input=lines)


def jobs(record: Path) -> list[Opened]:
    with open_for_reading(record) as database:
        firsts = [next(database.events(s.session_id), None) for s in database.newest_first()]
    return [one.fact for one in firsts if one is not None and isinstance(one.fact, Opened)]


LEAVES = ("stop", "cancel", "yes")


@pytest.mark.parametrize(
    ("said", "chosen"),
    [
        (["two", "yes"], "green-g4"),
        (["2", "y"], "green-g4"),
        (["vehicle two", "yes"], "green-g4"),
        (["number four", "yes"], "red-van"),
        (["grey-one", "yes"], "grey-one"),
        (["Grey hatchback", "yes"], "grey-one"),
        (["golf romeo", "three", "yes"], "grey-one"),
        (["bravo", "yes"], "blue-one"),
        (["continue", "five", "yes"], "white-t"),
        (["one", "no", "four", "yes"], "red-van"),
        (["nine", "four", "yes"], "red-van"),
    ],
)
def test_a_job_asks_which_vehicle_before_anything_else(
    tmp_path: Path, said: list[str], chosen: str
) -> None:
    record = tmp_path / "r.sqlite"
    told = run(record, "start", typed=(*said, *LEAVES))
    (opened,) = jobs(record)
    assert opened.vehicle["name"] == SHOP[chosen], told.output
    assert opened.vehicle_choice is not None
    assert opened.vehicle_choice.name == chosen
    assert opened.vehicle_choice.offered == tuple(SHOP)
    assert told.output.index("Which vehicle?") < told.output.index("session")
    assert f"{SHOP[chosen]}. Yes or no?" in told.output


def test_it_asks_in_spanish(tmp_path: Path) -> None:
    record = tmp_path / "r.sqlite"
    told = run(record, "start", "--language", "es", typed=("vehículo dos", "sí", "alto"))
    assert "¿Qué vehículo?" in told.output
    assert "Green four. ¿Sí o no?" in told.output
    (opened,) = jobs(record)
    assert opened.vehicle_choice == VehicleChoice(
        "green-g4", tuple(SHOP), "vehículo dos", "typed", "es"
    )


@pytest.mark.parametrize(
    "said", [["stop"], ["two", "stop"], ["two", "maybe", "er", "well", "hm"], ["hello"] * 4]
)
def test_without_a_yes_no_job_begins(tmp_path: Path, said: list[str]) -> None:
    record = tmp_path / "r.sqlite"
    told = run(record, "start", typed=said)
    assert told.exit_code != 0
    assert "companion start --vehicle NAME" in told.output
    assert not jobs(record)


@pytest.mark.parametrize("how", ["named", "no own vehicle"])
def test_it_is_not_asked_where_it_is_known_or_there_is_none(tmp_path: Path, how: str) -> None:
    record, more = tmp_path / "r.sqlite", ["--vehicle", "red-van"] if how == "named" else []
    if how != "named":
        for file in own_folder("vehicle").iterdir():
            file.unlink()
    told = run(record, "start", *more, typed=LEAVES)
    assert "Which vehicle?" not in told.output
    (opened,) = jobs(record)
    assert opened.vehicle_choice is None


def test_the_mount_goes_with_its_vehicle(tmp_path: Path) -> None:
    record = tmp_path / "r.sqlite"
    run(record, "start", typed=("three", "yes", *LEAVES))
    run(record, "start", typed=("four", "yes", *LEAVES))
    assert [job.mount["name"] for job in jobs(record)] == [
        "Example two-screw mount",
        "Grey mount",
    ]
    file = own_folder("vehicle") / "red-van.yaml"
    file.write_text(f"{file.read_text('utf-8')}mount: grey one\n", "utf-8")
    run(record, "start", typed=("four", "yes", *LEAVES))
    assert jobs(record)[0].mount["name"] == "Grey mount"


def test_the_visit_knows_it_and_its_jobs_take_it_over(tmp_path: Path) -> None:
    record = tmp_path / "r.sqlite"
    made = run(record, "visit", "new", "--ask", typed=("4711", "", "", "", "", "red", "yes"))
    assert "Red van. Yes or no?" in made.output
    assert "Red van (red-van)" in run(record, "visit", "show").output
    for _ in range(2):
        told = run(record, "start", "--visit", "last", typed=LEAVES)
        assert "Which vehicle?" not in told.output
        assert "Vehicle of this visit: Red van." in told.output
    assert {(job.vehicle["name"], bool(job.vehicle_of_visit)) for job in jobs(record)} == {
        ("Red van", True)
    }
    assert run(record, "verify").exit_code == 0


def test_a_visit_made_by_its_job_knows_the_vehicle_of_that_job(tmp_path: Path) -> None:
    record = tmp_path / "r.sqlite"
    run(record, "start", typed=("two", "yes", *LEAVES))
    told = run(record, "start", "--visit", "last", typed=LEAVES)
    assert "Vehicle of this visit: Green four." in told.output
    again = run(record, "start", typed=("one", "yes", *LEAVES))
    assert "Last time it was 2, Green four." in again.output


def test_an_interrupted_job_goes_on_with_the_vehicle_that_was_chosen(tmp_path: Path) -> None:
    record = tmp_path / "r.sqlite"
    run(record, "start", typed=("three", "yes"))
    told = run(record, "resume", typed=LEAVES)
    assert "Grey hatchback" in told.output, told.output
    assert "We were at" in told.output


def test_the_report_tells_how_it_was_chosen(tmp_path: Path) -> None:
    record, report = tmp_path / "r.sqlite", tmp_path / "r.html"
    run(record, "start", typed=("three", "yes", *LEAVES))
    run(record, "report", "--out", str(report))
    assert "vehicle Grey hatchback, chosen of 5" in report.read_text("utf-8")


class Conversation:
    """One that is asked aloud, with all that was said and shown."""

    def __init__(self, ears: Ears, lacking: Callable[[frozenset[str]], frozenset[str]]) -> None:
        self.shown: list[str] = []
        self.voice = SilentVoice()
        talk = Aloud(ears, self.voice, load_language(), self.shown.append)
        own = [one for one in listed("vehicle") if not one.example]
        self.aloud = VehicleAloud(talk, own, lacking)


def nothing(_: frozenset[str]) -> frozenset[str]:
    return frozenset()


def test_no_more_is_said_than_is_kept_in_mind_and_all_are_shown() -> None:
    told = Conversation(ScriptedEars(["continue", "repeat", "five", "yes"]), nothing)
    chosen, _ = told.aloud.choose()
    assert chosen.name == "white-t"
    asked = [said for said in told.voice.texts if said.startswith("Which vehicle?")]
    assert asked[0] == (
        "Which vehicle? One, Blue estate. Two, Green four. Three, Grey hatchback. Four, Red van. "
        "Or say continue."
    )
    assert asked[1] == asked[2] == "Which vehicle? Five, White transporter."
    assert all(any(name in line for line in told.shown) for name in SHOP)


def test_silence_and_what_is_unsure_choose_nothing() -> None:
    unsure, silence = (Refusal(why, How(w, "t")) for why, w in (("unsure", "two"), ("silence", "")))
    answers: list[str | Utterance | Refusal] = ["two", silence, unsure, silence, silence]
    with pytest.raises(VehicleLeft):
        Conversation(ScriptedEars(answers), nothing).aloud.choose()
    with pytest.raises(VehicleLeft):
        Conversation(ScriptedEars([unsure] * 4), nothing).aloud.choose()


@pytest.mark.parametrize("code", ["en", "es"])
def test_machine_and_parser_take_the_same_and_a_number_always_does(code: str) -> None:
    language, rng = load_language(code), random.Random(7)
    grammar = grammar_of(language)
    for _ in range(400):
        state, said = 0, list[str]()
        while not grammar.is_end(state) or rng.random() < 0.3:
            arcs = sorted(set(grammar.arcs(state)))
            if not arcs:
                break
            word, state = rng.choice(arcs)
            said.append(word)
        if grammar.is_end(state):
            assert grammar.parse(" ".join(said)) is not None, said
    for place in range(1, 13):
        assert grammar.parse(grammar.typed(str(place))) == Listed((place,))
    stop = language.grammar.command_phrase("stop")
    assert grammar.parse(stop) == Command("stop")


def grammar_of(language: Language) -> ListedGrammar:
    lacking = OwnRecogniser(language=language.code).missing_words
    return language.listed([(f"Sort {n}", f"sort-{n}") for n in range(1, 13)], lacking)
