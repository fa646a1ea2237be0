"""PortAudio is started again only while nothing is played, and may fail to start."""

from __future__ import annotations

import threading

import pytest

from companion.base import sound_cards


class PortAudio:
    """As sounddevice is, as far as this asks it; no stream lives through its end."""

    class PortAudioError(Exception):
        """As sounddevice's."""

    def __init__(self) -> None:
        self.calls: list[str] = []
        self.starts = True

    def _terminate(self) -> None:
        self.calls.append("end")

    def _initialize(self) -> None:
        self.calls.append("start")
        if not self.starts:
            raise self.PortAudioError("no host API")


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> PortAudio:
    library = PortAudio()
    monkeypatch.setattr(sound_cards, "portaudio", lambda: library)
    return library


def test_a_prompt_that_is_played_is_not_cut_off(library: PortAudio) -> None:
    playing, may_end = threading.Event(), threading.Event()

    def play() -> None:
        with sound_cards.playing():
            playing.set()
            may_end.wait(20)

    speaker = threading.Thread(target=play)
    speaker.start()
    assert playing.wait(20)
    before = sound_cards.generation()
    assert not sound_cards.start_again_if_quiet()
    assert (library.calls, sound_cards.generation()) == ([], before)
    may_end.set()
    speaker.join(20)
    assert sound_cards.start_again_if_quiet()
    assert (library.calls, sound_cards.generation()) == (["end", "start"], before + 1)


def test_a_library_that_does_not_start_is_told_of_and_tried_again(library: PortAudio) -> None:
    library.starts = False
    for look in (sound_cards.start_again, sound_cards.start_again_if_quiet):
        with pytest.raises(sound_cards.NoPortAudio, match="does not start"):
            look()
    library.starts = True
    assert sound_cards.start_again_if_quiet()
