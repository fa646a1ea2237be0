"""Source, endpointer and recogniser together: one answer or one refusal a turn."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import EarsError
from companion.recognition.listening import StreamEars
from companion.recognition.port import Ears, Listening, Refusal, SoundEnded, Utterance
from companion.recognition.source import FileSource, MemorySource, cut_into_frames
from companion.recognition.sphinx import SphinxRecogniser

BYTES_PER_S = 32_000


@pytest.fixture(scope="module")
def recogniser() -> SphinxRecogniser:
    return SphinxRecogniser()


@pytest.fixture
def confirming(spoken_list: Callable[..., object]) -> Listening:
    grammar = spoken_list("yes", "no", "seven seven five", "stop", "go back", "carry on")
    return Listening("confirm stand height", grammar, 4.0)  # type: ignore[arg-type]


def test_answers_in_one_sound_are_heard_turn_by_turn(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes], confirming: Listening
) -> None:
    said = ["seven seven five", "yes", "go back"]
    ears: Ears = StreamEars(MemorySource(b"".join(map(technician, said))), recogniser)
    heard = [ears.hear(confirming) for _ in said]
    assert all(isinstance(answer, Utterance) for answer in heard)
    assert [answer.words for answer in heard] == said
    last_end_s = 0.0
    for answer in heard:
        assert isinstance(answer, Utterance)
        assert last_end_s <= answer.how.start_s < answer.how.end_s
        assert len(answer.sound) == pytest.approx(
            (answer.how.end_s - answer.how.start_s) * BYTES_PER_S, abs=1
        )
        last_end_s = answer.how.end_s


def test_a_stereo_file_is_heard(
    recogniser: SphinxRecogniser,
    technician: Callable[..., bytes],
    confirming: Listening,
    tmp_path: Path,
) -> None:
    mono = np.frombuffer(technician("carry on", "rms"), "<i2")
    soundfile.write(tmp_path / "answer.flac", np.column_stack([mono, mono]), 16_000)
    heard = StreamEars(FileSource(tmp_path / "answer.flac"), recogniser).hear(confirming)
    assert isinstance(heard, Utterance)
    assert heard.words == "carry on"
    assert heard.how.ears == "pocketsphinx"


def test_other_talk_is_refused_with_the_sound_kept(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes], confirming: Listening
) -> None:
    sound = technician("the customer wants his car tonight", "rms")
    heard = StreamEars(MemorySource(sound), recogniser).hear(confirming)
    assert isinstance(heard, Refusal)
    assert heard.reason in {"not_in_grammar", "unsure"}
    assert "margin" in heard.how.detail
    assert len(heard.sound) > BYTES_PER_S


def test_silence_is_refused_then_the_sound_is_over(
    recogniser: SphinxRecogniser, quiet_room: Callable[..., bytes], confirming: Listening
) -> None:
    ears = StreamEars(MemorySource(quiet_room(1.0)), recogniser)
    heard = ears.hear(confirming)
    assert isinstance(heard, Refusal)
    assert heard.reason == "silence"
    with pytest.raises(SoundEnded):
        ears.hear(confirming)


def test_a_grammar_with_unknown_words_stops_before_listening(
    recogniser: SphinxRecogniser,
    technician: Callable[..., bytes],
    spoken_list: Callable[..., object],
) -> None:
    ears = StreamEars(MemorySource(technician("yes")), recogniser)
    unknown = Listening("reason", spoken_list("yes", "zzgrommet"), 4.0)  # type: ignore[arg-type]
    with pytest.raises(EarsError, match="zzgrommet"):
        ears.hear(unknown)


def test_what_came_in_while_the_companion_spoke_is_forgotten(
    recogniser: SphinxRecogniser, technician: Callable[..., bytes], confirming: Listening
) -> None:
    class Kept(MemorySource):
        """Keeps what came in, as a sound card does, until it is told to forget it."""

        def __init__(self, before: bytes, after: bytes) -> None:
            super().__init__(b"")
            self._held = list(cut_into_frames(before))
            self._to_come = after

        def frames(self) -> Iterator[bytes]:
            while self._held:
                yield self._held.pop(0)
            yield from cut_into_frames(self._to_come)

        def flush(self, *, deaf: bool = True) -> None:
            self._held.clear()

    ears = StreamEars(Kept(technician("no"), technician("yes")), recogniser)
    heard = ears.hear(confirming)
    assert isinstance(heard, Utterance)
    assert heard.words == "yes"


@pytest.mark.parametrize("words", ["five five", "seven of clubs"])
def test_a_human_phrase_is_heard_right_or_refused(
    recogniser: SphinxRecogniser,
    human_speech: Path,
    spoken_list: Callable[..., object],
    words: str,
) -> None:
    recordings = {"five five": "ps_cards_004.flac", "seven of clubs": "ps_cards_003.flac"}
    grammar = spoken_list("five five", "five nine", "nine five", "one five", "seven of clubs")
    sound = FileSource(human_speech / "phrases" / recordings[words])
    heard = StreamEars(sound, recogniser).hear(
        Listening("human", grammar, 5.0)  # type: ignore[arg-type]
    )
    assert heard.words == words


def test_a_human_reading_is_never_heard_as_another(
    recogniser: SphinxRecogniser, human_speech: Path, spoken_list: Callable[..., object]
) -> None:
    grammar = spoken_list("yes", "no", "stop", "go back", "repeat")
    listening = Listening("confirm", grammar, 5.0)  # type: ignore[arg-type]
    for recording in sorted((human_speech / "phrases").glob("ps_*.flac")):
        heard = StreamEars(FileSource(recording), recogniser).hear(listening)
        assert isinstance(heard, Refusal), recording.name
