"""The events in which names were replaced, with what is kept of each for its chain to hold."""

from __future__ import annotations

from collections.abc import Mapping

from psycopg import Connection

from companion.record.audit.redacted import Redacted

_REDACTIONS = """
    SELECT DISTINCT ON (job, sequence) job, sequence, midstate, hidden, skipped,
        encode(body_sha256, 'hex')
    FROM store.erasure WHERE %(job)s::bigint IS NULL OR job = %(job)s
    ORDER BY job, sequence, number DESC
"""


def redactions_of(
    connection: Connection, job: int | None = None
) -> Mapping[int, Mapping[int, Redacted]]:
    """By job and event's number, as they stand now; of all jobs, or of one."""
    found: dict[int, dict[int, Redacted]] = {}
    for of_job, seq, midstate, hidden, skipped, told in connection.execute(
        _REDACTIONS, {"job": job}
    ).fetchall():
        found.setdefault(of_job, {})[seq] = Redacted(bytes(midstate), hidden, skipped, told)
    return found
