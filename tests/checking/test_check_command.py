"""`companion check` as a person, or a program, runs it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

ROOT = Path(__file__).parents[2]
wires = pytest.importorskip("tests.live.sound_devices", reason="no helper for sound devices here")


def _check(environment: Mapping[str, str], *options: str) -> tuple[int, dict[str, Any]]:
    words = ["check", "--json", *options]
    done = subprocess.run(
        [sys.executable, "-c", "from companion.cli import main; main()", *words],
        env={"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), **environment},
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.stdout, done.stderr
    data = json.loads(done.stdout)
    return done.returncode, {look["id"]: look for look in data["looks"]}


@pytest.fixture
def devices() -> Iterator[Any]:
    if missing := wires.missing_programs():
        pytest.skip(f"no sound devices to test with: {', '.join(missing)} not installed")
    # A socket's path has to be short, which that of tmp_path is not always.
    with (
        tempfile.TemporaryDirectory(prefix="bay-sound-") as folder,
        wires.sound_devices(Path(folder)) as running,
    ):
        yield running


def _join(devices: Any) -> None:
    """What the loudspeaker plays comes into the microphone, as in a room."""
    subprocess.run(
        [
            *("pactl", "load-module", "module-loopback", f"source={wires.SPEAKER}.monitor"),
            *(f"sink={wires.MOUTH}", "latency_msec=20"),
        ],
        env=devices.environment,
        check=True,
        capture_output=True,
    )


@pytest.fixture
def hum(devices: Any, tmp_path: Path) -> Iterator[None]:
    """A faint noise in the room, so that the microphone is not dead."""
    noise = np.random.default_rng(1).normal(0.0, 20.0, 90 * 16_000).astype("<i2")
    (tmp_path / "hum.raw").write_bytes(noise.tobytes())
    player = subprocess.Popen(
        [
            *("pacat", "--playback", f"--device={wires.MOUTH}", "--raw", "--format=s16le"),
            *("--rate=16000", "--channels=1", str(tmp_path / "hum.raw")),
        ],
        env=devices.environment,
    )
    yield
    player.terminate()
    player.wait(10)


@pytest.mark.usefixtures("hum")
def test_with_real_devices_it_hears_itself_speak(devices: Any, tmp_path: Path) -> None:
    _join(devices)
    code, looks = _check(
        {**devices.environment, "XDG_DATA_HOME": str(tmp_path)},
        *("--ears", "sphinx", "--voice", "speaker"),
    )
    assert looks["microphone"]["state"] == "well", looks
    assert looks["loudspeaker"]["state"] == "well", looks
    assert looks["level"]["state"] == "well", looks
    assert looks["noise"]["state"] == "well", looks
    assert looks["loop_back"]["state"] == "well", looks
    assert "where are we" in looks["loop_back"]["found"]
    assert code == 0


@pytest.mark.usefixtures("hum")
def test_a_loudspeaker_that_the_microphone_does_not_hear_is_told(
    devices: Any, tmp_path: Path
) -> None:
    code, looks = _check(
        {**devices.environment, "XDG_DATA_HOME": str(tmp_path)},
        *("--ears", "sphinx", "--voice", "speaker"),
    )
    assert looks["loop_back"]["state"] == "look", looks
    assert "does not hear the loudspeaker" in looks["loop_back"]["found"]
    assert code == 0
