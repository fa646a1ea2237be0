"""A person's name in the store replaced by a pseudonym, without breaking a hash.

The events' bytes hold the name and are what was hashed, so with the name those bytes go. What is
kept instead (`record.audit.redacted`) proves the event's place in the chain as before; what the
event says from then on is as the store tells it, held to be the old body but for the name by the
engine itself, which makes it. By the login of an administrator.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from psycopg import Connection

from companion.record.audit.redacted import Redacted, following_bytes, redacted
from companion.store.connecting import StoreError
from companion.store.migrating import one
from companion.store.redactions import redactions_of
from companion.store.review.indexing import index_store

LEAST_LETTERS = 3
_HOLDING = """
    SELECT e.job, e.sequence FROM store.event e JOIN store.job j USING (job, month, box)
    WHERE strpos(lower(e.body), lower(%(word)s)) > 0
        AND e.body ~* store.name_pattern(%(name)s, '')
        AND store.without_name(e.body, e.kind, %(name)s, %(told)s) <> e.body
        AND (%(since)s = '-infinity' OR EXISTS (SELECT 1 FROM store.mark m
            WHERE m.box = j.box AND m.job_id = j.id AND m.received >= %(since)s::timestamptz))
    ORDER BY e.job, e.sequence
"""
_EVENT = """
    SELECT e.month, e.box, e.site, e.kind::text, e.at_utc, e.monotonic_ns, e.clock_trusted, e.body,
        encode(e.hash, 'hex'), j.id::text, encode(coalesce(before.hash, j.opening_hash), 'hex'),
        store.without_name(e.body, e.kind, %(name)s, %(told)s)
    FROM store.job j JOIN store.event e USING (job, month, box)
    LEFT JOIN store.event before ON before.month = j.month AND before.box = j.box
        AND before.job = j.job AND before.sequence = e.sequence - 1
    WHERE j.job = %(job)s AND e.sequence = %(seq)s
"""


@dataclass(frozen=True)
class Forgotten:
    """What was done: in how many events and comments; `left` says what could not be yet."""

    pseudonym: str
    events: int
    jobs: int
    comments: int
    left: tuple[str, ...]


def replace_name(connection: Connection, name: str, *, for_good: bool) -> Forgotten:
    """Put a pseudonym in the place of a name, everywhere; `for_good`: forget whose it is, too.

    Where it is not forgotten the same pseudonym takes its place in what comes later, by
    `replace_again`. Raises `StoreError` for a name that is too short to be looked for.
    """
    name = " ".join(name.split())
    if sum(map(str.isalnum, name)) < LEAST_LETTERS:
        raise StoreError(f"{name!r} is too short to be looked for; wanted: the name as recorded")
    told = _pseudonym(connection, name)
    done = _replace(connection, name, told, anew=True)
    if for_good:
        forget_whose(connection, told)
    return done


def replace_again(connection: Connection) -> list[Forgotten]:
    """The same in what came since, for every pseudonym of which the name is known."""
    rows = connection.execute(
        "SELECT name, told FROM store.pseudonym WHERE name IS NOT NULL ORDER BY number"
    ).fetchall()
    return [_replace(connection, name, told, anew=False) for name, told in rows]


def forget_whose(connection: Connection, told: str) -> None:
    """Whose pseudonym that is, is not known from here on."""
    connection.execute("UPDATE store.pseudonym SET name = NULL WHERE told = %s", (told,))


def _pseudonym(connection: Connection, name: str) -> str:
    row = connection.execute(
        "SELECT told FROM store.pseudonym WHERE lower(name) = lower(%s)", (name,)
    ).fetchone()
    if row is not None:
        return str(row[0])
    told = f"person {secrets.token_hex(4)}"
    connection.execute("INSERT INTO store.pseudonym (told, name) VALUES (%s, %s)", (told, name))
    return told


def _replace(connection: Connection, name: str, told: str, *, anew: bool) -> Forgotten:
    since, began = one(
        connection, "SELECT done_until::text, now() FROM store.pseudonym WHERE told = %s", (told,)
    )
    # The pattern is dear: only what holds the name's longest word is looked at with it.
    word = max(re.findall(r"[^\W_]+", name), key=len)
    values = {
        "name": name,
        "told": told,
        "word": word,
        "since": "-infinity" if anew else since,
    }
    with connection.transaction():
        connection.execute("SET LOCAL statement_timeout = 0")
        found = connection.execute(_HOLDING, values).fetchall()
    by_job: dict[int, list[int]] = {}
    for job, seq in found:
        by_job.setdefault(job, []).append(seq)
    for job, sequences in by_job.items():
        # Job by job: if interrupted, the next attempt continues where it was.
        with connection.transaction():
            _in_job(connection, job, sequences, values)
    with connection.transaction():
        comments = connection.execute(
            "UPDATE store.comment SET name = store.without_name(name, '', %(name)s, %(told)s), "
            "told = store.without_name(told, '', %(name)s, %(told)s) "
            "WHERE name || ' ' || told ~* store.name_pattern(%(name)s, '')",
            values,
        ).rowcount
        connection.execute(
            "UPDATE store.outgoing SET "
            "body = store.without_name(body::text, what, %(name)s, %(told)s)::jsonb, "
            "told = store.without_name(told, '', %(name)s, %(told)s) "
            "WHERE answered IS NOT NULL AND body::text || told ~* "
            "store.name_pattern(%(name)s, '')",
            values,
        )
        connection.execute(
            "UPDATE store.asking a SET body = '{}', answered = now(), taken = false FROM "
            "store.person p WHERE p.person = a.person AND p.left_us IS NOT NULL "
            "AND a.answered IS NULL AND lower(btrim(p.name)) = lower(%(name)s)",
            values,
        )
        connection.execute(
            "UPDATE store.publication SET name = %(told)s WHERE lower(btrim(name)) = "
            "lower(%(name)s)",
            values,
        )
        left = _left(connection, values)
        connection.execute(
            "UPDATE store.person SET name = %(told)s::text, "
            "login = %(told)s::text || ' ' || person "
            "WHERE lower(btrim(name)) = lower(%(name)s) AND left_us IS NOT NULL",
            values,
        )
        connection.execute(
            "UPDATE store.pseudonym SET done_until = %s WHERE told = %s", (began, told)
        )
        if found:
            connection.execute(
                "INSERT INTO store.keeping (by, what) VALUES (session_user, %s)",
                (f"a name became {told} in {len(found)} events",),
            )
    _index_again(connection, list(by_job), name)
    return Forgotten(told, len(found), len(by_job), comments, left)


def _in_job(
    connection: Connection, job: int, sequences: Sequence[int], values: dict[str, Any]
) -> None:
    before = redactions_of(connection, job).get(job, {})
    (pseudonym,) = one(
        connection, "SELECT number FROM store.pseudonym WHERE told = %s", (values["told"],)
    )
    for seq in sequences:
        month, box, site, *row = _event(connection, values, job, seq)
        kept = _kept(row, seq, before.get(seq))
        connection.execute(
            "INSERT INTO store.erasure (box, site, job, sequence, pseudonym, midstate, hidden, "
            "skipped, body_sha256) VALUES (%s, %s, %s, %s, %s, %s, %s, %s, decode(%s, 'hex'))",
            (box, site, job, seq, pseudonym, kept.midstate, kept.hidden, kept.skipped,
             kept.body_sha256),
        )  # fmt: skip
        connection.execute(
            "UPDATE store.event SET body = %s WHERE month = %s AND box = %s AND job = %s "
            "AND sequence = %s",
            (row[-1], month, box, job, seq),
        )


def _event(connection: Connection, values: dict[str, Any], job: int, seq: int) -> tuple[Any, ...]:
    row = connection.execute(_EVENT, {**values, "job": job, "seq": seq}).fetchone()
    if row is None:
        raise StoreError(f"event {seq} of a job is gone; look with 'companion store verify'")
    return row


def _kept(row: Sequence[Any], seq: int, before: Redacted | None) -> Redacted:
    """What is kept of an event; raises `StoreError` for one that is not what its hash says."""
    kind, at_utc, monotonic_ns, trusted, body, hashed, job_id, previous, told = row
    following = following_bytes(trusted, kind, monotonic_ns, previous, seq, job_id)
    made = redacted(f'{{"at":"{at_utc}","body":{body}'.encode(), following, told.encode())
    if before is not None:
        made = Redacted(before.midstate, before.hidden, before.skipped, made.body_sha256)
    if made.hash_before(following) != hashed:
        raise StoreError(
            f"event {seq} of job {job_id} is not what its hash was made of; nothing of this job "
            "was replaced: look at it with 'companion store verify'"
        )
    return made


def _left(connection: Connection, values: dict[str, Any]) -> tuple[str, ...]:
    """Where the name stands still, and why."""
    (waiting,) = one(
        connection,
        "SELECT count(*) FROM store.outgoing WHERE answered IS NULL AND body::text ~* "
        "store.name_pattern(%s, '')",
        (values["name"],),
    )
    logins = connection.execute(
        "SELECT login FROM store.person WHERE lower(btrim(name)) = lower(%s) AND left_us IS NULL",
        (values["name"],),
    ).fetchall()
    (noted,) = one(
        connection,
        "SELECT count(*) FROM store.keeping WHERE what ~* store.name_pattern(%s, '')",
        (values["name"],),
    )
    (published,) = one(
        connection,
        "SELECT count(*) FROM store.publication "
        "WHERE lower(btrim(convert_from(manifest, 'UTF8')::jsonb->>'by')) = lower(%s)",
        (values["name"],),
    )
    left = []
    if published:
        left.append(
            f"{published} versions of files, published before names stood beside them, hold it"
        )
    if waiting:
        left.append(f"{waiting} sign-offs or corrections wait for their box with it; again later")
    left += [
        f"{login} logs in still: 'companion store remove-person', then again" for (login,) in logins
    ]
    if noted:
        left.append(f"{noted} notes of keepers hold it; they are never changed")
    return tuple(left)


def _index_again(connection: Connection, jobs: list[int], name: str) -> None:
    """What the pages are quick by is made of these jobs anew."""
    with connection.transaction():
        for table in ("job", "words", "summary"):
            connection.execute(
                f"DELETE FROM reading.{table} WHERE job = ANY (%s)".encode(),  # noqa: S608
                (jobs,),
            )
        connection.execute(
            "DELETE FROM reading.name WHERE what = 'technician' AND lower(btrim(name)) = lower(%s)",
            (name,),
        )
    index_store(connection)
