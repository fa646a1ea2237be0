"""The events in which names were replaced, with what is kept of each for its chain to hold."""

from __future__ import annotations

import re
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


_CUT = re.compile(r'person [0-9a-f]{8}|"name_salt":""|"value":"0{128}"')
_WHOLE = {
    '"name_salt":""': '"name_salt":"[0-9a-f]*"',
    f'"value":"{"0" * 128}"': '"value":"[0-9a-f]{128}"',
}
_NAME = r'(?:[^"\\]|\\.){3,400}?'


def only_names_went(own: str, told: str) -> bool:
    """Whether the store tells a body as the box has it, but for names, each by one pseudonym.

    `own` and `told` are canonical JSON; what goes with a name (salt, signatures) may be gone.
    """
    pattern, names, at = "", dict[str, str](), 0
    for cut in _CUT.finditer(told):
        pattern += re.escape(told[at : cut.start()])
        at = cut.end()
        found = cut[0]
        if found in _WHOLE:
            pattern += _WHOLE[found]
        elif found in names:
            pattern += rf"(?i:(?P={names[found]}))"
        else:
            names[found] = f"n{len(names)}"
            pattern += f"(?P<{names[found]}>{_NAME})"
    return re.fullmatch(pattern + re.escape(told[at:]), own, re.DOTALL) is not None
