"""`companion check` as a person, or a program, runs it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from companion.report.wording import wording_in
from companion.simulation.speakers import SyntheticSpeaker

ROOT = Path(__file__).parents[2]
SENTENCE = wording_in()("check-sentence")
wires = pytest.importorskip(
    "tests.runtime.sound_devices", reason="no helper for sound devices here"
)


COMPANION = (sys.executable, "-c", "from companion.cli import main; main()")


def _environment(more: Mapping[str, str]) -> dict[str, str]:
    return {"PATH": os.environ["PATH"], "PYTHONPATH": str(ROOT), **more}


def _check(environment: Mapping[str, str], *options: str) -> tuple[int, dict[str, Any]]:
    done = subprocess.run(
        [*COMPANION, "check", "--json", *options],
        env=_environment(environment),
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=300,
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
    player.wait(60)


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
    assert looks["speech"]["state"] == "skipped", looks
    assert "nobody spoke" in looks["speech"]["found"]
    assert code == 0


@pytest.mark.usefixtures("hum")
@pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed")
def test_asked_aloud_and_in_writing_somebody_speaks_and_is_measured(
    devices: Any, tmp_path: Path
) -> None:
    """The synthetic technician answers as soon as he reads the request."""
    with subprocess.Popen(
        [*COMPANION, "check", "--json", "--ears", "sphinx"],
        env=_environment({**devices.environment, "XDG_DATA_HOME": str(tmp_path)}),
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as checking:
        assert checking.stderr is not None
        asked = next(line for line in checking.stderr if "Please say" in line)
        mouth = wires.Mouth(devices)
        try:
            mouth.speak(SyntheticSpeaker("slt", seed=1).say(f"{SENTENCE} {SENTENCE} {SENTENCE}"))
            out, _ = checking.communicate(timeout=300)
        finally:
            mouth.close()
    assert SENTENCE in asked
    looks = {look["id"]: look for look in json.loads(out)["looks"]}
    assert looks["speech"]["state"] in ("well", "look"), looks["speech"]
    assert "speech of −" in looks["speech"]["found"]


@pytest.mark.usefixtures("hum")
def test_a_loudspeaker_that_the_microphone_does_not_hear_is_told(
    devices: Any, tmp_path: Path
) -> None:
    code, looks = _check(
        {**devices.environment, "XDG_DATA_HOME": str(tmp_path)},
        *("--ears", "sphinx", "--voice", "speaker", "--no-speaking"),
    )
    assert looks["loop_back"]["state"] == "look", looks
    assert looks["speech"]["found"] == "nobody is asked to speak"
    assert "does not hear the loudspeaker" in looks["loop_back"]["found"]
    assert code == 0
