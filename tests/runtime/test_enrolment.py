"""Enrolling: what counts as a take; folders of recordings; the command line."""

from __future__ import annotations

import csv
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
import soundfile
from click.testing import CliRunner

from companion.cli import main
from companion.commands.practising import hard_words
from companion.commands.voices import enrol_after_practice
from companion.errors import EarsError
from companion.facts.message import Message
from companion.facts.talking import How
from companion.recognition.own.evidence import Evidence
from companion.recognition.port import Heard, Refusal, StepGrammarLike, Utterance
from companion.recognition.source import read_sound
from companion.runtime import assembly
from companion.runtime.enrolment import heard_from, read_from, words_to_learn
from tests.benchmarks.ears_adapted import people_of
from tests.benchmarks.spoken_clips import Clip, read_clips, read_noises
from tests.scripted_ears import ScriptedEars

LANGUAGE = assembly.language()


class Likeliest:
    """A recogniser to which a sound is its own text."""

    name = "own"

    def load(self, grammar: StepGrammarLike) -> None:
        """Any grammar will do."""

    def evidence(self, sound: bytes) -> Evidence | None:
        text = sound.decode()
        return Evidence(text, text, (text,), -9.0, 0.0, -9.0, False) if text else None


def sure(word: str) -> Heard:
    return Utterance(None, How(word, "own", confidence=0.9), word.encode())


def weak(word: str, reason: str = "unsure") -> Heard:
    return Refusal(reason, How(ears="own"), word.encode())  # type: ignore[arg-type]


def typed(text: str) -> Heard:
    return Utterance(None, How(text, "typed", confidence=1.0))


def enrolled(*script: Heard, words: tuple[str, ...] = ("nine", "five")):
    asked: list[Message] = []
    found = heard_from(ScriptedEars(script), Likeliest(), LANGUAGE, words, asked.append)
    return found, [message.id for message in asked]


def test_every_word_is_asked_for_twice_one_round_after_the_other() -> None:
    found, asked = enrolled(sure("nine"), sure("five"), sure("nine"), sure("five"))
    assert [word for word, _ in found.said] == ["nine", "five", "nine", "five"]
    assert asked == ["voice-say"] * 4
    assert found.missed == []


def test_what_was_refused_for_weakness_is_a_take_if_it_was_the_word() -> None:
    found, _ = enrolled(weak("nine"), sure("five"), sure("nine"), sure("five"))
    assert found.said[0] == ("nine", b"nine")


def test_another_word_is_asked_for_again_and_left_out_in_the_end() -> None:
    found, asked = enrolled(
        *[sure("five")] * 3, sure("five"), weak("five"), sure("nine"), sure("five")
    )
    assert [word for word, _ in found.said] == ["five", "nine", "five"]
    assert found.missed == ["nine"]
    assert asked[:4] == ["voice-say", "voice-say-again", "voice-say-again", "voice-left-out"]


@pytest.mark.parametrize("reason", ["silence", "clipped", "too_quiet", "sound_lost"])
def test_a_spoiled_sound_is_no_take(reason: str) -> None:
    found, asked = enrolled(weak("nine", reason), sure("nine"), sure("nine"), words=("nine",))
    assert len(found.said) == 2
    assert asked == ["voice-say", "voice-say-again", "voice-say"]


def test_a_typed_line_leaves_a_word_out() -> None:
    found, _ = enrolled(typed("no"), sure("nine"), words=("nine",))
    assert [word for word, _ in found.said] == ["nine"]
    assert found.missed == ["nine"]


def test_the_words_to_learn_are_words_of_each_language() -> None:
    for code in ("en", "es"):
        language = assembly.language(code)
        words = words_to_learn(language, language.grammar.all_words())
        assert words == language.vocabulary.learned_words
        assert set(language.vocabulary.numbers.digits) <= set(words)
        assert len(set(words)) == len(words)


def test_the_hardest_words_are_asked_for_first_and_each_once() -> None:
    language = assembly.language("en")
    known = language.grammar.all_words()
    refused = {"seven left": 3, "left": 2, "marmalade": 9, "": 4}
    assert hard_words(refused) == ("marmalade", "left", "seven")
    words = words_to_learn(language, known, hard_words(refused))
    assert words[:2] == ("left", "seven")
    assert sorted(words) == sorted(words_to_learn(language, known))


@pytest.mark.parametrize("lines", [[], ["n"], ["y"], ["y", "Ana", "n"], ["maybe", ""]])
def test_practice_ends_without_a_voice_learned_where_nobody_said_yes(
    tmp_path: Path, lines: list[str]
) -> None:
    """No device is opened, no record made: a refusal is no error, nor is a keyboard that ends."""
    record = tmp_path / "record.sqlite"
    arguments = (assembly.EarsChoice("own"), assembly.VoiceChoice("silent"))
    enrol_after_practice(assembly.language("en"), record, *arguments, iter(lines), ())
    assert list(tmp_path.iterdir()) == []


# Folders of recordings.


def listed(folder: Path, *rows: tuple[str, str, str]) -> Path:
    folder.mkdir(exist_ok=True)
    soundfile.write(folder / "a.wav", np.full(8000, 0.1), 16_000)
    told = ["path\ttranscript\tspeaker", *("\t".join(row) for row in rows)]
    (folder / "speech.tsv").write_text("\n".join(told) + "\n", encoding="utf-8")
    return folder


KNOWN = frozenset({"nine", "five"})


def test_of_several_speakers_one_is_read(tmp_path: Path) -> None:
    rows = (("a.wav", "Nine", "ana"), ("a.wav", "five", "ben"), ("a.wav", "marmalade", "ana"))
    found = read_from(listed(tmp_path / "in", *rows), "Ana", KNOWN)
    assert [word for word, _ in found.said] == ["nine"]
    assert found.missed == ["marmalade"]


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ((("../a.wav", "nine", "ana"),), "outside"),
        ((("/etc/hostname", "nine", "ana"),), "outside"),
        ((("a.wav", "nine", "ben"), ("a.wav", "nine", "cid")), "nobody of its 2 speakers"),
        ((("b.wav", "nine", "ana"),), "no such sound file"),
        ((("a.wav", "marmalade", "ana"),), "no words"),
        ((), "0 rows"),
        ((("a.wav", "nine"),), "line 2"),
    ],
)
def test_what_is_no_folder_of_recordings_is_refused(tmp_path: Path, rows: tuple, told: str) -> None:
    with pytest.raises(EarsError, match=told):
        read_from(listed(tmp_path / "in", *rows), "ana", KNOWN)


def test_people_are_split_into_takes_to_enrol_and_others() -> None:
    def clips(text: str, count: int, kind: str = "word") -> list[Clip]:
        return [Clip(Path(f"{text}{n}"), kind, text, "ana", "scoring") for n in range(count)]

    several = [*clips("nine", 4), *clips("five", 2), *clips("one", 1)]
    strings = [
        one for text in ("one two", "two one", "one one") for one in clips(text, 1, "phrase")
    ]
    found = people_of([*several, *strings])
    enrol, others = found["ana"]
    assert sorted(clip.path.name for clip in others) == ["five1", "nine2", "nine3", "two one0"]
    assert len(enrol) == len(several) + len(strings) - 4
    assert people_of(clips("nine", 4)) == {}


# The command line, with a synthetic voice.


@pytest.fixture(scope="module")
def recordings(tmp_path_factory: pytest.TempPathFactory) -> Path:
    program = shutil.which("flite")
    if program is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    folder = tmp_path_factory.mktemp("recordings")
    rows = []
    for word in ("nine", "five", "done"):
        file = folder / f"{word}.wav"
        subprocess.run([program, "-voice", "awb", "-t", word, "-o", file], check=True)
        samples = np.frombuffer(bytes(9600) + read_sound(file) + bytes(12800), "<i2")
        soundfile.write(file, samples, 16_000)
        rows.append((file.name, word, "awb"))
    told = ["path\ttranscript\tspeaker", *("\t".join(row) for row in rows)]
    (folder / "speech.tsv").write_text("\n".join(told) + "\n", encoding="utf-8")
    return folder


def companion(*words: object, answers: str | None = None) -> str:
    done = CliRunner().invoke(main, [str(word) for word in words], input=answers)
    assert done.exit_code == 0, done.output
    return done.output


def test_a_voice_is_enrolled_listed_exported_and_forgotten(
    tmp_path: Path, recordings: Path
) -> None:
    record, out = tmp_path / "bay.record", tmp_path / "out"
    asks = companion(
        "voice", "enrol", "Ana Example", "--record", record, "--from", recordings, answers="y\ny\n"
    )
    assert "personal data" in asks
    assert "Learned the voice of Ana Example from 3 sounds" in asks
    version = asks.rsplit("version ", 1)[1].split(".")[0]
    assert version in companion("voice", "list", "--record", record)
    assert version in companion("voice", "learn", "ana example", "--record", record)

    companion("voice", "export", "Ana Example", out, "--record", record)
    with (out / "speech.tsv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    assert [row["transcript"] for row in rows] == ["nine", "five", "done"]
    assert all("Ana" not in value for row in rows for value in row.values())
    assert [clip.transcript for clip in read_clips(out)] == ["nine", "five", "done"]
    assert read_noises(out) == []
    assert all(len(clip.samples()) > 8000 for clip in read_clips(out))

    assert "Forgotten" in companion("voice", "forget", "Ana Example", "--record", record, "--yes")
    assert "No voice" in companion("voice", "list", "--record", record)
    assert not [file for file in tmp_path.rglob("*") if "voices" in str(file) and file.is_file()]


def test_without_a_yes_nothing_is_kept(tmp_path: Path, recordings: Path) -> None:
    record = tmp_path / "bay.record"
    done = CliRunner().invoke(
        main,
        ["voice", "enrol", "Ana", "--record", str(record), "--from", str(recordings)],
        input="n\n",
    )
    assert done.exit_code == EarsError.exit_code
    assert not list(tmp_path.rglob("*.npz"))


def test_features_alone_are_not_exported(tmp_path: Path, recordings: Path) -> None:
    record = tmp_path / "bay.record"
    given = ("--record", record, "--from", recordings, "--consent", "features")
    companion("voice", "enrol", "Ana Example", *given)
    assert not list(tmp_path.rglob("*.flac"))
    done = CliRunner().invoke(
        main, ["voice", "export", "Ana Example", str(tmp_path / "out"), "--record", str(record)]
    )
    assert done.exit_code == EarsError.exit_code
    assert "no sound of Ana Example" in done.output
