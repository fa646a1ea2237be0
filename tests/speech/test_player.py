"""What is played of a rendered prompt: without its tail, and with short pauses."""

from __future__ import annotations

import threading

import numpy as np
import soundfile

from companion.speech.player import LONGEST_PAUSE_S, FileSink, read_prompt
from companion.speech.tapped import TappedSink


def test_no_pause_within_a_prompt_is_longer_than_a_quarter_of_a_second(tmp_path):
    rate_hz = 8_000
    word = np.full(800, 0.5, dtype=np.float32)
    parts = [word, np.zeros(4_000), word, np.zeros(1_200), word, np.zeros(3_000)]
    path = tmp_path / "prompt.wav"
    soundfile.write(path, np.concatenate(parts), rate_hz, subtype="PCM_16")
    samples, _ = read_prompt(path, 1.0)
    sounding = np.flatnonzero(np.abs(samples) > 0.01)
    gaps = [step - 1 for step in np.diff(sounding) if step > 1]
    # Half a second is cut short, a shorter one stays, and nothing that sounds is lost.
    assert gaps == [round(LONGEST_PAUSE_S * rate_hz), 1_200]
    assert len(sounding) == 3 * len(word)


def test_a_sound_that_dies_away_before_a_long_pause_is_not_cut_into(tmp_path):
    """Half of what is left of the pause stands behind the word, half before the next one."""
    rate_hz = 8_000
    word, fading = np.full(800, 0.5), np.full(600, 0.004)
    path = tmp_path / "prompt.wav"
    parts = [word, fading, np.zeros(4_000), fading, word]
    soundfile.write(path, np.concatenate(parts).astype(np.float32), rate_hz, subtype="PCM_16")
    samples, _ = read_prompt(path, 1.0)
    assert np.count_nonzero(np.abs(samples) > 0.002) == 2 * (len(word) + len(fading))


def test_a_tap_tells_what_is_being_played_and_nothing_once_it_is_over(tmp_path):
    seen = []

    class Watched(FileSink):
        def play(self, samples, rate_hz):
            seen.append(tap.playing(threading.get_ident()).whole_s)
            return super().play(samples, rate_hz)

    tap = TappedSink(Watched(tmp_path / "said.wav"))
    tap.play(np.zeros(4_000, dtype=np.float32), 8_000)
    assert (seen, tap.playing(threading.get_ident())) == ([0.5], None)
    tap.close()
