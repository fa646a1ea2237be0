"""What was learned of a voice: how it is worked out and kept, and that it changes no meaning."""

from __future__ import annotations

import itertools
import math
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import EarsError
from companion.language.expectation import Expectation, NumberForm
from companion.recognition.own.adaptation import Adaptation, Added, read_adaptation
from companion.recognition.own.adapting import laid_over
from companion.recognition.own.head import WORDS_FILE, packaged
from companion.recognition.own.made_noise import under_noise
from companion.recognition.own.search import Sentence
from companion.recognition.source import read_sound
from companion.runtime import assembly
from tests.recognition.hearings import hearing_of

with np.load(packaged(WORDS_FILE, "en")) as _kept:
    TOKENS = len(_kept["tokens"])
FEATURES = 256


def said_by(path: tuple[int, ...]) -> tuple[int, ...]:
    """What a way through the frames says: repeats are one, blanks are nothing."""
    runs = [token for token, _ in itertools.groupby(path)]
    return tuple(token for token in runs if token)


@pytest.mark.parametrize("said", [(1,), (2, 1), (1, 1), (2, 1, 2)])
def test_the_shares_of_words_are_those_of_all_ways_through_the_frames(
    said: tuple[int, ...],
) -> None:
    """Counted one by one, which shares nothing with the recursion."""
    frames = 6
    odds = np.random.default_rng(len(said)).random((frames, 3)).astype(np.float32) + 0.05
    heard = np.log(odds / odds.sum(axis=1, keepdims=True))
    shares = np.zeros((frames, 3))
    for path in itertools.product(range(3), repeat=frames):
        if said_by(path) == said:
            probable = math.exp(sum(float(heard[n, token]) for n, token in enumerate(path)))
            for number, token in enumerate(path):
                shares[number, token] += probable
    shares /= shares.sum(axis=1, keepdims=True)
    tokens = (0, *dict.fromkeys(said))
    found = laid_over(heard, said, tokens)
    assert found is not None
    assert np.allclose(found, shares[:, list(tokens)], atol=1e-5)


def test_more_words_than_frames_have_no_place_in_them() -> None:
    heard = np.log(np.full((2, 3), 1 / 3, np.float32))
    assert laid_over(heard, (1, 2, 1), (0, 1, 2)) is None


def added(generator: np.random.Generator, size: float = 0.1) -> Added:
    return Added(
        generator.normal(scale=size, size=(TOKENS, FEATURES)).astype(np.float32),
        generator.normal(scale=size, size=TOKENS).astype(np.float32),
    )


def adaptation(heads: str = "0123456789abcdef") -> Adaptation:
    generator = np.random.default_rng(7)
    return Adaptation.of(added(generator), added(generator), heads)


def test_what_was_learned_is_read_as_it_was_written_and_has_one_version() -> None:
    learned = adaptation()
    again = read_adaptation(learned.written(), "file")
    assert again.version == learned.version == adaptation().version
    assert again.heads == learned.heads
    assert np.array_equal(again.along.weight, learned.along.weight)
    assert adaptation("f" * 16).version != learned.version


@settings(max_examples=60, deadline=None)
@given(place=st.floats(0, 1), flip=st.integers(1, 255), cut=st.booleans())
def test_a_spoiled_file_is_refused_or_reads_as_numbers_in_range(
    place: float, flip: int, cut: bool
) -> None:
    content = bytearray(adaptation().written())
    at = min(len(content) - 1, int(place * len(content)))
    if cut:
        del content[at:]
    else:
        content[at] ^= flip
    learned = read_or_none(bytes(content))
    if learned is not None:
        assert np.all(np.isfinite(learned.words.weight))


def read_or_none(content: bytes) -> Adaptation | None:
    try:
        return read_adaptation(content, "file")
    except EarsError:
        return None


def test_numbers_beyond_all_reason_are_refused() -> None:
    large = Added(np.full((TOKENS, FEATURES), 900, np.float32), np.zeros(TOKENS, np.float32))
    with pytest.raises(EarsError, match="numbers beyond"):
        Adaptation.of(large, large, "0" * 16)


def test_made_noise_stands_as_far_below_the_speech_as_was_asked_for() -> None:
    generator = np.random.default_rng(1)
    tone = (8000 * np.sin(np.arange(16000) * 0.3)).astype("<i2").tobytes()
    for number in range(8):
        noisy = np.frombuffer(under_noise(tone, 10.0, generator), "<i2").astype(float)
        clean = np.frombuffer(tone, "<i2").astype(float)
        scale = float(noisy @ clean) / float(clean @ clean)
        noise = noisy - scale * clean
        below_db = 10 * math.log10(float(np.sum((scale * clean) ** 2) / np.sum(noise**2)))
        assert below_db == pytest.approx(10.0, abs=1.0), number


# The ears themselves.


def flite(folder: Path, text: str, voice: str = "awb") -> bytes:
    program = shutil.which("flite")
    if program is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    file = folder / f"{text.replace(' ', '_')}.wav"
    subprocess.run([program, "-voice", voice, "-t", text, "-o", file], check=True)
    return bytes(9600) + read_sound(file) + bytes(14400)


@pytest.fixture(scope="module")
def ears():
    return assembly.make_recogniser(assembly.EarsChoice("own"), assembly.language())


@pytest.fixture(scope="module")
def noisy(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Words in so much noise that most are refused."""
    folder = tmp_path_factory.mktemp("said")
    generator = np.random.default_rng(5)
    words = ("nine", "five", "four", "three", "no", "marmalade")
    return {word: under_noise(flite(folder, word), -2.0, generator) for word in words}


def strange_voice(ears, generator: np.random.Generator, word: str) -> Adaptation:
    """One that would hear one word in everything."""
    token = ears._words.head.token(word)
    both = []
    for _ in range(2):
        each = added(generator, 0.02)
        each.bias[token] = 15.0
        both.append(each)
    return Adaptation.of(both[0], both[1], ears.fingerprint)


@pytest.mark.parametrize("word", ["nine", "zero", "five"])
def test_no_voice_makes_a_word_of_another_meaning_accepted(ears, noisy, word: str) -> None:
    """Whatever was learned: what is accepted is what the ears held for likeliest by themselves."""
    grammar = assembly.language().for_step(Expectation(NumberForm("whole", 1)))
    generator = np.random.default_rng(3)
    for sound in noisy.values():
        ears.load(grammar)
        ears.use_voice(None)
        before, own = ears.recognise(sound), ears.evidence(sound)
        ears.use_voice(strange_voice(ears, generator, word))
        after = ears.recognise(sound)
        if before.confidence >= ears.least_confidence:
            assert after == before
        elif after.confidence >= ears.least_confidence:
            assert own is not None
            assert grammar.parse(after.words) == grammar.parse(own.words)
    ears.use_voice(None)


@pytest.mark.parametrize(
    ("five", "no", "taken"), [(-2.2, -9.0, True), (-2.2, -4.0, False), (-4.5, -9.0, False)]
)
def test_what_may_have_been_no_stays_refused_for_every_voice(
    ears, monkeypatch: pytest.MonkeyPatch, five: float, no: float, taken: bool
) -> None:
    """The heads as they ship hold "no" for possible, or "five" for less likely than a read-back
    wants; what was learned is sure of "five"."""
    grammar = assembly.language().for_step(Expectation(NumberForm("whole", 1), yes_no=True))

    def both(five: float, no: float):
        said = [Sentence(("five",), five), Sentence(("no",), no)]
        each = hearing_of(grammar, said, -0.1, 0.5)
        return each, [each]

    ears.load(grammar)
    monkeypatch.setattr(ears, "_hearings", lambda samples: both(five, no))
    monkeypatch.setattr(ears, "_again", lambda voice, samples: both(-0.05, -30.0))
    sound = bytes(32000)
    assert ears.recognise(sound).confidence < ears.least_confidence
    ears.use_voice(strange_voice(ears, np.random.default_rng(1), "five"))
    heard = ears.recognise(sound)
    ears.use_voice(None)
    assert (heard.words == "five" and heard.confidence >= ears.least_confidence) == taken


def test_a_voice_learned_with_other_heads_is_refused(ears) -> None:
    with pytest.raises(EarsError, match="other heads"):
        ears.use_voice(adaptation())


def test_learning_makes_a_voice_surer_of_its_own_words(ears, tmp_path: Path) -> None:
    """One take of four words in quiet; another, in noise, is then as sure or surer by the heads."""
    generator = np.random.default_rng(2)
    words = ("four", "nine", "three", "done")
    sounds = {word: flite(tmp_path, word) for word in words}
    takes = [ears.take(sounds[word], word) for word in words]
    assert all(take is not None for take in takes)
    learned = ears.learned(takes)
    surer = 0
    grammar = assembly.language().for_step(Expectation(words=words))
    ears.load(grammar)
    for word in words:
        noisy_sound = under_noise(sounds[word], 3.0, generator)
        samples = np.frombuffer(noisy_sound, "<i2").astype(np.float32) / 32768.0
        before = by_word(ears._hearings(samples), word)
        surer += by_word(ears._again(learned, samples), word) > before
    assert surer >= 3


def by_word(both, word: str) -> float:
    along, others = both
    found = [s.log_probability for h in (along, *others) for s in h.whole if s.words == (word,)]
    return float(np.mean(found)) if found else -50.0


@pytest.mark.parametrize(
    ("to_one_head", "to_the_other", "by_voice", "anything", "taken"),
    [
        (-0.1, -4.0, -0.05, -0.05, True),
        (-0.1, -11.5, -0.05, -0.05, True),
        (-0.1, -12.5, -0.05, -0.05, False),
        (-0.1, -4.0, -0.7, -0.5, True),
        (-0.1, -4.0, -0.9, -0.5, False),
        (-0.1, -4.0, -0.7, -0.2, False),
    ],
)
def test_a_word_of_one_hearing_needs_both_heads_once_the_voice_is_known(
    ears,
    monkeypatch: pytest.MonkeyPatch,
    to_one_head: float,
    to_the_other: float,
    by_voice: float,
    anything: float,
    taken: bool,
) -> None:
    """The heads as they ship refuse it; a voice may have it taken, if it is not too unlikely.

    `anything`: log probability of the best way through the frames, whatever it says.
    """
    ears.load(assembly.language().for_step(Expectation(NumberForm("whole", 1))))
    grammar = ears._grammar

    def both(first: float, second: float, free: float = -0.05):
        return tuple(
            hearing_of(grammar, [Sentence(("five",), of_five)], free, 0.5)
            for of_five in (first, second)
        )

    def shipped(samples):
        along, words = both(to_one_head, to_the_other)
        return along, [words]

    def learned(voice, samples):
        along, words = both(-0.05, 2.0 * by_voice + 0.05, anything)
        return along, [words]

    monkeypatch.setattr(ears, "_hearings", shipped)
    monkeypatch.setattr(ears, "_again", learned)
    sound = bytes(32000)
    assert ears.recognise(sound).confidence < ears.least_confidence
    ears.use_voice(strange_voice(ears, np.random.default_rng(1), "five"))
    heard = ears.recognise(sound)
    ears.use_voice(None)
    assert (heard.words == "five" and heard.confidence >= ears.least_confidence) == taken


@pytest.mark.parametrize(("told_by_voice", "taken"), [("five", True), ("nine", False)])
def test_a_word_on_which_the_heads_do_not_agree_by_the_voice_may_be_taken_if_likely_to_both(
    ears, monkeypatch: pytest.MonkeyPatch, told_by_voice: str, taken: bool
) -> None:
    """Never another word than the one that the heads as they ship held for likeliest."""
    ears.load(assembly.language().for_step(Expectation(NumberForm("whole", 1))))
    other = {"five": "nine", "nine": "five"}[told_by_voice]

    def heard(first: dict[str, float], second: dict[str, float]):
        along, words = (
            hearing_of(ears._grammar, [Sentence((w,), p) for w, p in each.items()], -0.4, 0.5)
            for each in (first, second)
        )
        return along, [words]

    monkeypatch.setattr(
        ears, "_hearings", lambda samples: heard({"five": -0.7, "nine": -3.0}, {"five": -5.0})
    )
    monkeypatch.setattr(
        ears,
        "_again",
        lambda voice, samples: heard(
            {told_by_voice: -0.05, other: -6.0}, {other: -0.6, told_by_voice: -0.9}
        ),
    )
    sound = bytes(32000)
    ears.use_voice(strange_voice(ears, np.random.default_rng(1), "five"))
    heard_by_voice = ears.recognise(sound)
    ears.use_voice(None)
    sure = heard_by_voice.confidence >= ears.least_confidence
    assert (heard_by_voice.words == "five" and sure) == taken
    assert not (sure and heard_by_voice.words == "nine")


@pytest.mark.parametrize(
    ("words", "taken"), [("four left", True), ("four three left", False), ("forty left", True)]
)
def test_no_voice_has_a_row_of_number_words_taken(
    ears, monkeypatch: pytest.MonkeyPatch, words: str, taken: bool
) -> None:
    """What is refused there is a digit that one head hears and the other does not."""
    form = NumberForm("whole", 2, directions=("left", "right"), units=("mm",))
    grammar = assembly.language().for_step(Expectation(form))
    ears.load(grammar)

    def both(likely: float):
        each = hearing_of(grammar, [Sentence(tuple(words.split()), likely)], -0.1, 0.5)
        return each, [each]

    monkeypatch.setattr(ears, "_hearings", lambda samples: both(-3.2))
    monkeypatch.setattr(ears, "_again", lambda voice, samples: both(-0.05))
    sound = bytes(32000)
    assert ears.recognise(sound).confidence < ears.least_confidence
    ears.use_voice(strange_voice(ears, np.random.default_rng(1), "four"))
    heard = ears.recognise(sound)
    ears.use_voice(None)
    assert (heard.words == words and heard.confidence >= ears.least_confidence) == taken
