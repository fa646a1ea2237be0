from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from companion.record import ClipStore, Database, Entry, FixedClock, SqliteLog, open_record


@pytest.fixture
def record_path(tmp_path: Path) -> Path:
    return tmp_path / "bay.record"


@pytest.fixture
def database(record_path: Path) -> Iterator[Database]:
    with open_record(record_path, FixedClock()) as opened:
        yield opened


@pytest.fixture
def clips(tmp_path: Path) -> ClipStore:
    return ClipStore(tmp_path / "clips")


@pytest.fixture
def half_a_second_of_sound() -> bytes:
    seconds = np.arange(8000) / 16_000
    return (8000 * np.sin(2 * np.pi * 440 * seconds)).astype("<i2").tobytes()


@pytest.fixture
def three_entries() -> list[Entry]:
    return [
        Entry("opened", {"technician": "Ana", "example": True}),
        Entry("said", {"prompt_id": "p1", "text": "Read the left arm scale"}),
        Entry("heard", {"prompt_id": "p1", "words": ["seven", "seven", "five"], "score": 0.93}),
    ]


@pytest.fixture
def log(database: Database, clips: ClipStore, half_a_second_of_sound: bytes) -> SqliteLog:
    """A job of two events, one with sound; the record stays open for writing."""
    log = SqliteLog(database, database.create_session("s1"), clips)
    sha256 = clips.put(half_a_second_of_sound)
    log.append([Entry("said", {"text": "Left spot."}), Entry("heard", {"clip_sha256": sha256})])
    return log
