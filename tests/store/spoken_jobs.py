"""Jobs with sound, of people with names, for tests of what a store keeps of them."""

from __future__ import annotations

from pathlib import Path
from random import Random

from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.clips import ClipStore, clips_folder
from tests.store.yard import Box, Yard

MORNING = "2026-03-02T08:00:00.000Z"
SALT = "5a" * 16


def sound(seed: int) -> bytes:
    """A tenth of a second of noise."""
    return Random(seed).randbytes(3200)


def speak(
    record: Path,
    job: str,
    technician: str = "A. Example",
    *,
    goes: bool = True,
    agrees: bool = True,
    clips: int = 2,
    at: str = MORNING,
    trusted: bool = True,
) -> list[str]:
    """One job with so many clips, finished; their hashes."""
    clock = FixedClock(at)
    store = ClipStore(clips_folder(record))
    names = [store.put(sound(hash((job, n)) & 0xFFFF)) for n in range(clips)]
    with open_record(record, clock if trusted else FixedClock(at, trusted=False)) as database:
        log = SqliteLog(database, database.create_session(job), store)
        opened = {
            "technician": technician,
            "name_salt": SALT,
            "bay": {"shop": "North", "name": "Bay one"},
            "vehicle": {"name": "City van"},
            **({"sound_goes": True} if goes else {}),
        }
        log.append([Entry("opened", opened)])
        log.append([Entry("consent", {"keep_sound": agrees})])
        for name in names:
            log.append([Entry("heard", {"words": "yes", "ears": "own", "clip_sha256": name})])
        log.append([Entry("noted", {"words": f"Ask {technician} about it", "clip_sha256": None})])
        log.append([Entry("finished", {"result": "inside", "misses_m": []})])
    return names


def box_of(yard: Yard, name: str = "bay one", site: str = "North") -> Box:
    """A box without jobs, known to the store once it has spoken."""
    record = yard.folder / name.replace(" ", "-") / "bay.record"
    record.parent.mkdir()
    with open_record(record, FixedClock(MORNING)):
        pass
    return yard.let_in(name, site, record)
