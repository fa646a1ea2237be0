"""The benchmark of the ears runs on any folder of the right layout, and says when there is none."""

from __future__ import annotations

import json
import math
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from tests.benchmarks.bay_sound import (
    SPEECH_DBFS,
    active_level_dbfs,
    compressor_hum,
    impact_bursts,
    mixed,
)
from tests.benchmarks.ears_tally import most_per_hour_95, upper_95
from tests.benchmarks.spoken_clips import (
    DEFAULT_FOLDER,
    HERE,
    read_clips,
    read_noises,
    read_rows,
    recording,
)

ROOT = Path(__file__).parents[2]
WORDS = ("one", "five", "nine", "yes", "no", "stop", "left", "marmalade")


def benchmark(*arguments: str) -> dict[str, Any]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.benchmarks", "ears", "--json", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    )
    told: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return told


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two synthetic speakers and two noises, laid out as the benchmark wants them.

    They have the places of some that are tuned on: to score, ten minutes of made noise are heard
    too, and `test_workshop_sound` knows those.
    """
    flite = shutil.which("flite")
    if flite is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    made = tmp_path_factory.mktemp("speech")
    speech = ["path\tkind\ttranscript\tspeaker"]
    for voice, speaker in zip(("slt", "rms"), tuned_on("speakers.tsv"), strict=False):
        for word in WORDS:
            name = f"{voice}_{word}.wav"
            subprocess.run([flite, "-voice", voice, "-t", word, "-o", made / name], check=True)
            speech.append(f"{name}\tword\t{word}\t{speaker}")
    noise = ["path\tclass"]
    for number, (sort, name) in enumerate(
        zip(("tap", "saw"), tuned_on("noises.tsv"), strict=False)
    ):
        samples = np.random.default_rng(number).normal(scale=0.05, size=48_000)
        soundfile.write(made / f"{name}.wav", samples, 16_000)
        noise.append(f"{name}.wav\t{sort}")
    (made / "speech.tsv").write_text("\n".join(speech) + "\n", encoding="utf-8")
    (made / "noise.tsv").write_text("\n".join(noise) + "\n", encoding="utf-8")
    return made


def tuned_on(name: str) -> list[str]:
    """The names of a list that stand in the tuning half."""
    return [row["name"] for row in read_rows(HERE / name) if row["half"] == "tuning"]


FIGURES = {
    "oov_accepted",
    "stop_heard",
    "false_stops_per_hour",
    "decision_ms_median",
    "decision_ms_p95",
    "rtf",
    "rss_mb",
}


def test_every_trial_is_counted_once_and_a_run_can_go_on(folder: Path, tmp_path: Path) -> None:
    few = ("--most", "1", "--ears", "own", "--speech", str(folder), "--keep", str(tmp_path))
    few += ("--half", "tuning")
    told = benchmark(*few)
    own = told["recognisers"]["own"]
    assert told["default"] == "own"
    assert own.keys() >= FIGURES
    for levels in (own["levels"], own["whole_chain"]["levels"], own["without_set_aside"]["levels"]):
        assert set(levels) == {"clean", "20", "10", "5", "0"}
        for cells in levels.values():
            for cell in cells.values():
                assert cell["right"] + cell["refused"] + cell["wrong"] == cell["n"]
                if cell["n"]:
                    assert cell["wrong"] / cell["n"] <= cell["wrong_upper95"] <= 1.0
    assert own["levels"]["clean"]["digits"]["n"] == 1
    assert own["whole_chain"]["levels"]["clean"]["digits"]["n"] == 1
    assert own["adapted"]["people"] == 0, "nobody here has several takes"
    kept = {path: path.stat().st_mtime_ns for path in tmp_path.glob("*.json")}
    assert len(kept) == 48
    assert _but_memory(benchmark(*few)) == _but_memory(told)
    assert {path: path.stat().st_mtime_ns for path in tmp_path.glob("*.json")} == kept


def _but_memory(told: dict[str, Any]) -> dict[str, Any]:
    """What a second run over what was kept must tell again; memory is measured anew."""
    own = {name: told for name, told in told["recognisers"]["own"].items() if name != "rss_mb"}
    return {**told, "recognisers": {"own": own}}


def test_a_recogniser_that_cannot_be_had_is_skipped_with_its_reason(folder: Path) -> None:
    told = benchmark("--quick", "--ears", "vosk", "--speech", str(folder))
    assert "model" in told["recognisers"]["vosk"]["skipped"]


def test_a_missing_folder_is_said_and_nothing_is_scored(tmp_path: Path) -> None:
    told = benchmark("--speech", str(tmp_path / "nowhere"))
    assert "missing" in told["skipped"]
    assert told["recognisers"] == {}


def test_no_speaker_and_no_noise_is_in_both_halves() -> None:
    if not DEFAULT_FOLDER.is_dir():
        pytest.skip(f"no human speech at {DEFAULT_FOLDER}")
    for things in (
        [(clip.speaker, clip.half) for clip in read_clips(DEFAULT_FOLDER)],
        [(recording(str(n.path)), n.half) for n in read_noises(DEFAULT_FOLDER)],
    ):
        assert len({name for name, _ in things}) == len(set(things))
        assert {half for _, half in things} == {"tuning", "scoring"}


def test_the_active_level_of_speech_leaves_out_its_pauses() -> None:
    generator = np.random.default_rng(1)
    talk = 0.1 * generator.normal(size=128_000)
    alone = active_level_dbfs(talk)
    with_pause = active_level_dbfs(np.concatenate([talk, np.zeros(256_000)]))
    assert alone == pytest.approx(-20.0, abs=0.3)
    assert with_pause == pytest.approx(alone, abs=0.25)
    assert active_level_dbfs(np.zeros(1000)) == -math.inf


def test_a_mix_has_the_level_that_was_asked_for() -> None:
    generator = np.random.default_rng(2)
    talk = 0.02 * generator.normal(size=32_000)
    for noise in (impact_bursts(3.0, generator), compressor_hum(3.0, generator)):
        whole = mixed(talk, noise, 10.0, generator, 0.5, 0.5)
        quiet = mixed(talk, noise, None, generator, 0.5, 0.5)
        bed = whole - quiet
        noise_dbfs = 20 * math.log10(float(np.sqrt(np.mean(bed**2))))
        assert SPEECH_DBFS - noise_dbfs == pytest.approx(10.0, abs=0.2)


@pytest.mark.parametrize(("wrong", "n", "bound"), [(0, 300, 0.0099), (5, 100, 0.1023), (3, 3, 1.0)])
def test_the_bound_is_exact(wrong: int, n: int, bound: float) -> None:
    found = upper_95(wrong, n)
    assert found == pytest.approx(bound, abs=5e-4)


def test_nothing_in_an_hour_still_allows_three_an_hour() -> None:
    assert most_per_hour_95(0, 3600.0) == pytest.approx(-math.log(0.05))
    assert most_per_hour_95(0, 0.0) is None
