"""Human words, phrases and real noise of a folder, and which half each belongs to.

The folder holds `speech.tsv` (path, kind, transcript, speaker, ...), `noise.tsv` (path, class,
...) and the sound files that they name. Speakers and noise recordings are split once and for all
by the committed lists `speakers.tsv` and `noises.tsv`; whoever is in neither list is scored. Clips
whose label is wrong or that are cut off stand in `set_aside.tsv`, each with its reason; figures are
given with and without them.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Literal

import numpy as np

from companion.ears.source import read_sound
from companion.errors import EarsError
from tests.benchmarks.bay_sound import Samples

Half = Literal["tuning", "scoring"]
HERE = Path(__file__).parent
DEFAULT_FOLDER = HERE.parents[2] / "shared" / "speech"
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
        assert half in ("tuning", "scoring"), f"{name}: found {half!r}"
        found[row["name"]] = "tuning" if half == "tuning" else "scoring"
    return found


@lru_cache(maxsize=4096)
def _samples(path: Path) -> Samples:
    return np.frombuffer(read_sound(path), "<i2").astype(np.float64) / 32768.0
