"""What is played of a rendered prompt: without its tail, and with short pauses."""

from __future__ import annotations

import numpy as np
import soundfile

from companion.speech.player import LONGEST_PAUSE_S, read_prompt


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
