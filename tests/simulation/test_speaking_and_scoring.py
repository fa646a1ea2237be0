"""The technician's voice, the ways to listen to him, and the score."""

from __future__ import annotations

import gc
import shutil
import tempfile
from collections.abc import Callable
from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from companion.job.setup_files import Bay, MountModel, Vehicle
from companion.language.expectation import Expectation
from companion.language.loader import load_language
from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ, Listening, Refusal, Utterance
from companion.runtime.rehearsing import script_of
from companion.simulation.errors import RehearsalError
from companion.simulation.rehearsal import Rehearsal, Setting
from companion.simulation.scenario import Scenario
from companion.simulation.score import Hearing, score_job
from companion.simulation.slips import PlannedSlip
from companion.simulation.sources import TechnicianSource, TypedTechnician
from companion.simulation.speakers import VOICES, SyntheticSpeaker, loud_rms
from companion.simulation.truth import Spread
from tests.simulation.prompting import ARM, BOOT, shipped

Rehearse = Callable[..., Rehearsal]
needs_flite = pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed")


def samples(sound: bytes) -> np.ndarray:
    return np.frombuffer(sound, dtype="<i2").astype(np.float64)


@needs_flite
@pytest.mark.parametrize("voice", VOICES)
def test_an_answer_becomes_speech_of_a_sensible_length(voice: str, tmp_path: Path) -> None:
    speaker = SyntheticSpeaker(voice, 1, cache_folder=tmp_path)  # type: ignore[arg-type]
    sound = speaker.say("seven hundred and seventy five millimetres")
    assert 1.0 < len(sound) / 2 / SAMPLE_RATE_HZ < 5.0
    assert np.abs(samples(sound)).max() > 2000
    assert len(list(tmp_path.glob("*.s16le"))) == 1


@needs_flite
def test_the_same_seed_says_it_the_same_and_another_at_another_pace(tmp_path: Path) -> None:
    def lengths(seed: int) -> list[int]:
        speaker = SyntheticSpeaker("slt", seed, cache_folder=tmp_path)
        return [len(speaker.say("done")) for _ in range(4)]

    assert lengths(1) == lengths(1)
    assert len(set(lengths(1))) > 1
    assert lengths(1) != lengths(2)


@needs_flite
def test_a_speaker_without_a_folder_leaves_none_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    speaker = SyntheticSpeaker("slt", 1)
    speaker.say("done")
    assert len(list(tmp_path.iterdir())) == 1
    del speaker
    gc.collect()
    assert not list(tmp_path.iterdir())


@needs_flite
@pytest.mark.parametrize("snr_db", [20.0, 5.0])
def test_noise_lies_under_the_speech_at_the_wanted_distance(tmp_path: Path, snr_db: float) -> None:
    noise = np.random.default_rng(3).normal(0, 3000, 40_000).astype("<i2").tobytes()
    clean = SyntheticSpeaker("rms", 4, cache_folder=tmp_path)
    noisy = SyntheticSpeaker("rms", 4, noise=noise, snr_db=snr_db, cache_folder=tmp_path)
    speech_rms = loud_rms(samples(clean.say("zero point two five degrees left")))
    noisy.say("zero point two five degrees left")
    bed_rms = float(np.sqrt(np.mean(samples(noisy.quiet(2 * SAMPLE_RATE_HZ)) ** 2)))
    assert 20 * np.log10(speech_rms / bed_rms) == pytest.approx(snr_db, abs=0.3)


@needs_flite
def test_the_source_gives_each_answer_once_and_then_silence(
    vehicle: Vehicle, mount: MountModel, bay: Bay, tmp_path: Path
) -> None:
    speaker = SyntheticSpeaker("slt", 2, cache_folder=tmp_path)
    rehearsal = Rehearsal(Setting(vehicle, mount, bay, script_of(shipped())), 5, speaker)
    source = TechnicianSource(rehearsal, patience_s=9.0)
    stream = source.frames()
    assert not any(samples(frame).any() for frame in islice(stream, 50))
    rehearsal.heard(ARM)
    source.flush()
    answer = list(islice(stream, 270))
    assert all(len(frame) == FRAME_BYTES for frame in answer)
    speaking = [bool(samples(frame).any()) for frame in answer]
    assert not any(speaking[:8])
    assert any(speaking)
    assert not any(speaking[-30:])
    rehearsal.heard(BOOT)
    islice(stream, 10)
    rest = list(stream)
    assert any(samples(frame).any() for frame in rest)
    assert not any(samples(frame).any() for frame in rest[-200:])
    assert len(rest) < 500


def test_sound_without_a_speaker_is_refused(rehearse: Rehearse) -> None:
    rehearsal = rehearse()
    rehearsal.heard(ARM)
    with pytest.raises(RehearsalError, match="no speaker"):
        rehearsal.sound()


def test_typed_ears_hear_the_words_or_the_silence(rehearse: Rehearse) -> None:
    rehearsal = rehearse(planned_slips=(PlannedSlip("silent", occasion=2),))
    ears = TypedTechnician(rehearsal)
    listening = Listening("p1", load_language().grammar.for_step(Expectation(done=True)), 8.0)
    rehearsal.heard(BOOT)
    first = ears.hear(listening)
    rehearsal.heard(BOOT)
    second = ears.hear(listening)
    assert isinstance(first, Utterance)
    assert first.words in ("done", "all done", "finished")
    assert first.how.end_s > first.how.start_s > 0
    assert isinstance(second, Refusal)
    assert second.reason == "silence"


def test_inside_by_word_but_outside_by_truth_is_what_the_score_is_for(rehearse: Rehearse) -> None:
    aimed = rehearse(spread=Spread(aim_deg=0.1))
    wild = next(
        rehearsal
        for rehearsal in (rehearse(seed) for seed in range(9))
        if abs(rehearsal.truth.aim_yaw_deg) > 0.5
    )
    scores = [
        score_job(aimed, finished=True, companion_said="inside", rounds=1),
        score_job(wild, finished=True, companion_said="inside", rounds=3, hearing=Hearing(5, 2, 1)),
        score_job(wild, finished=False, companion_said="stopped", rounds=6),
    ]
    assert [score.truly_inside for score in scores] == [True, False, False]
    assert [score.false_inside for score in scores] == [False, True, False]


def test_the_score_counts_slips_and_those_that_did_harm(rehearse: Rehearse) -> None:
    planned = (PlannedSlip("off_by_one"), PlannedSlip("off_by_ten", occasion=2))
    rehearsal = rehearse(scenario=Scenario(varied_wording=False), planned_slips=planned)
    for _ in range(3):
        rehearsal.heard(ARM)
    score = score_job(rehearsal, finished=False, companion_said="nothing", rounds=0)
    assert (score.slips_made, score.slips_harmful, score.prompts) == (2, 1, 3)
    assert score.slips == {"off_by_one": 1, "off_by_ten": 1}
