"""Events of which a copy no longer holds all that was hashed: a name was replaced in it.

SHA-256 (FIPS 180-4) reads its input in blocks of 64 bytes, and after each block all before it
counts only by eight words. An event's bytes are `{"at":…,"body":…` and then what follows: clock,
kind, the hash before it, number, session. From the eight words as they stood
behind the body the hash can still be made. So it shows what the event follows and where it stands,
as before. Of the body it shows nothing any more, and the eight words do not give it back.
To find others that lead to the same hash with something else following is to break SHA-256.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from struct import pack, unpack

from companion.record.canonical import sha256_hex

BLOCK_BYTES = 64
_WORD = 0xFFFFFFFF
_Words = tuple[int, ...]


@dataclass(frozen=True)
class Redacted:
    """What is kept of an event in which a name was replaced.

    `midstate`: SHA-256's eight words (32 bytes) after `hidden` bytes, a whole number of blocks:
    everything to the end of the body and `skipped` bytes of what follows. `body_sha256`: the
    body as it is told since.
    """

    midstate: bytes
    hidden: int
    skipped: int
    body_sha256: str

    def hash_before(self, following: bytes) -> str:
        """The event's hash, from what follows its body (64 hexadecimal digits)."""
        return continued(self.midstate, self.hidden, following[self.skipped :])

    def is_told(self, body: bytes) -> bool:
        """Whether the body is the one that stands there since the name was replaced."""
        return sha256_hex(body) == self.body_sha256


def redacted(before: bytes, following: bytes, told: bytes) -> Redacted:
    """What to keep of an event's bytes: `before` to the end of the body, `following` behind it.

    `told` is the body as it shall stand. Raises `ValueError` where less than a block follows.
    """
    hidden = -(-len(before) // BLOCK_BYTES) * BLOCK_BYTES
    skipped = hidden - len(before)
    if skipped > len(following):
        raise ValueError("less follows the body than one block of SHA-256")
    state = _initial()
    for block in _blocks(before + following[:skipped]):
        state = _compressed(state, block)
    return Redacted(pack(">8I", *state), hidden, skipped, sha256_hex(told))


def following_bytes(
    clock_trusted: bool, kind: str, monotonic_ns: int, previous: str, seq: int, session_id: str
) -> bytes:
    """What follows the body in an event's canonical JSON; names and kinds need no escape there."""
    trusted = "true" if clock_trusted else "false"
    return (
        f',"clock_trusted":{trusted},"kind":"{kind}","monotonic":"{monotonic_ns}",'
        f'"previous":"{previous}","seq":{seq},"session":"{session_id}"}}'
    ).encode()


def continued(midstate: bytes, hidden: int, following: bytes) -> str:
    """SHA-256 of `hidden` bytes that gave this state and of those that follow, hexadecimal."""
    bits = (hidden + len(following)) * 8
    padding = b"\x80" + bytes((55 - len(following)) % BLOCK_BYTES) + pack(">Q", bits)
    state: _Words = unpack(">8I", midstate)
    for block in _blocks(following + padding):
        state = _compressed(state, block)
    return pack(">8I", *state).hex()


def _blocks(content: bytes) -> Iterator[bytes]:
    for start in range(0, len(content), BLOCK_BYTES):
        yield content[start : start + BLOCK_BYTES]


def _compressed(state: _Words, block: bytes) -> _Words:
    """One block more (FIPS 180-4, 6.2.2).

    A word written twice beside itself and shifted has the turned word in its lower half; what is
    left in the upper one falls away with the sum's own carry.
    """
    words = list(unpack(">16I", block))
    for t in range(16, 64):
        x, y = words[t - 15], words[t - 2]
        twice_x, twice_y = x | x << 32, y | y << 32
        small_0 = twice_x >> 7 ^ twice_x >> 18 ^ x >> 3
        small_1 = twice_y >> 17 ^ twice_y >> 19 ^ y >> 10
        words.append(words[t - 16] + small_0 + words[t - 7] + small_1 & _WORD)
    a, b, c, d, e, f, g, h = state
    for constant, word in zip(_constants(), words, strict=True):
        twice_a, twice_e = a | a << 32, e | e << 32
        big_1 = twice_e >> 6 ^ twice_e >> 11 ^ twice_e >> 25
        first = h + big_1 + (g ^ e & (f ^ g)) + constant + word
        big_0 = twice_a >> 2 ^ twice_a >> 13 ^ twice_a >> 22
        second = big_0 + (a & b ^ c & (a ^ b))
        a, b, c, d, e, f, g, h = first + second & _WORD, a, b, c, d + first & _WORD, e, f, g
    return tuple(
        old + new & _WORD for old, new in zip(state, (a, b, c, d, e, f, g, h), strict=True)
    )


@cache
def _initial() -> _Words:
    """The first 32 bits behind the point of the square roots of the first eight primes (5.3.3)."""
    return tuple(_root(prime << 64, 2) & _WORD for prime in _primes(8))


@cache
def _constants() -> _Words:
    """The same of the cube roots of the first 64 primes (4.2.2)."""
    return tuple(_root(prime << 96, 3) & _WORD for prime in _primes(64))


def _primes(count: int) -> list[int]:
    found: list[int] = []
    number = 2
    while len(found) < count:
        if all(number % prime for prime in found):
            found.append(number)
        number += 1
    return found


def _root(value: int, power: int) -> int:
    """The whole part of the root, by halving."""
    low, high = 0, 1 << value.bit_length() // power + 1
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if middle**power <= value else (low, middle - 1)
    return low
