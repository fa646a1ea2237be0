"""Practice: somebody who knows only what the terminal shows takes a job to its end."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from companion.cli import main
from companion.display.look import instrument_of
from companion.display.moment import InstrumentShown
from companion.display.pictures.instruments import in_letters, reading_of
from companion.facts.aim import MoveJudged
from companion.facts.instructions import TurnScrew
from companion.facts.kinds import Fact
from companion.facts.practice import BayShows
from companion.facts.prompting import Prompted
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.language.language import Language
from companion.language.words import Words
from companion.recognition.port import Heard, Listening, SoundEnded, in_words
from companion.record.database import Database, open_record
from companion.record.journal import SqliteLog
from companion.runtime import assembly
from companion.runtime.assembly import typed_words
from companion.runtime.loop import replay_record
from companion.runtime.practising import Practice, Practised
from companion.runtime.rehearsing import make_rehearsal
from companion.simulation.speakers import SyntheticSpeaker
from companion.speech.silent import SilentVoice
from tests.runtime.running import Companion

MOST_ANSWERS = 500
JOBS = Path(assembly.__file__).parents[1] / "job" / "examples"


@dataclass
class Person:
    """Reads what is printed of the instruments and types; `misreads` may get it wrong."""

    language: Language
    misreads: Callable[[str, str], str] = lambda _title, read: read
    hands: Callable[[Prompted], str | None] = lambda _prompt: None
    gives_up_at: str = ""
    shown: dict[str, BayShows] = field(default_factory=dict)
    facts: list[Fact] = field(default_factory=list)
    prompt: Said = field(default_factory=lambda: Said(None, None, "", "", "", None))
    typed: Callable[[str], str | None] = lambda line: line
    name: str = "typed"
    heard: int = 0

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)
        match fact:
            case BayShows():
                self.shown[fact.step_id] = fact
            case Said(prompt_id=str()):
                self.prompt = fact

    def hear(self, listening: Listening) -> Heard:
        self.heard += 1
        if self.heard > MOST_ANSWERS:
            raise SoundEnded("it goes round in circles")
        if self.gives_up_at and self.prompt.step_id == self.gives_up_at:
            raise SoundEnded("enough")
        asks = self.prompt.prompt or Prompted()
        if (line := self.hands(asks)) is not None:
            assert self.typed(line) is None
        said = self._answer(asks, self.prompt.step_id or "")
        words = typed_words(self.language, said, listening.grammar)
        return in_words(words, listening.grammar, self.name)

    def _answer(self, asks: Prompted, step_id: str) -> str:
        answers = self.language.grammar.answer_phrases
        match asks.answer:
            case "done":
                return answers("done")[0]
            case "yes_no":
                return answers("yes")[0]
            case "command":
                return self.language.grammar.command_phrase("carry_on")
            case "choice":
                shown = self.shown.get(step_id)
                choice = shown.choice if shown is not None else asks.choices[-1]
                return self.language.grammar.choice_phrases(choice)[0]
            case _:
                return " ".join(self._read(self.shown[name]) for name in (step_id, *asks.also))

    def _read(self, shown: BayShows) -> str:
        words = Words(self.language.code)
        ways = [words.direction(way) for way in shown.directions]
        printed = in_letters(instrument_of(shown), words)
        return self.misreads(shown.title, read(printed, ways))

    def close(self) -> None:
        pass


def read(lines: list[str], ways: Sequence[str] = ()) -> str:
    """The figure off what is printed: by the marks of a tape, or off a display of figures."""
    if display := re.fullmatch(r"\[ ([\d.,]+)(.*) \]", lines[-1]):
        way = next((way for way in ways if display[2].endswith(way)), "")
        return f"{display[1]} {way}".strip()
    pointer, marks, figures, *ends = lines
    at = pointer.index("▼")
    whole = [place for place, mark in enumerate(marks) if mark == "┼"]
    numbers = {m.start(): int(m[0]) for m in re.finditer(r"\d+", figures)}
    first, second = whole[0], whole[1]
    if not ends:
        assert numbers[second] - numbers[first] == second - first
        return str(numbers[first] + at - first)
    nought = next((p for p, n in numbers.items() if n == 0), None)
    if nought is None:
        rises = numbers[second] > numbers[first]
        nought = first - numbers[first] if rises else first + numbers[first]
    left, right = sorted(ways, key=ends[0].index)
    assert re.fullmatch(f"← {left} +{right} →", ends[0])
    way = "" if at == nought else left if at < nought else right
    return f"{abs(at - nought)} {way}".strip()


@pytest.fixture
def database(tmp_path: Path) -> Database:
    return open_record(tmp_path / "practice.sqlite")


def practise(
    database: Database, person: Person, job: str = "front_radar", stage: int | None = None
) -> Practised:
    loaded = assembly.load(JobPaths(job=JOBS / f"{job}.yaml"), person.language)
    practice = Practice(make_rehearsal(loaded, 3, language=person.language), stage)

    def typed(line: str) -> str | None:
        return next(iter(practice.typed([line], lambda _times: None)), None)

    person.typed = typed
    log = SqliteLog(database, database.create_session())
    return practice.run(loaded, person.language, person, SilentVoice(), log, watcher=person)


@pytest.mark.parametrize("code", ["en", "es"])
@pytest.mark.parametrize(
    "job", ["front_radar", "forward_camera", "rear_corner_radar", "surround_mats"]
)
def test_what_is_printed_is_enough_to_do_the_whole_job(
    database: Database, job: str, code: str
) -> None:
    person = Person(assembly.language(code))
    practised = practise(database, person, job)
    assert practised.state is not None
    assert practised.state.result not in (None, "stopped")
    assert not practised.bay.read_wrong
    assert practised.bay.readings_taken > 10
    assert not practised.refused
    if job == "front_radar":
        assert practised.state.result == "inside"
        assert practised.truly_inside


def test_a_reading_that_was_confirmed_wrongly_is_named(database: Database) -> None:
    struck: list[str] = []

    def misreads(title: str, read_: str) -> str:
        if title == "Ride height, front left" and not struck:
            struck.append(read_)
            return str(int(read_) + 3)
        return read_

    person = Person(assembly.language(), misreads, gives_up_at="level_mm_per_m")
    practised = practise(database, person)
    assert practised.state is None
    (wrong,) = practised.bay.read_wrong
    assert wrong.taken - wrong.shown == 3
    assert str(wrong.shown) == struck[0]


def test_hands_may_turn_a_screw_the_wrong_way_and_the_companion_notices(
    database: Database,
) -> None:
    struck: list[Prompted] = []

    def hands(asks: Prompted) -> str | None:
        if isinstance(asks.instruction, TurnScrew) and not struck:
            struck.append(asks)
            return "*-1"
        return None

    person = Person(assembly.language(), hands=hands)
    practised = practise(database, person)
    (otherwise,) = practised.bay.done_otherwise
    assert otherwise.times == -1
    assert otherwise.instruction == struck[0].instruction
    judged = [fact.kind for fact in person.facts if isinstance(fact, MoveJudged)]
    assert judged[0] != "as_planned"
    assert practised.state is not None
    assert practised.state.result == "inside"
    assert practised.truly_inside


def test_one_stage_alone(database: Database) -> None:
    person = Person(assembly.language())
    practised = practise(database, person, stage=10)
    assert practised.stage_done
    assert practised.state is None
    steps = {fact.step_id for fact in person.facts if isinstance(fact, Said) and fact.prompt_id}
    assert "spot_left_mm" in steps
    assert "rule_rear_left_mm" not in steps
    assert "echo_lean_towards_db" not in steps


def test_the_record_of_a_practice_is_a_job_s_with_the_instruments_beside_it(
    database: Database,
) -> None:
    person = Person(assembly.language(), gives_up_at="level_mm_per_m")
    practise(database, person)
    (session,) = (one.session_id for one in database.newest_first())
    events = list(database.events(session))
    shown = [event.fact for event in events if isinstance(event.fact, BayShows)]
    assert len(shown) > 10
    loaded = assembly.load(JobPaths(), person.language)
    state = replay_record(loaded, person.language, events)
    assert state.result is None


@pytest.mark.parametrize("value", ["0", "7", "-7", "12", "-31", "140", "-140"])
def test_a_scale_with_two_sides_is_read_as_it_is(value: str) -> None:
    words = Words("en")
    shown = InstrumentShown("Left beam", Decimal(value), "mm", Decimal(1), ("left", "right"))
    way = "left" if int(value) > 0 else "right"
    wanted = str(abs(int(value))) + (f" {way}" if int(value) else "")
    assert read(in_letters(shown, words), ("right", "left")) == wanted


def test_a_level_s_bubble_goes_to_the_higher_end() -> None:
    words = Words("en")

    def bubble(value: str, way: str) -> int:
        shown = InstrumentShown(
            "Level", Decimal(value), "mm_per_m", Decimal("0.1"), ("up", "down"), way
        )
        assert way in reading_of(shown, words)
        return in_letters(shown, words)[0].index("●")

    assert bubble("1.2", "up") < bubble("0", "") < bubble("-1.2", "down")


def test_as_a_program_with_what_is_typed_about_the_hands(tmp_path: Path) -> None:
    program = Companion(["practise", "--stage", "4"], {}, tmp_path)
    assert program.process.stdin is not None
    assert program.next_line("Only stage 4") is not None
    assert program.next_line("line laser") is not None
    program.process.stdin.write("*2\ndone\n")
    program.process.stdin.flush()
    assert "nothing is to be moved" in (program.next_line("moved now") or "")
    assert program.next_line("▼") is not None
    program.process.stdin.close()
    assert program.next_line("Practice over") is not None
    assert program.process.wait(60) == 8
    assert not list(tmp_path.rglob("*.sqlite"))


def test_who_goes_back_out_of_the_one_stage_is_told_why_it_ends() -> None:
    told = CliRunner().invoke(main, ["practise", "--stage", "4"], input="go back\n")
    assert told.exit_code == 0, told.output
    assert "goes back to stage 3, Looking first" in told.output
    assert told.output.index("goes back") < told.output.index("Practice over.")


def test_a_stage_by_voice_with_its_own_mistake_mended_and_summed_up(tmp_path: Path) -> None:
    """A synthetic voice reads the floor off, misreads one ruler, mends it, and says other words."""
    speaker = SyntheticSpeaker("slt", seed=1)
    said = (
        *("four two one four two zero", "four two nine", "the third is four one nine"),
        *("banana boat", "yes", "four one nine four one nine", "yes"),
    )
    pause = np.zeros(40_000, dtype=np.int16)
    pieces = [pause]
    for words in said:
        pieces += [np.frombuffer(speaker.say(words), dtype=np.int16), pause]
    sound, spoken = tmp_path / "said.wav", tmp_path / "companion.wav"
    soundfile.write(sound, np.concatenate(pieces), 16_000)
    heard = ("--ears", "own", "--sound", str(sound))
    done = CliRunner().invoke(
        main, ["practise", "--stage", "4", *heard, "--voice", "file", "--voice-file", str(spoken)]
    )
    assert done.exit_code == 0, done.output
    assert "hears  the third is four one nine" in done.output
    end = done.output[done.output.index("Practice over.") :]
    assert "Every reading that counted was the one shown." in end
    assert "Something was heard that was no answer, 1 time." in end
    minutes = re.search(r"the companion spoke for (\d+\.\d) of them", end)
    assert minutes is not None
    assert float(minutes[1]) == pytest.approx(soundfile.info(spoken).duration / 60.0, abs=0.2)
