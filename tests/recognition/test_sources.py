"""Sound files and memory become frames of one shape, or a clear refusal."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import EarsError
from companion.recognition.port import FRAME_BYTES
from companion.recognition.source import (
    FileSource,
    cut_into_frames,
    read_sound,
)


def tone(seconds: float, rate_hz: int, frequency_hz: float = 440.0) -> np.ndarray:
    return 0.5 * np.sin(2 * np.pi * frequency_hz * np.arange(round(seconds * rate_hz)) / rate_hz)


def samples_of(sound: bytes) -> np.ndarray:
    return np.frombuffer(sound, "<i2").astype(np.float64)


def loudest_frequency_hz(samples: np.ndarray) -> float:
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    return float(np.argmax(spectrum)) * 16_000 / len(samples)


def test_a_16_khz_file_comes_through_sample_for_sample(tmp_path: Path) -> None:
    said = np.array([0, 1, -1, 32767, -32768, 1234], dtype=np.int16)
    soundfile.write(tmp_path / "a.wav", said, 16_000, subtype="PCM_16")
    assert read_sound(tmp_path / "a.wav") == said.astype("<i2").tobytes()


@pytest.mark.parametrize(
    ("rate_hz", "channels", "subtype", "suffix"),
    [
        (44_100, 2, "PCM_16", "wav"),
        (48_000, 1, "PCM_24", "flac"),
        (8_000, 1, "PCM_U8", "wav"),
        (22_050, 6, "FLOAT", "wav"),
        (96_000, 2, "PCM_24", "flac"),
    ],
)
def test_any_rate_depth_and_channels_become_16_khz_mono(
    tmp_path: Path, rate_hz: int, channels: int, subtype: str, suffix: str
) -> None:
    file = tmp_path / f"tone.{suffix}"
    signal = np.repeat(tone(1.0, rate_hz)[:, None], channels, axis=1)
    soundfile.write(file, signal, rate_hz, subtype=subtype)
    heard = samples_of(read_sound(file))
    assert len(heard) == pytest.approx(16_000, abs=2)
    assert loudest_frequency_hz(heard) == pytest.approx(440.0, abs=1.0)
    assert np.sqrt(np.mean(heard**2)) == pytest.approx(0.5 / np.sqrt(2) * 32768, rel=0.02)


def test_channels_are_averaged_not_dropped(tmp_path: Path) -> None:
    right_only = np.column_stack([np.zeros(16_000), tone(1.0, 16_000)])
    soundfile.write(tmp_path / "right.wav", right_only, 16_000)
    assert np.abs(samples_of(read_sound(tmp_path / "right.wav"))).max() > 8_000


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(EarsError, match=r"nothing\.wav: there is no such sound file"):
        FileSource(tmp_path / "nothing.wav")


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").touch()
    with pytest.raises(EarsError, match="empty"):
        read_sound(tmp_path / "empty.wav")


def test_a_file_with_a_header_and_no_samples_is_refused(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "header.wav", np.zeros(0), 16_000)
    with pytest.raises(EarsError, match="empty"):
        read_sound(tmp_path / "header.wav")


@pytest.mark.parametrize("content", [b"this is a shopping list\n" * 40, b"RIFF", b"\0" * 500])
def test_a_file_that_is_no_sound_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "list.wav").write_bytes(content)
    with pytest.raises(EarsError, match="not a sound file"):
        read_sound(tmp_path / "list.wav")


@pytest.mark.parametrize("suffix", ["wav", "flac"])
def test_a_file_cut_short_is_refused(tmp_path: Path, suffix: str) -> None:
    file = tmp_path / f"cut.{suffix}"
    soundfile.write(file, tone(2.0, 16_000) + 0.1 * tone(2.0, 16_000, 1234.5), 16_000)
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(EarsError, match=r"cut short|cannot be read|not a sound file"):
        read_sound(file)


@pytest.mark.parametrize("missing_bytes", [1, 2, 44, 46])
def test_a_wav_file_cut_by_a_few_bytes_is_refused(tmp_path: Path, missing_bytes: int) -> None:
    """By one, by a sample, by as much as the header is long, and by a sample more."""
    file = tmp_path / "cut.wav"
    soundfile.write(file, tone(1.0, 16_000), 16_000, subtype="PCM_16")
    whole = file.read_bytes()
    assert len(read_sound(file)) == len(whole) - 44
    file.write_bytes(whole[:-missing_bytes])
    with pytest.raises(
        EarsError, match=f"promises {len(whole)} bytes, {len(whole) - missing_bytes}"
    ):
        read_sound(file)


def test_samples_that_are_no_numbers_are_refused(tmp_path: Path) -> None:
    broken = tone(0.1, 16_000)
    broken[50] = np.nan
    soundfile.write(tmp_path / "nan.wav", broken, 16_000, subtype="FLOAT")
    with pytest.raises(EarsError, match="not numbers"):
        read_sound(tmp_path / "nan.wav")


def test_a_telephone_rate_below_8_khz_is_refused(tmp_path: Path) -> None:
    soundfile.write(tmp_path / "slow.wav", tone(0.5, 4_000), 4_000)
    with pytest.raises(EarsError, match="4000 Hz"):
        read_sound(tmp_path / "slow.wav")


@given(st.binary(max_size=5 * FRAME_BYTES).filter(lambda sound: len(sound) % 2 == 0))
def test_frames_hold_the_whole_sound_and_nothing_but_silence_more(sound: bytes) -> None:
    frames = list(cut_into_frames(sound))
    assert all(len(frame) == FRAME_BYTES for frame in frames)
    joined = b"".join(frames)
    assert joined[: len(sound)] == sound
    assert not any(joined[len(sound) :])


def test_an_hour_of_many_channels_is_never_in_memory_at_once(tmp_path: Path) -> None:
    """A FLAC file of nothing packs an hour into some hundred kilobytes."""
    file = tmp_path / "hour.flac"
    with soundfile.SoundFile(file, "w", 48_000, 8, format="FLAC") as out:
        block = np.zeros((48_000 * 10, 8), np.int16)
        for _ in range(60):
            out.write(block)
    script = (
        "import resource, sys; from pathlib import Path\n"
        "from companion.recognition.source import read_sound\n"
        "before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "sound = read_sound(Path(sys.argv[1]))\n"
        "after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "print(len(sound) / 32_000, (after - before) // 1024)"
    )
    run = subprocess.run(
        [sys.executable, "-c", script, str(file)], capture_output=True, text=True, check=True
    )
    seconds, mebibytes = map(float, run.stdout.split())
    assert seconds == pytest.approx(600, abs=0.01)
    assert mebibytes < 150
    with pytest.raises(EarsError, match="longer than 60 s"):
        read_sound(file, 60.0)


@pytest.mark.parametrize("told_s", [1_200, 15], ids=["20 minutes", "20 minutes that say 15 s"])
def test_hear_takes_little_memory_for_a_small_file_of_eight_channels(
    tmp_path: Path, told_s: int
) -> None:
    """The command itself; as numbers all of it would be 1.8 GB, and there is 1.5 to be had."""
    file = tmp_path / "minutes.flac"
    with soundfile.SoundFile(file, "w", 48_000, 8, format="FLAC") as out:
        block = np.zeros((48_000 * 10, 8), np.int16)
        for _ in range(120):
            out.write(block)
    content = bytearray(file.read_bytes())
    assert len(content) < 480_000
    # FLAC's STREAMINFO: the number of samples is 36 bits that end 18 bytes after its beginning.
    told = int.from_bytes(content[18:26], "big") & ~((1 << 36) - 1) | told_s * 48_000
    content[18:26] = told.to_bytes(8, "big")
    file.write_bytes(content)
    script = (
        "import resource, sys\n"
        "resource.setrlimit(resource.RLIMIT_AS, (1_500_000_000,) * 2)\n"
        "from companion.cli import main\n"
        "try:\n    main()\n"
        # What getrusage tells holds the parent's, from before this program began.
        "finally:\n"
        "    lines = open('/proc/self/status').read().splitlines()\n"
        "    print(next(int(n.split()[1]) // 1024 for n in lines if n.startswith('VmHWM')))"
    )
    hear = ["hear", str(file), "--step", "plate_distance_mm", "--ears", "sphinx"]
    run = subprocess.run(
        [sys.executable, "-c", script, *hear],
        capture_output=True,
        text=True,
        env={**os.environ, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"},
    )
    assert "Traceback" not in run.stderr, run.stderr
    assert int(run.stdout.split()[-1]) < 400
    if told_s > 20:
        assert "longer than 20 s" in run.stderr


def test_a_long_file_sounds_the_same_as_its_parts(tmp_path: Path) -> None:
    """Converted block by block or at once: next to no difference."""
    seconds = np.arange(48_000 * 130) / 48_000
    said = 0.3 * np.sin(2 * np.pi * 440 * seconds)
    soundfile.write(tmp_path / "long.wav", said, 48_000, subtype="PCM_16")
    long = np.frombuffer(read_sound(tmp_path / "long.wav"), "<i2").astype(float)
    wanted = 0.3 * 32768 * np.sin(2 * np.pi * 440 * np.arange(16_000 * 130) / 16_000)
    assert len(long) == len(wanted)
    assert np.abs(long - wanted)[1000:-1000].max() < 3
