"""The Merkle tree against published roots.

Roots and single hashes: transparency-dev/merkle, commit 417fb0c, test data for RFC 6962 hashing.
"""

from __future__ import annotations

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.record.audit.merkle import (
    inclusion_proof,
    leaf_hash,
    node_hash,
    prefix_roots,
    root_from_proof,
    root_of,
)

LEAVES = [
    b"",
    bytes.fromhex("00"),
    bytes.fromhex("10"),
    bytes.fromhex("2021"),
    bytes.fromhex("3031"),
    bytes.fromhex("40414243"),
    bytes.fromhex("5051525354555657"),
    bytes.fromhex("606162636465666768696a6b6c6d6e6f"),
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]


def recursive_root(leaves: list[bytes]) -> bytes:
    """RFC 6962, section 2.1, as the definition reads: no stack, no order of its own."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return sha256(b"\0" + leaves[0]).digest()
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    halves = recursive_root(leaves[:split]) + recursive_root(leaves[split:])
    return sha256(b"\1" + halves).digest()


def test_published_roots_of_nought_to_eight_leaves() -> None:
    roots = prefix_roots(leaf_hash(leaf) for leaf in LEAVES)
    assert [root.hex() for root in roots] == ROOTS


def test_published_leaf_and_node_hashes() -> None:
    leaf, node = leaf_hash(b"L123456"), node_hash(b"N123", b"N456")
    assert leaf.hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert node.hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


def test_the_properties_that_the_two_prefixes_are_there_for() -> None:
    left, right = leaf_hash(b"left"), leaf_hash(b"right")
    assert root_of([]) != leaf_hash(b"")
    assert node_hash(left, right) != node_hash(right, left)
    assert node_hash(left, right) != leaf_hash(left + right)


@given(leaves=st.lists(st.binary(max_size=8), max_size=40))
def test_any_number_of_leaves_has_the_root_of_the_definition(leaves: list[bytes]) -> None:
    assert root_of([leaf_hash(leaf) for leaf in leaves]) == recursive_root(leaves)


@given(leaves=st.lists(st.binary(max_size=8), min_size=1, max_size=40), data=st.data())
def test_a_proof_leads_from_its_leaf_to_the_root_and_from_no_other(
    leaves: list[bytes], data: st.DataObject
) -> None:
    hashes = [leaf_hash(leaf) for leaf in leaves]
    place = data.draw(st.integers(0, len(hashes) - 1))
    proof = inclusion_proof(hashes, place)
    root = root_of(hashes)
    assert root_from_proof(hashes[place], place, len(hashes), proof) == root
    assert root_from_proof(leaf_hash(b"another leaf"), place, len(hashes), proof) != root
    assert root_from_proof(hashes[place], place, len(hashes), [*proof, root]) != root
    if proof:
        assert root_from_proof(hashes[place], place, len(hashes), proof[1:]) != root


@pytest.mark.parametrize(("place", "count"), [(-1, 3), (3, 3), (0, 0)])
def test_a_place_outside_the_tree_has_no_proof(place: int, count: int) -> None:
    assert root_from_proof(leaf_hash(b""), place, count, []) is None


def test_the_inner_hashes_of_a_published_tree_stand_in_its_proofs() -> None:
    """Of three leaves, the third's path is the root over the first two (published above)."""
    hashes = [leaf_hash(leaf) for leaf in LEAVES]
    assert [step.hex() for step in inclusion_proof(hashes[:3], 2)] == [ROOTS[2]]
    assert inclusion_proof(hashes, 7)[-1].hex() == ROOTS[4]
