"""Everything that the store keeps about one person, as a folder to be given to them.

By the login of an administrator. Sound that goes with it is noted as listened to, like any other.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from psycopg import Connection

from companion.record.durable import write_new
from companion.store.connecting import StoreError

_OWNERS_ALONE = 0o600
_JOBS = """
    SELECT r.job, b.name, j.id::text, r.session_id FROM reading.job r
    JOIN store.job j USING (job) JOIN store.box b ON b.box = j.box
    WHERE lower(btrim(r.technician)) = ANY (%(names)s) ORDER BY r.job
"""
_EVENTS = """
    SELECT b.name AS box, s.name AS site, j.id::text AS job, e.sequence AS event,
        e.kind::text AS kind, e.at_utc AS at, e.clock_trusted, encode(e.hash, 'hex') AS hash,
        e.body FROM store.event e JOIN store.job j USING (job, month, box)
    JOIN store.box b USING (box) JOIN store.site s ON s.site = e.site
"""
_OF_JOB = f"{_EVENTS} WHERE j.job = %(job)s ORDER BY e.sequence"
_NAMED = (
    _EVENTS + " WHERE NOT j.job = ANY (%(jobs)s) AND EXISTS ("  # noqa: S608 - our words
    "SELECT 1 FROM unnest(%(names)s::text[]) AS n WHERE e.body ~* store.name_pattern(n, '') "
    "AND e.body ~* store.name_pattern(n, e.kind)) ORDER BY e.job, e.sequence"
)
_TABLES = {
    "logins": "SELECT p.name, p.login, p.kind, p.added, p.left_us, ARRAY(SELECT s.name "
    "FROM store.person_site JOIN store.site s USING (site) WHERE person = p.person) AS sites, "
    "l.public_key, l.since AS password_since FROM store.person p "
    "LEFT JOIN store.page_login l USING (person) WHERE lower(btrim(p.name)) = ANY (%(names)s)",
    "sessions": "SELECT p.login, s.began, s.last_used, s.ended FROM store.page_session s "
    "JOIN store.person p USING (person) WHERE lower(btrim(p.name)) = ANY (%(names)s) "
    "ORDER BY s.began",
    "comments": "SELECT c.made, c.name, c.told, j.id::text AS job FROM store.comment c "
    "JOIN store.job j USING (job) LEFT JOIN store.person p USING (person) "
    "WHERE lower(btrim(p.name)) = ANY (%(names)s) "
    "OR c.name || ' ' || c.told ~* ANY (%(patterns)s) ORDER BY c.number",
    "sent_to_boxes": "SELECT o.made, o.what, o.job_id AS job, o.body, o.answered, o.taken, o.told "
    "FROM store.outgoing o JOIN store.person p USING (person) "
    "WHERE lower(btrim(p.name)) = ANY (%(names)s) OR o.body::text ~* ANY (%(patterns)s) "
    "ORDER BY o.number",
    "listened_to_them": "SELECT a.at, coalesce(p.name, a.exported_by::text) AS by, "
    "r.session_id AS job, encode(a.sha256, 'hex') AS clip FROM store.access a "
    "JOIN reading.job r USING (job) LEFT JOIN store.person p ON p.person = a.person "
    "WHERE lower(btrim(r.technician)) = ANY (%(names)s) ORDER BY a.number",
    "they_listened": "SELECT a.at, r.session_id AS job, encode(a.sha256, 'hex') AS clip "
    "FROM store.access a JOIN store.person p USING (person) JOIN reading.job r USING (job) "
    "WHERE lower(btrim(p.name)) = ANY (%(names)s) ORDER BY a.number",
    "pseudonyms": "SELECT told, name, made FROM store.pseudonym "
    "WHERE lower(name) = ANY (%(names)s) OR told = ANY (%(names)s)",
}
_README = """All that the store keeps about {name}.

jobs/ holds the jobs done under this name, one file a job, one event a line; named.jsonl the events
of other jobs and of the offices of boxes in which the name stands; sound/ the recorded answers of
those jobs, each named by the hash that its event names. The other files are: logins and sessions at
the pages, comments, sign-offs and corrections sent to boxes, who listened to this voice, what this
person listened to, and pseudonyms.

What a box keeps beside (its own record, its sound) is not in here, nor what an older backup of the
store holds. A name of one word is looked for only where names stand.
"""


@dataclass(frozen=True)
class Exported:
    """How much went into the folder."""

    jobs: int
    events: int
    clips: int


def export_person(connection: Connection, name: str, folder: Path) -> Exported:
    """Write everything about somebody into a new folder, for its owner alone.

    A pseudonym of which the name is known belongs to it. Raises `StoreError` where the folder is
    there already or cannot be written, and where nothing is kept of such a name.
    """
    name = " ".join(name.split())
    names = [name.lower()]
    names += [
        str(told)
        for (told,) in connection.execute(
            "SELECT told FROM store.pseudonym WHERE lower(name) = lower(%s)", (name,)
        )
    ]
    patterns = [
        row[0]
        for row in connection.execute(
            "SELECT store.name_pattern(one, '') FROM unnest(%s::text[]) AS one", (names,)
        )
    ]
    values = {"names": names, "patterns": patterns}
    try:
        folder.mkdir(mode=0o700)
        with connection.transaction():
            connection.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
            connection.execute("SET LOCAL statement_timeout = 0")
            done = _write_all(connection, name, values, folder)
    except OSError as error:
        raise StoreError(
            f"{error.filename or folder}: cannot be written ({error.strerror}); name a new one"
        ) from error
    return done


def _write_all(connection: Connection, name: str, values: dict[str, Any], folder: Path) -> Exported:
    _write(folder / "README.txt", [_README.format(name=name)])
    jobs = connection.execute(_JOBS, values).fetchall()
    events = 0
    (folder / "jobs").mkdir(mode=0o700)
    for job, box, job_id, _ in jobs:
        rows = _rows(connection, _OF_JOB, {"job": job})
        events += len(rows)
        file = "".join(
            sign if sign.isalnum() or sign in "-._" else "_" for sign in f"{box}-{job_id}"
        )
        _write_lines(folder / "jobs" / f"{job}-{file[:80]}.jsonl", rows)
    named = _rows(connection, _NAMED, {**values, "jobs": [job for job, *_ in jobs]})
    _write_lines(folder / "named.jsonl", named)
    for table, query in _TABLES.items():
        _write_lines(folder / f"{table}.jsonl", _rows(connection, query, values))
    clips = _write_sound(connection, [job for job, *_ in jobs], folder / "sound")
    return Exported(len(jobs), events + len(named), clips)


def _write_sound(connection: Connection, jobs: list[int], folder: Path) -> int:
    folder.mkdir(mode=0o700)
    count = 0
    for job, sha256 in connection.execute(
        "SELECT job, sha256 FROM store.sound WHERE job = ANY (%s) AND gone IS NULL "
        "ORDER BY job, sequence",
        (jobs,),
    ).fetchall():
        row = connection.execute(
            "WITH heard AS (INSERT INTO store.access (site, job, sha256, exported_by) "
            "SELECT site, job, sha256, session_user FROM store.sound WHERE job = %(job)s "
            "AND sha256 = %(sha256)s AND gone IS NULL RETURNING job, sha256) "
            "SELECT s.content FROM heard JOIN store.sound s USING (job, sha256)",
            {"job": job, "sha256": sha256},
        ).fetchone()
        file = folder / f"{bytes(sha256).hex()}.flac"
        if row is not None and not file.exists():
            write_new(file, bytes(row[0]), _OWNERS_ALONE)
            count += 1
    return count


def _rows(connection: Connection, query: str, values: dict[str, Any]) -> list[dict[str, Any]]:
    cursor = connection.execute(query.encode(), values)
    names = [column.name for column in cursor.description or ()]
    return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def _write_lines(file: Path, rows: Iterable[dict[str, Any]]) -> None:
    _write(file, (json.dumps(row, ensure_ascii=False, default=str) + "\n" for row in rows))


def _write(file: Path, lines: Iterable[str]) -> None:
    write_new(file, "".join(lines).encode(), _OWNERS_ALONE)
