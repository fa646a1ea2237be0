"""The bytes that an event's hash is made of, straight from what the file holds.

The canonical JSON of `{at, body, clock_trusted, kind, monotonic, previous, seq, session}` is put
together from the stored columns, the body as it stands. Where the result has the stored hash, the
columns are those that were hashed: every field before and after the body is a JSON string without
a bare quote or a number, so no other columns give the same bytes.
"""

from __future__ import annotations

from functools import lru_cache
from hashlib import sha256

from companion.record.canonical import canonical_json
from companion.record.rfc3339 import parse_rfc3339


@lru_cache(maxsize=4096)
def json_string(stored: bytes) -> bytes:
    """The canonical JSON string of stored UTF-8 text; raises `ValueError` when it is none."""
    return canonical_json(stored.decode("utf-8"))


@lru_cache(maxsize=4096)
def _checked_date(stored: bytes) -> bytes:
    """The date in quotes; raises `RecordError` or `ValueError` when it is no RFC 3339 date."""
    parse_rfc3339(stored.decode("ascii"))
    return b'"' + stored + b'"'


def stored_hash(
    session_id: bytes,
    seq: int,
    kind: bytes,
    at_utc: bytes,
    monotonic_ns: int,
    clock_trusted: int,
    body: bytes,
    previous_hash: bytes,
) -> bytes:
    """The hash (64 hexadecimal digits) that these columns have; the same as `stored_event` gives.

    Raises `RecordError` or `ValueError` for columns that no event can have.
    """
    content = b'{"at":%b,"body":%b,"clock_trusted":%b,"kind":%b,' % (
        _checked_date(at_utc),
        body,
        b"true" if clock_trusted else b"false",
        json_string(kind),
    )
    content += b'"monotonic":"%d","previous":%b,"seq":%d,"session":%b}' % (
        monotonic_ns,
        # Letters and digits need no escape; a hash is new for each event, so no cache helps.
        b'"%b"' % previous_hash if previous_hash.isalnum() else json_string(previous_hash),
        seq,
        json_string(session_id),
    )
    return sha256(content).hexdigest().encode("ascii")
