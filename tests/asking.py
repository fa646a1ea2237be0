"""Somebody who asks, with a key of the store, to sign at a box."""

from __future__ import annotations

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.facts.afterwards import Signature
from companion.record.asked import Asked
from companion.record.audit.keys import public_hex
from companion.record.roll import asking_statement


def asked(name: str, box_key: str, key: Ed25519PrivateKey | None = None) -> Asked:
    own = key or Ed25519PrivateKey.generate()
    public = public_hex(own)
    told = asking_statement(name, "supervisor", public, box_key)
    return Asked(
        name=name,
        role="supervisor",
        public_key=public,
        box_key=box_key,
        own=Signature(public_key=public, value=own.sign(told).hex()),
    )
