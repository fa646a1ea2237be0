"""Puts people and noises of a folder that no list names yet into a half, once and for all.

    python -m tests.benchmarks.speaker_halves ../shared/people

A quarter of the people is scored, by a hash of the speaker; the others are there for tuning, and
train the heads of our own ears, each half of them apart. Children (the source says so) and names
that stand for several people only ever train. Recordings of noise go by the same hash; those of
one series stay together. The lists are only ever added to.
"""

from __future__ import annotations

import argparse
import hashlib
import re
from pathlib import Path

from tests.benchmarks.spoken_clips import HERE, read_rows, recording

_CHILD = "(child)"
_SEVERAL = "-unknown"
_SCORED_OF_4 = 0


def half_of(name: str) -> str:
    """By the first byte of the name's SHA-256: one in four is scored."""
    scored = hashlib.sha256(name.encode()).digest()[0] % 4 == _SCORED_OF_4
    return "scoring" if scored else "tuning"


def series(name: str) -> str:
    """Recordings that differ by a number at the end are taken for one series."""
    return re.sub(r"\d+$", "", name)


def speaker_half(speaker: str, source: str) -> str:
    """Where a speaker belongs."""
    return "training" if _CHILD in source or speaker.endswith(_SEVERAL) else half_of(speaker)


def add(folder: Path) -> None:
    """Add the people who are new in this folder's lists to ours."""
    speakers = {row["speaker"]: row["source"] for row in read_rows(folder / "speech.tsv")}
    _append("speakers.tsv", {s: speaker_half(s, source) for s, source in speakers.items()})
    noises = {recording(row["path"]) for row in read_rows(folder / "noise.tsv")}
    _append("noises.tsv", {name: half_of(series(name)) for name in noises})


def _append(file: str, halves: dict[str, str]) -> None:
    known = {row["name"] for row in read_rows(HERE / file)}
    with (HERE / file).open("a", encoding="utf-8") as stream:
        stream.writelines(f"{n}\t{h}\n" for n, h in sorted(halves.items()) if n not in known)


def main() -> None:
    """Add those of the folders given."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folders", type=Path, nargs="+")
    for folder in parser.parse_args().folders:
        add(folder)


if __name__ == "__main__":
    main()
