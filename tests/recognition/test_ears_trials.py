"""The parts of the ears' benchmark: far sound, noise, time as in a bay, label review."""

from __future__ import annotations

import csv
import json
import math
import time
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from companion.recognition.port import FRAME_S
from tests.benchmarks import far_sound, spoken
from tests.benchmarks.bay_sound import SPEECH_DBFS, Samples, active_level_dbfs, compressor_hum
from tests.benchmarks.ears_noise import pieces
from tests.benchmarks.ears_trials import spoken_stretch_s
from tests.benchmarks.noisy_speaker import NoisySpeaker
from tests.benchmarks.real_time import TimedSource
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, SET_ASIDE, Noise, read_clips, read_noises
from tests.ears_candidates.label_review import by_sound

RATE_HZ = 16_000


def talk(seconds: float, seed: int = 1) -> Samples:
    """Noise that rises and falls like syllables, with quiet before and after it."""
    times = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    loudness = np.abs(np.sin(2 * np.pi * 2.5 * times)) + 0.05
    return 0.1 * loudness * np.random.default_rng(seed).normal(size=len(times))


def framed(speech: Samples, before_s: float, after_s: float) -> Samples:
    quiet = 1e-4 * np.random.default_rng(9).normal(size=len(speech) + round(16e3 * 9))
    before = round(before_s * RATE_HZ)
    whole = quiet[: before + len(speech) + round(after_s * RATE_HZ)]
    whole[before : before + len(speech)] += speech
    return whole


def test_where_speech_begins_and_ends_is_found_to_a_frame() -> None:
    begins_s, ends_s = spoken_stretch_s(framed(talk(0.5), 0.4, 0.6))
    assert begins_s == pytest.approx(0.4, abs=0.03)
    assert ends_s == pytest.approx(0.9, abs=0.03)


def test_a_frame_comes_no_sooner_than_it_is_said_and_than_its_hearer_is_ready(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    now_s = [100.0]
    monkeypatch.setattr(time, "perf_counter", lambda: now_s[0])
    source = TimedSource(bytes(960 * 10))
    frames: Iterator[bytes] = source.frames()
    next(frames)
    assert source.clock_s() == pytest.approx(FRAME_S)
    now_s[0] += 0.005
    next(frames)
    assert source.clock_s() == pytest.approx(2 * FRAME_S), "the hearer waits for the second frame"
    now_s[0] += 0.5
    next(frames)
    assert source.clock_s() == pytest.approx(2 * FRAME_S + 0.5), "the frame waits for the hearer"
    now_s[0] += 0.001
    assert source.clock_s() == pytest.approx(2 * FRAME_S + 0.501)


@pytest.mark.skipif(not far_sound.is_here(), reason="the room simulator is not installed")
def test_from_afar_a_click_becomes_an_echo_of_the_length_that_was_asked_for() -> None:
    click = np.zeros(RATE_HZ)
    click[0] = 1.0
    for seed in range(4):
        heard = far_sound.heard_from_afar(click, seed)
        left = np.cumsum(heard[::-1] ** 2)[::-1]
        decay_db = 10 * np.log10(left / left[0] + 1e-12)
        fell_s = (np.argmax(decay_db < -25) - np.argmax(decay_db < -5)) / RATE_HZ
        least_s, most_s = far_sound.ECHO_S
        assert 0.8 * least_s < 3 * fell_s < 1.2 * most_s
        assert np.argmax(np.abs(heard) > 0.1) < 200, "the direct sound comes first"
        assert np.array_equal(heard, far_sound.heard_from_afar(click, seed))


class Talker:
    """Says the same whatever he is to say."""

    def say(self, text: str) -> bytes:
        return (32768 * talk(1.0)).astype("<i2").tobytes()

    def quiet(self, size: int) -> bytes:
        return bytes(size)


@pytest.mark.parametrize("level_db", [20.0, 10.0, 0.0])
def test_a_noisy_technician_stands_as_far_above_the_noise_as_was_asked(level_db: float) -> None:
    def as_heard() -> tuple[Samples, Samples]:
        speaker = NoisySpeaker(
            Talker(), [compressor_hum(9.0, np.random.default_rng(3))], level_db, 5
        )
        before = np.frombuffer(speaker.quiet(RATE_HZ * 2 * 30), "<i2") / 32768.0
        return before, np.frombuffer(speaker.say("seven"), "<i2") / 32768.0

    before, speech = as_heard()
    noise_dbfs = 20 * math.log10(float(np.sqrt(np.mean(before**2))))
    assert SPEECH_DBFS - noise_dbfs == pytest.approx(level_db, abs=1.0)
    assert len(speech) == RATE_HZ
    again = as_heard()
    assert np.array_equal(before, again[0])
    assert np.array_equal(speech, again[1])


def test_a_job_that_was_kept_is_not_done_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done: list[spoken.Job] = []

    def run(job: spoken.Job) -> spoken.Outcome:
        done.append(job)
        return spoken.Outcome(job, {"readings": 60, "typed": 20}, 1.5, "", ("one -> two",))

    monkeypatch.setattr(spoken, "_run_job", run)
    job = spoken.Job("awb", 3, "own", "10", "nowhere", str(tmp_path))
    first, second = spoken.run_job(job), spoken.run_job(job)
    assert done == [job]
    assert first == second
    spoken.run_job(spoken.Job("awb", 4, "own", "10", "nowhere", str(tmp_path)))
    assert len(done) == 2
    told = spoken.summed_up([first, second])
    assert told["taken_by_voice"] == 80
    assert told["wrong_accepted_upper95"] == pytest.approx(1 - 0.05 ** (1 / 80), rel=1e-3)


def test_noise_goes_on_for_as_long_as_is_asked(tmp_path: Path) -> None:
    import soundfile

    soundfile.write(tmp_path / "saw.wav", talk(3.0), RATE_HZ)
    noises = [Noise(tmp_path / "saw.wav", "saw", "scoring")]
    once = list(pieces(noises, 0.0, 1))
    assert [len(piece) for piece in once] == [3 * RATE_HZ]
    longer = list(pieces(noises, 1.0, 1))
    assert sum(map(len, longer)) >= 60 * RATE_HZ
    assert all(np.array_equal(a, b) for a, b in zip(longer, pieces(noises, 1.0, 1), strict=True))


def test_speech_that_runs_into_the_end_of_a_clip_is_cut_off() -> None:
    whole = framed(talk(0.5), 0.3, 0.3)
    assert by_sound(whole) is None
    cut = by_sound(whole[: round(0.55 * RATE_HZ)])
    assert cut is not None
    assert cut[0] == "cut off"


def test_a_clip_in_which_nothing_stands_out_is_empty() -> None:
    noise = 0.05 * np.random.default_rng(4).normal(size=RATE_HZ)
    empty = by_sound(noise)
    assert empty is not None
    assert empty[0] == "empty"
    assert active_level_dbfs(noise) > -40


def test_the_clips_set_aside_for_their_sound_are_all_that_the_rules_find() -> None:
    if not DEFAULT_FOLDER.is_dir():
        pytest.skip(f"no human speech at {DEFAULT_FOLDER}")
    with SET_ASIDE.open(encoding="utf-8", newline="") as stream:
        listed = {row["clip"]: row["reason"] for row in csv.DictReader(stream, delimiter="\t")}
    clips = {str(c.path.relative_to(DEFAULT_FOLDER)): c for c in read_clips(DEFAULT_FOLDER)}
    assert listed.keys() <= clips.keys()
    assert {name for name, clip in clips.items() if clip.set_aside} == listed.keys()
    spoiled = {
        name: found[0]
        for name, clip in clips.items()
        if clip.kind == "word" and (found := by_sound(clip.samples())) is not None
    }
    by_label = {name for name, reason in listed.items() if reason.startswith("wrong label")}
    assert spoiled == {name: reason for name, reason in listed.items() if name not in by_label}


def test_the_kept_figures_have_what_is_promised_and_make_the_page() -> None:
    from tests.benchmarks import ears_page

    docs = Path(__file__).parents[2] / "docs"
    told = json.loads((docs / "ears_figures.json").read_text(encoding="utf-8"))
    for run in (told["full"], told["compared"]):
        assert run["default"] in run["recognisers"]
        for recogniser in run["recognisers"].values():
            if "skipped" in recogniser:
                continue
            for level in ("clean", "20", "10", "5", "0"):
                for cell in recogniser["levels"][level].values():
                    assert cell.keys() == {"right", "refused", "wrong", "n", "wrong_upper95"}
    page = (docs / "ears.md").read_text(encoding="utf-8")
    assert ears_page.full_tables(told["full"]) in page
    assert ears_page.compared_tables(told["compared"]) in page
    assert ears_page.pair_table(told["pairs"]) in page


def test_of_a_pair_that_sounds_alike_it_is_told_which_was_taken_for_which() -> None:
    from tests.benchmarks.ears_pairs import by_pair
    from tests.benchmarks.ears_trials import prompts

    heard = [
        ("number", "fifteen", "one five", "right"),
        ("number", "fifteen", "five zero", "wrong"),
        ("number", "fifty", "sixty", "wrong"),
        ("number", "fifty", "fifteen", "refused"),
        ("digit", "tree", "", "refused"),
        ("digit", "tree", "three", "wrong"),
    ]
    answers = [
        SimpleNamespace(level="5", step=step, said=said, words=words, result=result)
        for step, said, words, result in heard
    ]
    told = by_pair(answers, ("5",), prompts())
    assert told["fifteen / fifty"]["5"] == {
        "right": 1,
        "refused": 1,
        "taken_for_other": 1,
        "wrong_otherwise": 1,
        "n": 4,
        "share_taken_for_other": 0.25,
    }
    tree = told["three / tree"]["5"]
    assert (tree["right"], tree["taken_for_other"], tree["n"]) == (1, 1, 2)


def test_noises_of_the_scoring_half_are_there_for_the_spoken_jobs() -> None:
    if not DEFAULT_FOLDER.is_dir():
        pytest.skip(f"no human speech at {DEFAULT_FOLDER}")
    halves = {noise.half for noise in read_noises(DEFAULT_FOLDER)}
    assert halves == {"tuning", "scoring"}
    assert len(spoken._recordings(str(DEFAULT_FOLDER))) > 10
    assert spoken._recordings("nowhere") == []
