"""Clips are kept as FLAC, named by their hash, and come back sample for sample."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.record import ClipStore, clips_folder


def test_a_clip_comes_back_sample_for_sample(
    clips: ClipStore, half_a_second_of_sound: bytes
) -> None:
    path = clips.get(clips.put(half_a_second_of_sound))
    samples, rate_hz = soundfile.read(path, dtype="int16")
    assert rate_hz == 16_000
    assert samples.astype("<i2").tobytes() == half_a_second_of_sound
    assert soundfile.info(path).format == "FLAC"


def test_a_clip_is_named_by_the_hash_of_its_file(
    clips: ClipStore, half_a_second_of_sound: bytes
) -> None:
    sha256 = clips.put(half_a_second_of_sound)
    assert hashlib.sha256(clips.get(sha256).read_bytes()).hexdigest() == sha256
    assert clips.get(sha256).name == f"{sha256}.flac"


def test_the_same_sound_is_kept_once(clips: ClipStore, half_a_second_of_sound: bytes) -> None:
    assert clips.put(half_a_second_of_sound) == clips.put(half_a_second_of_sound)
    assert len(list(clips.folder.iterdir())) == 1


def test_a_clip_spoilt_on_the_disk_is_written_afresh(
    clips: ClipStore, half_a_second_of_sound: bytes
) -> None:
    sha256 = clips.put(half_a_second_of_sound)
    clips.get(sha256).write_bytes(b"spoilt")
    assert clips.put(half_a_second_of_sound) == sha256
    assert hashlib.sha256(clips.get(sha256).read_bytes()).hexdigest() == sha256


@pytest.mark.parametrize("sound", [b"", b"\x00", b"\x00\x01\x02"])
def test_sound_without_whole_samples_is_refused(clips: ClipStore, sound: bytes) -> None:
    with pytest.raises(RecordError, match="not 16-bit sound"):
        clips.put(sound)


@pytest.mark.parametrize("name", ["", "../secret", "AB" * 32, "ab" * 31, "ab" * 32 + "\n"])
def test_a_name_that_is_no_hash_never_reaches_the_disk(clips: ClipStore, name: str) -> None:
    assert not clips.holds(name)
    with pytest.raises(RecordError, match="not the name of a clip"):
        clips.get(name)


def test_a_clip_that_is_gone_is_said_to_be_gone(clips: ClipStore) -> None:
    with pytest.raises(RecordError, match="the clip is gone"):
        clips.get("ab" * 32)


def test_the_clips_lie_beside_the_record() -> None:
    assert clips_folder(Path("/shop/bay.record")) == Path("/shop/clips")


@settings(max_examples=30)
@given(samples=st.lists(st.integers(-32768, 32767), min_size=1, max_size=200))
def test_any_sound_survives(tmp_path_factory: pytest.TempPathFactory, samples: list[int]) -> None:
    clips = ClipStore(tmp_path_factory.mktemp("clips"))
    sound = np.array(samples, dtype="<i2").tobytes()
    kept, _ = soundfile.read(clips.get(clips.put(sound)), dtype="int16")
    assert kept.astype("<i2").tobytes() == sound


def test_only_what_a_half_written_clip_left_is_deleted_as_such(
    clips: ClipStore, half_a_second_of_sound: bytes, tmp_path: Path
) -> None:
    kept = f"{clips.put(half_a_second_of_sound)}.flac"
    beside = tmp_path / "bay.record"
    beside.write_text("the record")
    (clips.folder / "letter.txt").write_text("somebody's")
    remnant = f".{'ab' * 4}-half"
    before = {path: path.read_bytes() for path in (beside, *clips.folder.iterdir())}
    for name in (kept, "letter.txt", "../bay.record", ".clip-x/../../bay.record", ""):
        with pytest.raises(RecordError, match="is not what a half-written clip leaves"):
            clips.remove_remnant(name)
    assert {path: path.read_bytes() for path in (beside, *clips.folder.iterdir())} == before
    (clips.folder / remnant).write_bytes(b"half of it")
    assert clips.lying().remnants == {remnant}
    clips.remove_remnant(remnant)
    assert not (clips.folder / remnant).exists()
    with pytest.raises(RecordError, match="cannot be deleted"):
        clips.remove_remnant(remnant)
