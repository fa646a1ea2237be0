"""When an answer is over, and what both heads are asked meanwhile: a scripted listener."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from companion.recognition.own.completion import Completion
from companion.recognition.own.endpointer import HeadEndpointer, HeadEndpointSettings
from companion.recognition.own.head import Judged
from companion.recognition.own.mel import SAMPLES_PER_VECTOR
from companion.recognition.own.search import Hearing, Sentence
from companion.recognition.port import FRAME_S, SAMPLE_RATE_HZ, Expects, Recognition

SAMPLES_PER_FRAME = round(FRAME_S * SAMPLE_RATE_HZ)
SETTINGS = HeadEndpointSettings()


class Listener:
    """Hears speech wherever it is loud, and a word for each stretch of it.

    `sure_after_s`: both heads are sure of a sound that is quiet for so long at its end.
    """

    def __init__(self, completion: Completion, sure_after_s: float = 0.0) -> None:
        self.looks = 0
        self.asked: list[tuple[str, float]] = []
        self.at_the_end = 0
        self._completion: Completion = completion
        self._sure_after_s = sure_after_s
        self._words: tuple[str, ...] = ()

    def judge(self, samples: np.ndarray) -> Judged:
        self.looks += 1
        count = len(samples) // SAMPLES_PER_VECTOR
        loud = np.abs(samples[: count * SAMPLES_PER_VECTOR]).reshape(count, -1).max(axis=1) > 0.1
        stretches = int(np.count_nonzero(np.diff(np.concatenate([[0], loud])) > 0))
        self._words = ("five",) * stretches
        return Judged(np.log(np.full((count, 2), 0.5, np.float32)), loud.astype(np.float32))

    def so_far(self, tokens: np.ndarray) -> Hearing:
        said = Sentence(self._words, -0.1)
        return Hearing((said,), free=0.0, share=1.0, unfinished=-9.0, state=1)

    def completion(self, so_far: Hearing, expects: Expects | None) -> Completion:
        return self._completion

    def recognise(self, sound: bytes) -> Recognition:
        self.at_the_end += 1
        return self._told()

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        loud = np.flatnonzero(np.abs(np.frombuffer(sound, "<i2")) > 3000)
        quiet_s = (len(sound) // 2 - loud[-1] - 1) / SAMPLE_RATE_HZ
        self.asked.append((" ".join(self._words), quiet_s))
        return self._told() if quiet_s >= self._sure_after_s else None

    def _told(self) -> Recognition:
        return Recognition(" ".join(self._words), None, 0.9, (), "")


def stream(*stretches: tuple[str, float]) -> list[bytes]:
    """Loud and quiet stretches in a row, cut into frames."""
    generator = np.random.default_rng(1)
    pieces = [
        generator.normal(0.0, 6000.0 if kind == "loud" else 20.0, round(seconds * SAMPLE_RATE_HZ))
        for kind, seconds in stretches
    ]
    samples = np.clip(np.concatenate(pieces), -32768, 32767).astype("<i2")
    whole = len(samples) // SAMPLES_PER_FRAME * SAMPLES_PER_FRAME
    return [frame.tobytes() for frame in samples[:whole].reshape(-1, SAMPLES_PER_FRAME)]


def followed(listener: Listener, frames: list[bytes]) -> Recognition:
    endpointer = HeadEndpointer(listener, SETTINGS)
    found = next(filter(None, map(endpointer.follow, frames)), None)
    assert isinstance(found, Recognition)
    return found


ONE_WORD = (("quiet", 0.9), ("loud", 0.6), ("quiet", 2.0))
ENDS_S = 1.5


@pytest.mark.parametrize(
    ("completion", "pause_s"),
    [("over", SETTINGS.over_s), ("complete", SETTINGS.complete_s)],
)
def test_both_heads_are_asked_once_while_the_pause_is_waited_for(
    completion: Completion, pause_s: float
) -> None:
    listener = Listener(completion)
    found = followed(listener, stream(*ONE_WORD))
    assert pause_s <= found.end_s - ENDS_S < pause_s + 2.5 * FRAME_S
    ((words, quiet_s),) = listener.asked
    assert words == "five"
    assert quiet_s < SETTINGS.complete_s
    assert listener.at_the_end == 0


def test_where_they_were_not_sure_they_are_asked_once_more_at_the_end_of_the_pause() -> None:
    listener = Listener("complete", sure_after_s=SETTINGS.complete_s - 0.02)
    found = followed(listener, stream(*ONE_WORD))
    assert found.end_s - ENDS_S < SETTINGS.complete_s + 2.5 * FRAME_S
    assert [words for words, _ in listener.asked] == ["five", "five"]
    assert listener.at_the_end == 0


def test_where_they_are_never_sure_they_are_asked_twice_and_then_the_pause_decides() -> None:
    listener = Listener("complete", sure_after_s=9.0)
    found = followed(listener, stream(*ONE_WORD))
    assert SETTINGS.whole_s <= found.end_s - ENDS_S < SETTINGS.whole_s + 2.5 * FRAME_S
    assert len(listener.asked) == 2
    assert listener.at_the_end == 1


def test_what_was_heard_before_somebody_went_on_is_not_the_answer() -> None:
    listener = Listener("complete")
    frames = stream(("quiet", 0.9), ("loud", 0.6), ("quiet", 0.08), ("loud", 0.6), ("quiet", 2.0))
    found = followed(listener, frames)
    assert found.words == "five five"
    assert found.end_s > 2.1
    assert [words for words, _ in listener.asked] == ["five", "five five"]


@pytest.mark.parametrize("completion", ["whole", "open", "unfinished"])
def test_where_more_may_come_both_heads_wait_with_whoever_speaks(completion: Completion) -> None:
    listener = Listener(completion)
    followed(listener, stream(*ONE_WORD))
    assert listener.asked == []
    assert listener.at_the_end == 1


def test_once_the_level_is_low_it_is_looked_at_more_often(monkeypatch: pytest.MonkeyPatch) -> None:
    """The head holds speech for going on a little longer than it does."""

    def looks(low_for_s: float) -> int:
        listener = Listener("over")
        real: Callable[[np.ndarray], Judged] = listener.judge

        def judge(samples: np.ndarray) -> Judged:
            judged = real(samples)
            judged.speech[:] = 1.0
            return judged

        monkeypatch.setattr(listener, "judge", judge)
        endpointer = HeadEndpointer(listener, SETTINGS)
        for frame in stream(("quiet", 0.9), ("loud", 1.2)):
            endpointer.follow(frame)
        before = listener.looks
        for frame in stream(("quiet", low_for_s) if low_for_s else ("loud", 0.6)):
            endpointer.follow(frame)
        return listener.looks - before

    assert looks(0.6) > looks(0.0)


@pytest.mark.parametrize("more_s", [step / 100 for step in range(9)])
def test_sure_words_that_nothing_can_follow_are_taken_at_the_first_frame_behind_the_pause(
    more_s: float,
) -> None:
    """Wherever between two looks the speech ends; the head judges steps of 20 ms."""
    spoken_s = 0.6 + more_s
    found = followed(Listener("over"), stream(("quiet", 0.9), ("loud", spoken_s), ("quiet", 2.0)))
    step_s = SAMPLES_PER_VECTOR / SAMPLE_RATE_HZ
    pause_s = found.end_s - 0.9 - spoken_s
    assert SETTINGS.over_s - step_s <= pause_s < SETTINGS.over_s + step_s + FRAME_S
