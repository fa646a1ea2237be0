"""The engine's check of signatures held against a library's and the standard's own examples."""

from __future__ import annotations

from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from psycopg import Connection

from companion.record.audit.keys import is_signature

L = 2**252 + 27742317777372353535851937790883648493
# RFC 8032, section 7.1, tests 1 to 3: public key, message, signature.
VECTORS = (
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9"
        "b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f1"
        "1d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984d"
        "c6594a7c15e9716ed28dc027beceea1ec40a",
    ),
)


def _engine(admin: Connection, key: bytes, signature: bytes, message: bytes) -> bool:
    row = admin.execute(
        "SELECT store.is_signature(%s, %s, %s)", (key, signature, message)
    ).fetchone()
    assert row is not None
    return bool(row[0])


@pytest.mark.parametrize(("key", "message", "signature"), VECTORS)
def test_the_standards_examples_hold_and_no_neighbour_of_them(
    admin: Connection, key: str, message: str, signature: str
) -> None:
    told = (bytes.fromhex(key), bytes.fromhex(signature), bytes.fromhex(message))
    assert _engine(admin, *told)
    assert not _engine(admin, told[0], told[1], told[2] + b"\x00")


def test_it_says_what_the_library_says(admin: Connection) -> None:
    """Of signatures that hold, with one bit flipped anywhere, and of any bytes."""
    agreed = {True: 0, False: 0}
    for number in range(120):
        drawn = sha256(b"%d" % number).digest()
        key = Ed25519PrivateKey.from_private_bytes(drawn)
        public, message = key.public_key().public_bytes_raw(), drawn[: number % 33] * 3
        told = [public, key.sign(message), message]
        kind = number % 5
        if kind == 1:
            told[1] = _flipped(told[1], number * 37 % 512)
        elif kind == 2:
            told[0] = _flipped(told[0], number * 53 % 256)
        elif kind == 3:
            told[0] = sha256(drawn).digest()
        elif kind == 4:
            # The same point by a number beyond the group's order: not to be taken for it.
            s = int.from_bytes(told[1][32:], "little") + L
            told[1] = told[1][:32] + s.to_bytes(32, "little")
        wanted = is_signature(told[0], told[1], told[2])
        assert _engine(admin, *told) == wanted, (number, kind)
        agreed[wanted] += 1
    assert agreed[True] == 24


def _flipped(content: bytes, bit: int) -> bytes:
    changed = bytearray(content)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


@pytest.mark.parametrize(
    "key",
    [
        bytes(32),
        b"\x01" + bytes(31),
        b"\x01" + bytes(30) + b"\x80",
        (2**255 - 19).to_bytes(32, "little"),
        (2**255 - 18).to_bytes(32, "little"),
        b"\xff" * 32,
        bytes(31),
    ],
)
def test_keys_of_odd_points_are_no_key_of_a_box(admin: Connection, key: bytes) -> None:
    # Neither holds a signature that anybody could make without a key, but of the neutral point,
    # for which the library and the standard take S = 0, R = 1: no keeper lets such a key in.
    signature = b"\x02" + bytes(63)
    assert not _engine(admin, key, signature, b"anything")
