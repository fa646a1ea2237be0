"""Check values from outside for the record: canonical JSON, SHA-256, SQLite, dates.

RFC 8785 vectors: the test data of its author, github.com/cyberphone/json-canonicalization
(commit 19d51d7), read there; the SHA-256 of each canonical form was computed from it.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
import struct
from datetime import UTC, datetime
from pathlib import Path

import pytest

from companion.errors import RecordError
from companion.record import open_record
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.rfc3339 import format_rfc3339, parse_rfc3339

# Input as JSON text, length and SHA-256 of its canonical bytes, and whether sorted, compact
# json.dumps gives the same bytes (it must not be relied on: it misses two of the six).
VECTORS = {
    "REC-1 arrays": (
        r'[56, {"d": true, "10": null, "1": []}]',
        32,
        "099601b171cafed97c333f8878d68e7f8c8f795412adb34b2fdcf0e7c7beac42",
        True,
    ),
    "REC-2 french": (
        '{"peach": "This sorting order", "péché": "is wrong according to French",'
        ' "pêche": "but canonicalization MUST", "sin": "ignore locale"}',
        130,
        "d99d0ebdcb0033cb858cfa830ae46bc0fb3309413b271f1da828c89901a27ed5",
        True,
    ),
    "REC-3 structures": (
        r'{"1": {"f": {"f": "hi", "F": 5}, "\n": 56.0}, "10": {}, "": "empty", "a": {},'
        r' "111": [{"e": "yes", "E": "no"}], "A": {}}',
        98,
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
        False,
    ),
    "REC-4 unicode": (
        r'{"Unnormalized Unicode": "A\u030a"}',
        30,
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
        True,
    ),
    "REC-5 values": (
        r'{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        r' "string": "\u20ac$\u000F\u000aA' + r"'" + r'\u0042\u0022\u005c\\\"\/",'
        r' "literals": [null, true, false]}',
        118,
        "2d5e01a318d0f0879ab568c4be289c8b1f64ef8921a53c6277d5e069978baacb",
        True,
    ),
    "REC-6 weird": (
        r'{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\u000a": "Newline", "1": "One",'
        r' "\u0080": "Control\u007f", "\ud83d\ude02": "Smiley",'
        r' "\u00f6": "Latin Small Letter O With Diaeresis",'
        r' "\ufb33": "Hebrew Letter Dalet With Dagesh", "</script>": "Browser Challenge"}',
        214,
        "6af595a9aa80110b964b4de3f82a05fa6ae7423005019bacfa2620dddc4e94d1",
        False,
    ),
}


@pytest.mark.parametrize("name", sorted(VECTORS))
def test_canonical_json_vectors(name: str) -> None:
    text, length, digest, _ = VECTORS[name]
    canonical = canonical_json(json.loads(text))
    assert (len(canonical), hashlib.sha256(canonical).hexdigest()) == (length, digest)


@pytest.mark.parametrize("name", sorted(VECTORS))
def test_sorted_json_dumps_is_no_substitute(name: str) -> None:
    text, _, _, same = VECTORS[name]
    value = json.loads(text)
    dumped = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert (dumped.encode() == canonical_json(value)) is same


def test_rec_7_arrays_output() -> None:
    assert canonical_json(json.loads(VECTORS["REC-1 arrays"][0])) == (
        b'[56,{"1":[],"10":null,"d":true}]'
    )


@pytest.mark.parametrize(
    ("bits", "text"),
    [  # REC-8, README of the same test data, read there
        ("4340000000000001", b"9007199254740994"),
        ("444b1ae4d6e2ef50", b"1e+21"),
        ("3eb0c6f7a0b5ed8d", b"0.000001"),
        ("3eb0c6f7a0b5ed8c", b"9.999999999999997e-7"),
        ("8000000000000000", b"0"),
    ],
)
def test_rec_8_doubles_as_text(bits: str, text: bytes) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert canonical_json(number) == text


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_rec_10_numbers_that_json_has_not_are_refused(number: float) -> None:
    with pytest.raises(RecordError):  # rfc8785 0.1.4, run
        canonical_json({"u": number})


@pytest.mark.parametrize("number", [2**53, -(2**53), 2**63])
def test_rec_11_integers_a_double_cannot_count_to_are_refused(number: int) -> None:
    with pytest.raises(RecordError):  # rfc8785 0.1.4, run
        canonical_json({"count": number})
    assert canonical_json(2**53 - 1) == b"9007199254740991"


@pytest.mark.parametrize(
    ("number", "text"),
    [(-0.0, b"0"), (1.0, b"1"), (0.1 + 0.2, b"0.30000000000000004")],
)
def test_rec_12_shortest_numbers(number: float, text: bytes) -> None:
    assert canonical_json(number) == text  # rfc8785 0.1.4, run


@pytest.mark.parametrize(
    ("message", "digest"),
    [
        # REC-20, public tests, read
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        # REC-21 to 23, public test files naming NIST FIPS 180-4, read second hand
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
    ids=["REC-20", "REC-21", "REC-22", "REC-23"],
)
def test_sha256_vectors(message: bytes, digest: str) -> None:
    assert sha256_hex(message) == digest


def test_rec_40_43_what_sqlite_does_unasked(tmp_path: Path) -> None:
    """Python's sqlite3 (SQLite 3.40.1), run: synchronous is FULL, foreign keys are off."""
    plain = sqlite3.connect(tmp_path / "plain.db")
    assert plain.execute("PRAGMA synchronous").fetchone() == (2,)
    assert plain.execute("PRAGMA foreign_keys").fetchone() == (0,)
    plain.close()


def test_rec_41_the_log_mode_survives_reopening_and_we_ask_for_full_each_time(
    tmp_path: Path,
) -> None:
    """SQLite 3.40.1, run: WAL is kept in the file, `synchronous` belongs to the connection."""
    path = tmp_path / "bay.record"
    open_record(path).close()
    stranger = sqlite3.connect(path)
    stranger.execute("PRAGMA synchronous = OFF")
    assert stranger.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    stranger.close()
    with open_record(path) as database:
        assert database.read("PRAGMA synchronous")[0]["synchronous"] == 2


def test_rec_42_memory_databases_have_no_write_ahead_log() -> None:
    memory = sqlite3.connect(":memory:")  # SQLite 3.40.1, run
    assert memory.execute("PRAGMA journal_mode = WAL").fetchone() == ("memory",)
    memory.close()


@pytest.mark.parametrize(
    ("text", "utc"),
    [
        # REC-46: RFC 3339 section 5.8, read second hand (Rust `time` documentation)
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)),
        # REC-47 and 48: RFC 3339 section 5.8, from memory; conversion run
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, 0, UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870_000, UTC)),
        # REC-49: leap second, grammar read second hand; counted as the next second here
        ("1990-12-31T23:59:60Z", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
        ("1990-12-31T15:59:60-08:00", datetime(1991, 1, 1, 0, 0, 0, 0, UTC)),
    ],
)
def test_rec_46_to_49_dates_of_rfc_3339(text: str, utc: datetime) -> None:
    assert parse_rfc3339(text) == utc


def test_rec_49_python_refuses_the_leap_second() -> None:
    with pytest.raises(ValueError, match="second must be"):  # Python 3.11, run
        datetime.fromisoformat("1990-12-31T23:59:60+00:00")


@pytest.mark.parametrize(
    "text", ["20240101", "2024-W01-1", "2024-01-01T00:00:00", "2024-01-01T00:00+00:00"]
)
def test_rec_50_python_takes_what_rfc_3339_does_not(text: str) -> None:
    datetime.fromisoformat(text)  # Python 3.11, run: accepted
    with pytest.raises(RecordError, match="RFC 3339"):
        parse_rfc3339(text)


@pytest.mark.parametrize(
    "text",
    [
        "2024-02-30T00:00:00Z",  # REC-51, Python 3.11, run
        "2024-01-01T24:00:00Z",  # REC-51, Python 3.11, run
        "2024-01-01 00:00:00Z",
        "2024-01-01T00:00:00+24:00",
        "2024-06-30T12:00:60Z",
        "2024-01-01T00:00:00.Z",
        "٢٠٢٤-01-01T00:00:00Z",
        "0001-01-01T00:00:00+01:00",
        "2024-01-01T00:00:00Z\n",
    ],
)
def test_rec_51_impossible_dates_are_refused(text: str) -> None:
    with pytest.raises(RecordError, match="RFC 3339"):
        parse_rfc3339(text)


def test_our_own_stamps_are_read_back() -> None:
    moment = datetime(2031, 5, 6, 7, 8, 9, 123_000, UTC)
    assert format_rfc3339(moment) == "2031-05-06T07:08:09.123Z"
    assert parse_rfc3339(format_rfc3339(moment)) == moment
