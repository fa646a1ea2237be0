"""What training says of jobs, and that nobody who is scored takes part in it."""

from __future__ import annotations

import json
import random
from pathlib import Path

import numpy as np
import pytest

from companion.language.expectation import Expectation
from companion.runtime import assembly
from tests.benchmarks import ears_neural
from tests.benchmarks.ears_neural import (
    ENGLISH_FOR_TUNING,
    ENGLISH_KEPT_OUT,
    KOKORO_KEPT_OUT,
    english_voices,
    mouth_of_many,
)
from tests.benchmarks.ears_voices import ALL_KEPT_OUT, WORD_VOICES
from tests.ears_training.job_phrases import JobPhraseMaker
from tests.ears_training.levelling import levelled, loud_level_dbfs
from tests.ears_training.many_mouths import _join
from tests.ears_training.phrases import OTHER, known_words
from tests.ears_training.voices import FLITE_VOICES


def test_jobs_phrases_are_all_of_known_words_and_a_third_are_two_readings() -> None:
    maker, generator = JobPhraseMaker(), random.Random(4)
    said = [maker.one(generator) for _ in range(400)]
    assert {word for one in said for word in one.label} <= {*known_words()}
    assert OTHER not in {word for one in said for word in one.label}
    number = assembly.language().for_step(Expectation(yes_no=True, done=True)).parse
    assert sum(len(one.label) >= 5 and number(one.text) is None for one in said) > 400 / 3


def test_no_voice_that_is_scored_trains() -> None:
    assert "awb" not in FLITE_VOICES
    assert not {*ENGLISH_KEPT_OUT} & {*ENGLISH_FOR_TUNING}
    assert not {*ALL_KEPT_OUT} & {*WORD_VOICES["known"]}


@pytest.mark.skipif(not english_voices(), reason="Kokoro's English voices are not unpacked")
def test_no_mouth_is_mixed_of_a_voice_that_is_kept_out(monkeypatch: pytest.MonkeyPatch) -> None:
    kept_out = {*ENGLISH_KEPT_OUT, *ENGLISH_FOR_TUNING, KOKORO_KEPT_OUT}
    marked = {
        name: style * np.float32(np.nan if name in kept_out else 1.0)
        for name, style in english_voices().items()
    }
    monkeypatch.setattr(ears_neural, "english_voices", lambda: marked)
    generator = random.Random(2)
    assert all(np.isfinite(mouth_of_many(generator)[0]).all() for _ in range(300))


def test_what_is_said_joins_the_bank_in_parts(tmp_path: Path) -> None:
    sounds = [np.full(n, n, np.int16) for n in (5, 7, 3)]
    told = [{"label": ["one"], "job": True}, {"label": ["two"], "job": False}] * 2
    ready = list(enumerate(sounds))
    assert _join(tmp_path, 0, ready, told) == 1
    assert ready == []
    jobs = json.loads((tmp_path / "jobs_said_00.json").read_text(encoding="utf-8"))
    kept = np.load(tmp_path / "jobs_said_00.npy")
    assert [kept[j["start"] : j["start"] + j["count"]].tolist() for j in jobs] == [
        [5] * 5,
        [3] * 3,
    ]


def test_a_clip_is_brought_to_the_level_of_the_bank() -> None:
    generator = np.random.default_rng(3)
    quiet = 0.001 * generator.standard_normal(16_000)
    assert loud_level_dbfs(levelled(quiet)) == pytest.approx(-26.0, abs=0.01)
