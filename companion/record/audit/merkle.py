"""The Merkle tree of RFC 6962, section 2.1: one hash for a list that only grows.

A leaf is hashed as SHA-256(0x00, data), a node as SHA-256(0x01, left, right), and a list of n is
split at the largest power of two below n. Leaves and nodes cannot be taken for each other, and the
root of an older, shorter list can be computed from the longer one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from hashlib import sha256

EMPTY_ROOT = sha256(b"").digest()


def leaf_hash(data: bytes) -> bytes:
    """The hash of one leaf, 32 bytes."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of a node over two hashes, 32 bytes."""
    return sha256(b"\x01" + left + right).digest()


def prefix_roots(leaves: Iterable[bytes]) -> Iterator[bytes]:
    """The roots over the first 0, 1, 2, ... leaves; `leaves` are leaf hashes."""
    yield EMPTY_ROOT
    # Complete subtrees from left to right, each with its size; no two of them are equal.
    subtrees: list[tuple[int, bytes]] = []
    for leaf in leaves:
        size, top = 1, leaf
        while subtrees and subtrees[-1][0] == size:
            top = node_hash(subtrees.pop()[1], top)
            size *= 2
        subtrees.append((size, top))
        root = subtrees[-1][1]
        for _, left in reversed(subtrees[:-1]):
            root = node_hash(left, root)
        yield root


def root_of(leaves: Sequence[bytes]) -> bytes:
    """The root over all of the leaf hashes."""
    *_, root = prefix_roots(leaves)
    return root


def inclusion_proof(leaves: Sequence[bytes], place: int) -> list[bytes]:
    """The hashes that lead from the leaf at `place` (from 0) to the root (RFC 6962, 2.1.1)."""
    if len(leaves) <= 1:
        return []
    split = _split(len(leaves))
    if place < split:
        return [*inclusion_proof(leaves[:split], place), root_of(leaves[split:])]
    return [*inclusion_proof(leaves[split:], place - split), root_of(leaves[:split])]


def root_from_proof(leaf: bytes, place: int, count: int, proof: Sequence[bytes]) -> bytes | None:
    """The root that the proof leads to, or None when it is no proof for a tree of that size."""
    if not 0 <= place < count:
        return None
    if count == 1:
        return leaf if not proof else None
    if not proof:
        return None
    split, beside = _split(count), proof[-1]
    if place < split:
        left = root_from_proof(leaf, place, split, proof[:-1])
        return None if left is None else node_hash(left, beside)
    right = root_from_proof(leaf, place - split, count - split, proof[:-1])
    return None if right is None else node_hash(beside, right)


def _split(count: int) -> int:
    """The largest power of two below `count`."""
    return 1 << (count - 1).bit_length() - 1
