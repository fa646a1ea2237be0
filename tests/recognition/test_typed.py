"""Typed answers come through the same port."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from io import StringIO

import pytest

from companion.recognition.port import Ears, Listening, SoundEnded, Utterance
from companion.recognition.typed import TypedEars, with_signs_of_life


@pytest.fixture
def listening(spoken_list: Callable[..., object]) -> Listening:
    return Listening("stand height", spoken_list("yes", "no"), 5.0)  # type: ignore[arg-type]


def test_a_typed_line_is_a_certain_utterance(listening: Listening) -> None:
    ears: Ears = TypedEars(StringIO("  Seven  SEVEN five \n"))
    heard = ears.hear(listening)
    assert isinstance(heard, Utterance)
    assert (heard.words, heard.how.confidence, heard.sound) == ("seven seven five", 1.0, b"")
    assert heard.how.n_best == ("seven seven five",)


def test_typed_times_come_from_the_clock_given(listening: Listening) -> None:
    clock = iter([100.0, 101.0, 104.5])
    heard = TypedEars(["yes"], lambda: next(clock)).hear(listening)
    assert isinstance(heard, Utterance)
    assert (heard.how.start_s, heard.how.end_s) == (1.0, 4.5)


def test_an_empty_line_is_no_answer_and_the_next_one_counts(listening: Listening) -> None:
    ears = TypedEars(["   \n", "\n", "yes\n", "\n"])
    heard = ears.hear(listening)
    assert isinstance(heard, Utterance)
    assert heard.words == "yes"
    with pytest.raises(SoundEnded):
        ears.hear(listening)


def test_while_a_line_is_waited_for_there_are_signs_of_life(listening: Listening) -> None:
    came, signs = threading.Event(), []

    def lines() -> Iterator[str]:
        assert came.wait(20)
        yield "yes\n"

    def alive() -> None:
        signs.append("alive")
        if len(signs) == 3:
            came.set()

    ears = TypedEars(with_signs_of_life(lines(), alive, 0.01))
    heard = ears.hear(listening)
    assert (heard.words, len(signs) >= 3) == ("yes", True)
    with pytest.raises(SoundEnded):
        ears.hear(listening)


def test_a_line_is_read_only_when_one_is_wanted(listening: Listening) -> None:
    reads: list[int] = []

    def lines() -> Iterator[str]:
        for number in range(3):
            reads.append(number)
            yield "yes\n"

    ears = TypedEars(with_signs_of_life(lines(), lambda: None, 20.0))
    for number in range(3):
        ears.hear(listening)
        assert reads == list(range(number + 1))


def test_the_end_of_the_typed_text_ends_the_listening(listening: Listening) -> None:
    with pytest.raises(SoundEnded, match="stand height"):
        TypedEars([]).hear(listening)
