"""A sound server of its own for each test, or a word about what is missing for one."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.runtime.sound_devices import SPEAKER, Mouth, Recording, SoundDevices, missing_programs
from tests.runtime.sound_devices import sound_devices as run_sound_devices


@pytest.fixture
def devices() -> Iterator[SoundDevices]:
    if missing := missing_programs():
        pytest.skip(f"no sound devices to test with: {', '.join(missing)} not installed")
    # A socket's path has to be short, which that of tmp_path is not always.
    with (
        tempfile.TemporaryDirectory(prefix="bay-sound-") as folder,
        run_sound_devices(Path(folder)) as running,
    ):
        yield running


@pytest.fixture
def mouth(devices: SoundDevices) -> Iterator[Mouth]:
    mouth = Mouth(devices)
    yield mouth
    mouth.close()


@pytest.fixture
def heard(devices: SoundDevices) -> Iterator[Recording]:
    """What comes out of the companion's loudspeaker."""
    recording = Recording(devices, SPEAKER)
    yield recording
    recording.close()
