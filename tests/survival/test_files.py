"""Files that are damaged, or no files at all, are refused by name; what is taken bears a job."""

from __future__ import annotations

import io
import os
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import CompanionError, EarsError, FileProblem
from companion.job.loader import JobPaths
from companion.recognition.source import read_sound
from companion.runtime import assembly
from companion.settings.reading import find_settings
from tests.survival import files

NAMES = ("job", "vehicle", "mount", "bay")


@pytest.mark.parametrize("seed", range(2))
def test_damaged_job_files(seed: int, tmp_path: Path) -> None:
    seen = files.job_files(tmp_path, 10 + seed, 60)
    assert seen["refused"] > 20
    assert seen["taken, a whole job"] > 2


def test_damaged_grammars() -> None:
    seen = files.grammar_files(1, 60)
    assert seen["refused"] > 10
    assert seen["taken"] > 5


def test_damaged_settings_files(tmp_path: Path) -> None:
    seen = files.settings_files(tmp_path, 1, 400)
    assert seen["refused"] > 100
    assert seen["taken"] > 50


def wav() -> bytes:
    whole = io.BytesIO()
    tone = 0.3 * np.sin(np.arange(8_000) / 20)
    soundfile.write(whole, tone.astype(np.float32), 16_000, format="WAV", subtype="PCM_16")
    return whole.getvalue()


def test_damaged_sound_files(tmp_path: Path) -> None:
    seen = files.sound_files(tmp_path, 1, 2_000, wav())
    assert seen["refused"] > 500
    assert seen["taken"] > 500


def a_folder(path: Path) -> None:
    path.mkdir()


def a_pipe(path: Path) -> None:
    os.mkfifo(path)


def a_device_without_end(path: Path) -> None:
    path.symlink_to("/dev/zero")


def a_link_to_itself(path: Path) -> None:
    path.symlink_to(path.name)


def a_link_to_nothing(path: Path) -> None:
    path.symlink_to("nowhere")


def an_empty_file(path: Path) -> None:
    path.touch()


def a_huge_file(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(1 << 40)


ODD = [
    a_folder,
    a_pipe,
    a_device_without_end,
    a_link_to_itself,
    a_link_to_nothing,
    an_empty_file,
    a_huge_file,
]


@pytest.mark.parametrize("odd", ODD)
@pytest.mark.parametrize("name", NAMES)
def test_what_is_no_yaml_file(name: str, odd, tmp_path: Path) -> None:
    path = tmp_path / f"{name}.yaml"
    odd(path)
    with pytest.raises(FileProblem, match=f"{name}.yaml"):
        assembly.load(JobPaths(**{name: path}))


@pytest.mark.parametrize("odd", ODD)
def test_what_is_no_settings_file(odd, tmp_path: Path) -> None:
    path = tmp_path / "settings.yaml"
    odd(path)
    with pytest.raises(FileProblem, match=r"settings\.yaml"):
        find_settings(path)


@pytest.mark.parametrize("odd", ODD)
def test_what_is_no_sound_file(odd, tmp_path: Path) -> None:
    path = tmp_path / "answer.wav"
    odd(path)
    with pytest.raises(EarsError, match=r"answer\.wav"):
        read_sound(path)


@pytest.mark.parametrize("name", ["x" * 5_000, "a/../" * 900 + "b", "no\nline", "‮eman"])
def test_paths_that_play_tricks(name: str, tmp_path: Path) -> None:
    for read in (lambda path: assembly.load(JobPaths(vehicle=path)), read_sound):
        with pytest.raises(CompanionError):
            read(tmp_path / name)
