"""A hash made from half-way on is the hash of the whole; hashlib is the judge."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.record.audit.event_bytes import stored_hash
from companion.record.audit.redacted import continued, following_bytes, redacted


@given(st.binary(max_size=300), st.binary(min_size=64, max_size=300))
def test_from_half_way_on_it_is_the_hash_of_the_whole(before: bytes, following: bytes) -> None:
    kept = redacted(before, following, b"told")
    assert kept.hash_before(following) == hashlib.sha256(before + following).hexdigest()
    assert kept.is_told(b"told")
    assert not kept.is_told(b"told otherwise")


@given(st.binary(max_size=200), st.binary(min_size=64, max_size=200), st.integers(0, 10_000))
def test_what_follows_cannot_be_another(before: bytes, following: bytes, where: int) -> None:
    kept = redacted(before, following, b"")
    place = kept.skipped + where % max(1, len(following) - kept.skipped)
    if place < len(following):
        other = bytearray(following)
        other[place] ^= 1
        assert kept.hash_before(bytes(other)) != kept.hash_before(following)


def test_from_the_start_on_it_is_hashlibs() -> None:
    initial = "6a09e667bb67ae853c6ef372a54ff53a510e527f9b05688c1f83d9ab5be0cd19"
    for length in (0, 1, 55, 56, 63, 64, 65, 119, 120, 1000):
        content = b"a" * length
        assert continued(bytes.fromhex(initial), 0, content) == hashlib.sha256(content).hexdigest()


def test_of_an_event_its_place_stays_proven() -> None:
    body = b'{"technician":"A. Example"}'
    head = "ab" * 32
    columns = (b"job-1", 1, b"opened", b"2026-03-02T08:00:00.000Z", 123, 1, body, head.encode())
    made = stored_hash(*columns).decode()
    before = b'{"at":"2026-03-02T08:00:00.000Z","body":' + body
    following = following_bytes(True, "opened", 123, head, 1, "job-1")
    kept = redacted(before, following, b"{}")
    assert kept.hash_before(following) == made
    assert kept.hash_before(following_bytes(True, "opened", 123, "cd" * 32, 1, "job-1")) != made
    # Of the shortest kind and clock, no more than three digits of the hash before it are hidden.
    shortest = following_bytes(True, "x", 1, head, 1, "j")
    assert 63 - shortest.index(head.encode()) < 4


def test_less_than_a_block_is_refused() -> None:
    with pytest.raises(ValueError, match="block"):
        redacted(b"a", b"b", b"")
