"""What a supervisor looks after: boxes, and jobs that wait for somebody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from psycopg import Connection

from companion.archive.digest import Digest
from companion.statistics.steadiness import PartTold
from companion.store.review.indexing import part_of
from companion.store.review.reading import DIGEST, MOST_COUNTED

SILENT_AFTER = timedelta(days=2)
LITTLE_DISK_BYTES = 2_000_000_000
CLOCK_OFF_S = 120.0
SLOW_EARS_WORK = 1.0
"""Processor seconds for a second of speech: more, and they fall behind."""
TROUBLES = ("refused", "silent", "files", "wrong", "little", "clock", "slow")
LINES = 25
_WAITING = {
    "broken_off": "result = 'broken_off' AND NOT is_rehearsal",
    "unsigned": "signatures = 0 AND result <> 'broken_off' AND NOT is_rehearsal",
    "stood_out": "doubts + taken_back + odd_moves + notes + unreadable > 0 AND NOT is_rehearsal "
    "AND signatures = 0",
}


@dataclass(frozen=True)
class FilesSeen:
    """The newest files that were published to a box; `taken` is None until it answered.

    `before`: the version that it took last; None where it took none.
    """

    version: int
    taken: bool | None
    told: str
    before: int | None


@dataclass(frozen=True)
class BoxSeen:
    """One box as it told of itself last; None where it never told. `refused`: not taken of it."""

    site: str
    name: str
    last_seen: datetime | None
    version: str
    outbox_events: int | None
    disk_free_bytes: int | None
    clock_off_s: float | None
    clock_trusted: bool | None
    refused: tuple[str, ...]
    waits_for_it: int
    is_retired: bool
    ears: str = ""
    ears_work: float | None = None
    check_wrong: tuple[str, ...] = ()
    files: FilesSeen | None = None

    @property
    def is_silent(self) -> bool:
        """Whether nothing came from it for long."""
        return not self.is_retired and (
            self.last_seen is None or datetime.now(UTC) - self.last_seen > SILENT_AFTER
        )

    @property
    def has_little_disk(self) -> bool:
        """Whether its disk is nearly full."""
        return self.disk_free_bytes is not None and self.disk_free_bytes < LITTLE_DISK_BYTES

    @property
    def is_clock_off(self) -> bool:
        """Whether its clock shows another time than the store's."""
        return abs(self.clock_off_s or 0.0) > CLOCK_OFF_S

    @property
    def is_slow(self) -> bool:
        """Whether its ears fall behind while somebody speaks."""
        return self.ears_work is not None and self.ears_work > SLOW_EARS_WORK

    @property
    def refused_files(self) -> bool:
        """Whether it did not take the newest files."""
        return self.files is not None and self.files.taken is False

    @property
    def troubles(self) -> tuple[str, ...]:
        """What somebody has to look after, by name, the gravest first.

        That nothing vouches for a clock which shows the right time is no trouble by itself: the
        store's own time stands beside all that it took.
        """
        if self.is_retired:
            return ()
        found = (
            bool(self.refused),
            self.is_silent,
            self.refused_files,
            bool(self.check_wrong),
            self.has_little_disk,
            self.is_clock_off,
            self.is_slow,
        )
        return tuple(name for name, there in zip(TROUBLES, found, strict=True) if there)

    @property
    def urgency(self) -> int:
        """The higher the graver is the first of its troubles; nought where all is well."""
        if self.is_retired:
            return -1
        return len(TROUBLES) - TROUBLES.index(self.troubles[0]) if self.troubles else 0

    @property
    def needs_somebody(self) -> bool:
        """Whether somebody has to look after it."""
        return bool(self.troubles)


@dataclass(frozen=True)
class Waiting:
    """The jobs that wait, the newest first, and how many there are: counted up to `most`."""

    what: str
    count: int
    jobs: tuple[Digest, ...]
    most: int = MOST_COUNTED


def fleet(connection: Connection) -> tuple[BoxSeen, ...]:
    """Every box of this person's sites, those that need somebody first."""
    rows = connection.execute(
        "SELECT s.name, b.name, b.last_seen, b.told, b.retired IS NOT NULL, ARRAY(SELECT r.told "
        "FROM store.refusal r WHERE r.box = b.box ORDER BY r.last DESC), (SELECT count(*) FROM "
        "store.outgoing o WHERE o.box = b.box AND o.answered IS NULL), (SELECT jsonb_build_array("
        "a.version, a.taken, a.told, (SELECT max(t.version) FROM store.publication_box t "
        "WHERE t.box = b.box AND t.taken)) FROM store.publication_box a WHERE a.box = b.box "
        "ORDER BY a.version DESC LIMIT 1) "
        "FROM store.box b JOIN store.site s USING (site) ORDER BY 1, 2"
    ).fetchall()
    boxes = [_box(*row) for row in rows]
    return tuple(sorted(boxes, key=lambda box: box.urgency, reverse=True))


def worklist(connection: Connection) -> tuple[Waiting, ...]:
    """The jobs that wait for somebody, by why."""
    found = []
    for what, where in _WAITING.items():
        row = connection.execute(
            f"SELECT count(*) FROM (SELECT 1 FROM reading.job WHERE {where} "  # noqa: S608
            f"LIMIT {MOST_COUNTED + 1}) AS counted".encode()
        ).fetchone()
        jobs = connection.execute(
            f"SELECT {DIGEST} FROM reading.job WHERE {where} "  # noqa: S608 - our words
            f"ORDER BY moment DESC, job DESC LIMIT {LINES}".encode()
        )
        found.append(Waiting(what, int(row[0]) if row else 0, tuple(Digest(*job) for job in jobs)))
    return tuple(found)


def changed_parts(connection: Connection) -> tuple[PartTold, ...]:
    """Floors and stands that are no longer as they were."""
    rows = connection.execute(
        "SELECT bay, part, state, sessions, latest_utc, changes FROM reading.part "
        "WHERE state = 'changed' ORDER BY bay, part"
    )
    return tuple(part_of(*row) for row in rows)


def _box(
    site: str,
    name: str,
    last_seen: datetime | None,
    told: Mapping[str, Any],
    is_retired: bool,
    refused: list[str],
    waits: int,
    files: list[Any] | None,
) -> BoxSeen:
    # A box says of itself what it likes: each value is taken for what it is, or not at all.
    trusted = told.get("clock_trusted")
    return BoxSeen(
        site,
        name,
        last_seen,
        str(told.get("version", ""))[:40],
        _whole(told.get("outbox_events")),
        _whole(told.get("disk_free_bytes")),
        _off_s(told.get("clock"), last_seen),
        trusted if isinstance(trusted, bool) else None,
        tuple(refused),
        waits,
        is_retired,
        str(told.get("ears", ""))[:40],
        _figure(told.get("ears_work")),
        _names(told.get("check_wrong")),
        None if files is None else FilesSeen(*files),
    )


def _figure(told: object) -> float | None:
    if isinstance(told, bool) or not isinstance(told, int | float) or not 0 <= told < 1e6:
        return None
    return float(told)


def _names(told: object) -> tuple[str, ...]:
    return tuple(str(name)[:40] for name in told[:20]) if isinstance(told, list) else ()


def _whole(told: object) -> int | None:
    return told if isinstance(told, int) and not isinstance(told, bool) and told >= 0 else None


def _off_s(clock: object, last_seen: datetime | None) -> float | None:
    if not isinstance(clock, str) or last_seen is None:
        return None
    try:
        told = datetime.fromisoformat(clock)
        return (told - last_seen).total_seconds()
    except (ValueError, TypeError, OverflowError):
        return None
