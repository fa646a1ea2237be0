"""Canonical JSON (RFC 8785) and the hashes that chain the events.

The hash of an event is the SHA-256 of the canonical JSON of the object
`{at, body, clock_trusted, kind, monotonic, previous, seq, session}`. A chain shows every
edit, but not a rewrite of the whole of it: for that, someone outside must keep the head
hash (it stands on the report), and `verify` is given it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from functools import cache
from typing import Any

import rfc8785

from companion.errors import RecordError
from companion.facts.kinds import Fact, body_of, kind_of
from companion.record.port import Stamp, StoredEvent


def canonical_json(value: object) -> bytes:
    """The one byte string that stands for this JSON value (RFC 8785), UTF-8.

    Raises `RecordError` for anything that JSON cannot carry exactly: NaN and infinity,
    integers of 2**53 and beyond, lone surrogates, keys that are not strings, and types
    such as Decimal (which go into the record as strings).
    """
    try:
        return rfc8785.dumps(_plain(value, "body"))
    except rfc8785.CanonicalizationError as error:
        raise RecordError(f"the record cannot hold this value exactly: {error}") from error
    except UnicodeError as error:
        raise RecordError(f"the record cannot hold this text: {error}") from error


def _plain(value: object, where: str) -> Any:
    match value:
        case None | bool() | int() | float() | str():
            return value
        case Mapping():
            for key in value:
                if not isinstance(key, str):
                    raise RecordError(f"{where}: key {key!r} is not text; JSON wants text keys")
            return {key: _plain(item, f"{where}.{key}") for key, item in value.items()}
        case list() | tuple():
            return [_plain(item, f"{where}[{place}]") for place, item in enumerate(value)]
        case _:
            raise RecordError(
                f"{where}: {type(value).__name__} {value!r} is not a JSON value; "
                "give decimals and fractions as text, sets as lists"
            )


def parsed_json(text: str | bytes) -> Any:
    """The value of JSON text; raises `ValueError` when it is none.

    Whole numbers of 2**53 and beyond were floats (RFC 8785 writes 2.0**60 without a point),
    and come back as floats.
    """
    if isinstance(text, str):
        return _decoder().decode(text)
    return json.loads(text, parse_int=_whole_number)


@cache
def _decoder() -> json.JSONDecoder:
    return json.JSONDecoder(parse_int=_whole_number)


def _whole_number(digits: str) -> int | float:
    number = int(digits)
    return number if abs(number) < 2**53 else float(digits)


def sha256_hex(content: bytes) -> str:
    """SHA-256 (FIPS 180-4) of the bytes, 64 lower-case hexadecimal digits."""
    return hashlib.sha256(content).hexdigest()


def opening_hash(session_id: str, opened_utc: str) -> str:
    """What the first event of a session is chained to: its identity and its opening time."""
    return sha256_hex(canonical_json({"opened": opened_utc, "session": session_id}))


def _hash_around(
    written_body: bytes, session_id: str, seq: int, kind: str, stamp: Stamp, previous_hash: str
) -> str:
    """SHA-256 over the canonical JSON of everything the event says and of what it follows.

    The body is canonical JSON already: writing it is the dear part. The monotonic count goes in as
    text: it passes 2**53 nanoseconds after 104 days without a restart, which a JSON number no
    longer carries exactly.
    """
    after = canonical_json(
        {
            "clock_trusted": stamp.trusted,
            "kind": kind,
            "monotonic": str(stamp.monotonic_ns),
            "previous": previous_hash,
            "seq": seq,
            "session": session_id,
        }
    )
    # In the order of RFC 8785: "at" and "body" come before all of these.
    at = canonical_json(stamp.at_utc)
    return sha256_hex(b'{"at":%b,"body":%b,%b' % (at, written_body, after[1:]))


def stored_event(
    session_id: str, seq: int, fact: Fact, stamp: Stamp, previous_hash: str
) -> StoredEvent:
    """The fact with its place, time and hash; the body is as it will be read back."""
    kind = kind_of(fact)
    if not kind:
        raise RecordError("an event needs a kind; it came without one")
    written_body = canonical_json(body_of(fact))
    body = parsed_json(written_body)
    if not isinstance(body, dict):
        raise RecordError(f"event {kind!r}: its body must be a mapping of names to values")
    return StoredEvent(
        session_id=session_id,
        seq=seq,
        kind=kind,
        at_utc=stamp.at_utc,
        monotonic_ns=stamp.monotonic_ns,
        clock_trusted=stamp.trusted,
        body=body,
        previous_hash=previous_hash,
        hash=_hash_around(written_body, session_id, seq, kind, stamp, previous_hash),
    )
