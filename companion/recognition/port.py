"""What the ears offer to the rest of the program, and what they need from their parts.

All sound in this room has one shape: 16 kHz, one channel, signed 16-bit little-endian samples,
cut into frames of 30 ms, whether it comes from a microphone, a file or memory.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Literal, Protocol, runtime_checkable

from companion.errors import EarsError
from companion.facts.talking import How
from companion.recognition.into import Begun, BeingSaid

SAMPLE_RATE_HZ = 16_000
SAMPLE_BYTES = 2
FRAME_S = 0.03
FRAME_BYTES = 960
"""Bytes in one frame: 480 samples of two bytes."""

RefusalReason = Literal[
    "silence",
    "too_loud",
    "too_quiet",
    "clipped",
    "not_in_grammar",
    "unsure",
    "too_long",
    "sound_lost",
    "no_microphone",
]


class SoundEnded(EarsError):
    """The source has no more sound (or the typed text no more lines): listening is over."""


class WordAutomaton(Protocol):
    """What may be said as a machine of words; states are numbers, 0 is the start."""

    def arcs(self, state: int) -> Iterator[tuple[str, int]]:
        """Every word that may come next, with a state that it leads to; it may lead to several."""
        ...

    def is_end(self, state: int) -> bool:
        """Whether a sentence may end here."""
        ...


class StepGrammarLike(Protocol):
    """What may be said at this step, in the forms that recognisers want, and what it means."""

    @property
    def automaton(self) -> WordAutomaton:
        """The language as a machine of words."""
        ...

    def jsgf(self) -> str:
        """The language as JSGF 1.0 text with one public rule."""
        ...

    def phrases(self) -> tuple[str, ...]:
        """Phrases and single words that cover the language (a recogniser may hear more)."""
        ...

    def words(self) -> frozenset[str]:
        """Every word of the language, in lower case."""
        ...

    def parse(self, text: str) -> object | None:
        """What the words mean, comparable by `==`; None when they are not of the language."""
        ...


Expects = Callable[[object], bool]
"""Whether an answer of this meaning is likely. It refuses nothing: an answer that is not likely
and could go on ("two" of "two four one") is given more time to do so."""


@dataclass(frozen=True)
class Listening:
    """One turn of listening: under which prompt, for what, and for how long.

    `timeout_s` is the longest wait for speech to begin, counted in seconds of sound. Without
    `expects` every answer is as likely as any other. `begun`: the answer began while the companion
    spoke.
    """

    prompt_id: str
    grammar: StepGrammarLike
    timeout_s: float
    expects: Expects | None = None
    begun: Begun | None = None


@dataclass(frozen=True)
class Levels:
    """Loudness of one utterance with its lead-in and tail.

    `background_dbfs`: the tenth percentile of the frames' levels; `speech_dbfs`: mean power of
    the frames within 20 dB of the loudest; both relative to full scale (RMS).
    `clipped_share`: share of samples inside runs of three or more at full scale.
    """

    background_dbfs: float
    speech_dbfs: float
    clipped_share: float

    @property
    def speech_above_background_db(self) -> float:
        """How far speech stands out."""
        return self.speech_dbfs - self.background_dbfs

    def __str__(self) -> str:
        return f"speech {self.speech_dbfs:.0f} dBFS, background {self.background_dbfs:.0f} dBFS"


@dataclass(frozen=True)
class Utterance:
    """Words that were heard with enough evidence, or typed.

    `meaning`: as the strict parser has it, None for words outside of the grammar, which count for
    nothing. `how`: as the record keeps it; its times count from the start of the source, and the
    decision was made at the end. `sound` is empty when typed.
    """

    meaning: object | None
    how: How
    sound: bytes = field(default=b"", repr=False)

    @property
    def words(self) -> str:
        """The words heard."""
        return self.how.words


@dataclass(frozen=True)
class Refusal:
    """Nothing was accepted, and why.

    `how` has the best guess at the words ("" if none), `meaning` what they mean: enough for a
    "stop" or "wait", which may act on weak evidence, never for a number or a "yes".
    """

    reason: RefusalReason
    how: How
    sound: bytes = field(default=b"", repr=False)
    meaning: object | None = None

    @property
    def words(self) -> str:
        """The best guess at the words."""
        return self.how.words


Heard = Utterance | Refusal


def in_words(
    words: str, grammar: StepGrammarLike, ears: str, start_s: float = 0.0, end_s: float = 0.0
) -> Utterance:
    """Words that need no ears: they are what they are."""
    how = How(words, ears, None, 1.0, start_s, end_s, (words,))
    return Utterance(grammar.parse(words), how)


class Ears(Protocol):
    """The port: one call, one answer or one refusal."""

    name: str

    def hear(self, listening: Listening) -> Heard:
        """Wait for one utterance.

        Raises `SoundEnded` if the source is used up, `EarsError` if it cannot be used.
        """
        ...

    def close(self) -> None:
        """Let go of the device or file; harmless when called twice."""
        ...


@dataclass(frozen=True)
class Recognition:
    """What a recogniser makes of one utterance; nothing of it is to be believed yet.

    `words` is "" when the sound fits nothing in the grammar, and `meaning` then None, as for words
    that are none of its sentences; `n_best` starts with `words`; `detail` is for the record, in
    words and numbers. Who cut the utterance out of a stream adds its sound, with a lead-in before
    it, and its times, in seconds from the first frame.
    """

    words: str
    meaning: object | None
    confidence: float
    n_best: tuple[str, ...]
    detail: str
    sound: bytes = field(default=b"", repr=False)
    start_s: float = 0.0
    end_s: float = 0.0


class StreamEndpointer(Protocol):
    """Finds utterances in a stream by what is said in it."""

    def begin(self, expects: Expects | None = None) -> None:
        """A new turn: what was given before counts for nothing any more."""
        ...

    def follow(self, frame: bytes) -> Recognition | Refusal | None:
        """One more frame; tells of an utterance as soon as it is over, or is too long."""
        ...

    def end(self) -> Recognition | Refusal | None:
        """The stream has ended: what is there is all there will be."""
        ...

    def speaking(self) -> bool:
        """Whether somebody is speaking, as far as can be told."""
        ...


@runtime_checkable
class StreamingRecogniser(Protocol):
    """A recogniser that finds utterances by itself."""

    def endpointer(self) -> StreamEndpointer:
        """An endpointer of one stream; it uses the grammar loaded at the time."""
        ...


class Recogniser(Protocol):
    """Turns the sound of one utterance into words of the loaded grammar.

    `least_confidence` is the measured limit below which its words are not to be believed, and
    `least_resemblance` the lower one below which the sound was something else altogether.
    """

    name: str
    least_confidence: float
    least_resemblance: float

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """The words that this recogniser could never hear."""
        ...

    def load(self, grammar: StepGrammarLike) -> None:
        """Make this grammar the current one; cheap when it was loaded before.

        Raises `EarsError` if it holds words that could never be heard.
        """
        ...

    def recognise(self, sound: bytes) -> Recognition:
        """Recognise one whole utterance (16 kHz mono s16le) with the current grammar."""
        ...


@runtime_checkable
class OverhearingEars(Protocol):
    """Ears that can listen while the companion speaks."""

    def overhear(self, said: BeingSaid, stop: Listening) -> Begun | Utterance | None:
        """What somebody says into it: an answer that has begun, or "stop"; None when it has ended.

        `stop`: how to listen for "stop" and nothing else, under the prompt that is said.
        """
        ...


@runtime_checkable
class RoomListener(Protocol):
    """Ears that can listen to the room while nobody is asked to speak."""

    def room_sound(self, seconds: float) -> bytes:
        """So much sound (16 kHz mono s16le), or less where it breaks off."""
        ...


class SoundSource(Protocol):
    """Where frames come from. One source has one stream: `frames` is called once."""

    def frames(self) -> Iterator[bytes]:
        """Frames of `FRAME_BYTES`; an empty frame says that sound was lost at this point."""
        ...

    def flush(self, *, deaf: bool = True) -> None:
        """Forget sound that is waiting (what was heard while speaking); files have none.

        `deaf`: and what comes within the deaf time, where the source has one.
        """
        ...

    def close(self) -> None:
        """Let go of the device; harmless when called twice."""
        ...
