"""Human words, phrases and real noise of a folder, and which half each belongs to.

The folder holds `speech.tsv` (path, kind, transcript, speaker, ...), `noise.tsv` (path, class,
...) and the sound files that they name. Speakers and noise recordings are split once and for all
by the committed lists `speakers.tsv` and `noises.tsv` (`speaker_halves.py` adds to them);
those in neither list are scored. Those of the half "training" are neither tuned on nor scored.
Clips that are labelled wrongly or cut off are in `set_aside.tsv`, each with its reason; figures
are given with and without them.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

import numpy as np

from companion.errors import EarsError
from companion.recognition.source import read_sound
from tests.benchmarks.bay_sound import Samples

Half = Literal["training", "tuning", "scoring"]
HERE = Path(__file__).parent
DEFAULT_FOLDER = HERE.parents[2] / "shared" / "speech"
PEOPLE_FOLDER = HERE.parents[2] / "shared" / "people"
"""More people; scored and trained beside the others where it is there."""
SET_ASIDE = HERE / "set_aside.tsv"


@dataclass(frozen=True)
class Clip:
    """One recording of a speaker; `kind` is "word" or "phrase".

    `set_aside`: it stands in the list of clips with a wrong label or a part missing.
    """

    path: Path
    kind: str
    transcript: str
    speaker: str
    half: Half
    set_aside: bool = False

    def samples(self) -> Samples:
        """The sound at 16 kHz, full scale 1.0."""
        return _samples(self.path)


@dataclass(frozen=True)
class Noise:
    """One recording of noise; `sort` is its class."""

    path: Path
    sort: str
    half: Half

    def samples(self) -> Samples:
        """The sound at 16 kHz, full scale 1.0."""
        return _samples(self.path)


def default_folders() -> tuple[Path, ...]:
    """The folders that are there, or the first one to say that it is not."""
    there = [f for f in (DEFAULT_FOLDER, PEOPLE_FOLDER) if (f / "speech.tsv").is_file()]
    return tuple(there) or (DEFAULT_FOLDER,)


def clips_of(folders: Iterable[Path]) -> list[Clip]:
    """Every clip of several folders. Raises `EarsError` where one of them has none."""
    return [clip for folder in folders for clip in read_clips(folder)]


def noises_of(folders: Iterable[Path]) -> list[Noise]:
    """Every noise recording of several folders. Raises `EarsError` where one of them has none."""
    return [noise for folder in folders for noise in read_noises(folder)]


def read_clips(folder: Path) -> list[Clip]:
    """Every clip of the folder. Raises `EarsError` where there is none."""
    halves = _halves("speakers.tsv")
    aside = frozenset(row["clip"] for row in read_rows(SET_ASIDE))
    return [
        Clip(
            folder / row["path"],
            row["kind"],
            row["transcript"].lower(),
            row["speaker"],
            halves.get(row["speaker"], "scoring"),
            row["path"] in aside,
        )
        for row in read_rows(folder / "speech.tsv")
    ]


def read_noises(folder: Path) -> list[Noise]:
    """Every noise recording of the folder. Raises `EarsError` where there is none."""
    halves = _halves("noises.tsv")
    return [
        Noise(folder / row["path"], row["class"], halves.get(recording(row["path"]), "scoring"))
        for row in read_rows(folder / "noise.tsv")
    ]


def recording(path: str) -> str:
    """Cuts of one recording share their name but for the letter at the end."""
    return re.sub(r"-[A-Z]$", "", Path(path).stem)


def read_rows(path: Path) -> list[dict[str, str]]:
    """The rows of a list with tabs between its columns. Raises `EarsError` where there is none."""
    if not path.is_file():
        raise EarsError(f"{path}: there is no such list; wanted a folder laid out as the docs say")
    with path.open(encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream, delimiter="\t"))


def _halves(name: str) -> dict[str, Half]:
    found: dict[str, Half] = {}
    for row in read_rows(HERE / name):
        half = row["half"]
        if half == "tuning" or half == "training":
            found[row["name"]] = half
        else:
            assert half == "scoring", f"{name}: found {half!r}"
            found[row["name"]] = "scoring"
    return found


@lru_cache(maxsize=4096)
def _samples(path: Path) -> Samples:
    return np.frombuffer(read_sound(path), "<i2").astype(np.float64) / 32768.0
