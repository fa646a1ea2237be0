"""The quick check of canonical JSON says the same as the canonical writer."""

from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from companion.errors import RecordError
from companion.facts.kinds import Entry
from companion.record.audit.canonical_check import value_of_canonical
from companion.record.audit.event_bytes import stored_hash
from companion.record.canonical import canonical_json, parsed_json, stored_event
from companion.record.port import Stamp

numbers = (
    st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.floats(-1e-3, 1e-3)
    | st.integers(-30, 30).map(lambda power: 10.0**power)
    | st.integers(-(2**60), 2**60).map(float)
)
values = st.recursive(
    st.none() | st.booleans() | numbers | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=15,
)


@given(value=values)
@example(value={"a": 1e16, "b": 1e21, "c": 1e-7, "d": 1e-12, "e": 5e-5, "f": -0.0, "g": 2.0**53})
@example(value={"\ufb33": 1, "\U0001f600": 2})
def test_what_the_canonical_writer_writes_is_canonical(value: object) -> None:
    text = canonical_json(value).decode()
    assert value_of_canonical(text) == parsed_json(text)


AS_TEXT = r"""
1.0 -0 -0.0 1e5 1E5 1e-07 1e-7 1e+16 1e+21 1e21 1e-10 1e+20 1.5e-06 1.5e-12 1e-320 5e-324 1e400
0.00001 1e-05 1.50 0.1 01 10000000000000000 9007199254740993 12345678901234567890 123456789012345
100000000000000000000 NaN Infinity "\u00e9" "é" "\/" "\u001F" "\u001f" "\n" "\ud800" "1.0" "e-07"
[1.0,2] {} [] {"b":1,"a":2} {"a":1,"a":1} {"a":"x","b":1.0} {"😀":1,"\ufb33":2} {"😀":1,"דּ":2}
{"דּ":1,"😀":2} ["e-07",1] null true
"""
SPELLINGS = AS_TEXT.split()
spellings = st.sampled_from([*SPELLINGS, "1.0 ", " 1", "[1, 2]"])


@settings(max_examples=400, deadline=None)
@given(first=spellings, second=spellings)
def test_any_other_spelling_is_refused_exactly_where_the_canonical_writer_writes_another(
    first: str, second: str
) -> None:
    text = f'{{"a":{first},"b":[{second}]}}'
    try:
        is_canonical = canonical_json(parsed_json(text)).decode() == text
    except (ValueError, RecordError):
        is_canonical = False
    if is_canonical:
        value_of_canonical(text)
    else:
        with pytest.raises((ValueError, RecordError)):
            value_of_canonical(text)


texts = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12)


@given(
    session_id=texts,
    kind=texts,
    body=st.dictionaries(texts, values, max_size=4),
    monotonic_ns=st.integers(0, 2**63 - 1),
    seq=st.integers(1, 2**40),
    trusted=st.booleans(),
    previous=texts | st.just(sha256(b"").hexdigest()),
)
@example(session_id="s", kind="k", body={}, monotonic_ns=0, seq=1, trusted=True, previous='a"b')
def test_the_hash_of_what_is_stored_is_the_hash_that_was_made(
    session_id: str,
    kind: str,
    body: dict[str, object],
    monotonic_ns: int,
    seq: int,
    trusted: bool,
    previous: str,
) -> None:
    at_utc = "2031-05-06T07:08:09.123Z"
    stamp = Stamp(at_utc, monotonic_ns, trusted)
    made = stored_event(session_id, seq, Entry(kind, body), stamp, previous).hash
    again = stored_hash(
        session_id.encode(),
        seq,
        kind.encode(),
        at_utc.encode(),
        monotonic_ns,
        int(trusted),
        canonical_json(body),
        previous.encode(),
    )
    assert again.decode() == made


def test_a_key_that_is_no_text_is_named() -> None:
    with pytest.raises(RecordError, match=r"body\.found: key 1 is not text"):
        canonical_json({"found": {1: "a"}})
