"""A short job through microphone and loudspeaker, by a real program and a real sound server."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
import soxr

from companion.record import open_for_reading
from companion.record.audit.verify import verify
from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import SHORT_JOB, Companion
from tests.runtime.sound_devices import RATE_HZ, Mouth, Recording, SoundDevices
from tests.runtime.technician import LiveTechnician

ANSWERS = {
    "half a minute. Yes or no?": "no",
    "keep the sound, or words only.": "words only",
    "Words only. Yes or no?": "yes",
    "Plate distance.": "one two zero three",
    "two zero three millimetres. Yes or no?": "yes",
    "Say done.": "done",
}
LEAST_LIKENESS = 0.5


def loudest_likeness(recorded: np.ndarray, prompt: np.ndarray) -> float:
    """Greatest normalised cross-correlation of a prompt with any place of the recording."""
    size = 1 << (len(recorded) + len(prompt)).bit_length()
    spectrum = np.fft.rfft(recorded, size) * np.conj(np.fft.rfft(prompt, size))
    match = np.fft.irfft(spectrum, size)[: len(recorded) - len(prompt) + 1]
    energy = np.cumsum(np.concatenate([[0.0], recorded**2]))
    power = energy[len(prompt) :] - energy[: -len(prompt)]
    loud = power > 0.01 * power.max()
    scale = np.sqrt(np.maximum(power, 1e-9) * np.sum(prompt**2))
    return float(np.max(np.where(loud, match / scale, 0.0)))


@pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed")
def test_a_short_job_is_done_by_voice_through_real_devices(
    devices: SoundDevices, mouth: Mouth, heard: Recording, tmp_path: Path
) -> None:
    record = tmp_path / "record.sqlite"
    arguments = ["start", "--job", str(SHORT_JOB), "--ears", "sphinx", "--voice", "speaker"]
    companion = Companion([*arguments, "--record", str(record)], devices.environment, tmp_path)
    speaker = SyntheticSpeaker("slt", seed=1)
    technician = LiveTechnician(companion, mouth, heard, speaker, ANSWERS)
    try:
        told = technician.work(until="Result:", within_s=240.0)
        assert told is not None, companion.printed()
        companion.wait()
    finally:
        companion.end()

    assert verify(record) == []
    with open_for_reading(record) as database:
        (session,) = database.sessions()
        events = list(database.events(session.session_id))
    accepted = [event.body["spoken"] for event in events if event.kind == "accepted"]
    assert accepted == ["one two zero three millimetres"]
    # The room was listened to before the first word, and what came of it was said.
    (noise,) = (event.body for event in events if event.kind == "noise_checked")
    assert noise["advice"] in {event.body["text"] for event in events if event.kind == "said"}
    heard_by = {event.body["ears"] for event in events if event.kind == "heard"}
    assert heard_by == {"pocketsphinx"}, "an answer came in another way than by the microphone"

    recorded = heard.samples().astype(np.float64)
    said = [event.body["text"] for event in events if event.kind == "said"]
    renderings = sorted((tmp_path / "bay-companion" / "voice").glob("*.wav"))
    # More was rendered ahead than this short job said.
    likeness = [loudest_likeness(recorded, _beginning(rendering)) for rendering in renderings]
    told = sorted(round(like, 2) for like in likeness)
    assert sum(like > LEAST_LIKENESS for like in likeness) >= len(set(said)), told


def _beginning(rendering: Path) -> npt.NDArray[np.float64]:
    """The prompt's first second and a bit: a busy machine may tear a longer one into pieces."""
    samples, rate_hz = soundfile.read(rendering)
    return np.asarray(soxr.resample(samples, rate_hz, RATE_HZ))[: round(1.2 * RATE_HZ)]
