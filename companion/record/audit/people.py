"""The keys of those who sign, each locked by its owner's PIN: a file beside the record.

Who has which key stands in the record (`roll`); here lie the private halves, encrypted
(ChaCha20-Poly1305, RFC 8439) by a key that Argon2id (RFC 9106) makes of the PIN. Anyone
who holds the file can find a PIN of a few digits by trying them all, so it is readable by its owner
alone and goes into no backup or export.

Older files hold hashes of PINs instead (`Person`): those who give theirs get a key by it.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Annotated

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from argon2.low_level import Type, hash_secret_raw
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import RecordError
from companion.facts.afterwards import Name, Role
from companion.record.audit.keys import public_hex
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.durable import read_plain, write_whole

_OWNERS_ALONE = 0o600
LONGEST_FILE = 1_000_000
"""Bytes of the file: some thousand people."""
LEAST_DIGITS, MOST_DIGITS = 4, 12
MOST_MEMORY_KIB = 1 << 20
_SALT_BYTES, _NONCE_BYTES, _KEY_BYTES = 16, 12, 32
_Hex = Annotated[str, Field(pattern=r"^[0-9a-f]+$", repr=False)]


class WrongPin(RecordError):
    """The PIN is not the one that locks this key."""


class Cost(BaseModel):
    """What Argon2id takes to make a key of a PIN: RFC 9106's second recommended option."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    passes: Annotated[int, Field(ge=1, le=100)] = 3
    memory_kib: Annotated[int, Field(ge=8, le=MOST_MEMORY_KIB)] = 65_536
    lanes: Annotated[int, Field(ge=1, le=16)] = 4


class LockedKey(BaseModel):
    """A private key as it is kept; `salt`, `nonce` and `locked` are hexadecimal."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    public_key: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    cost: Cost
    salt: _Hex
    nonce: _Hex
    locked: _Hex

    @property
    def sha256(self) -> str:
        """What the record knows this lock by."""
        return sha256_hex(canonical_json(self.model_dump(mode="json")))

    def unlocked(self, pin: str) -> Ed25519PrivateKey:
        """The key; raises `WrongPin`."""
        cipher = ChaCha20Poly1305(_key_of(pin, bytes.fromhex(self.salt), self.cost))
        try:
            seed = cipher.decrypt(
                bytes.fromhex(self.nonce), bytes.fromhex(self.locked), self.public_key.encode()
            )
        except (InvalidTag, ValueError) as error:
            raise WrongPin("that is not the PIN") from error
        return Ed25519PrivateKey.from_private_bytes(seed)


class Person(BaseModel):
    """One person of an older file; `pin_hash` is what Argon2 gives, with parameters and salt."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Name
    role: Role
    pin_hash: Annotated[str, Field(pattern=r"^\$argon2id\$", repr=False)]

    def has(self, pin: str) -> bool:
        """Whether that is the PIN."""
        try:
            return PasswordHasher().verify(self.pin_hash, pin)
        except (VerifyMismatchError, InvalidHashError):
            return False


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    people: tuple[Person, ...] = ()
    keys: tuple[LockedKey, ...] = ()


class KeyRing:
    """The locked keys of one record's people."""

    def __init__(self, record_path: Path, cost: Cost | None = None) -> None:
        self.path = record_path.with_name("people.json")
        self._cost = cost or Cost()

    def of_before(self, name: str) -> Person | None:
        """The person of that name in an older file, in any case."""
        wanted = name.strip().casefold()
        return next((one for one in self.all_of_before() if one.name.casefold() == wanted), None)

    def all_of_before(self) -> tuple[Person, ...]:
        """Everybody whom an older version let sign and who has no key yet."""
        return self._read().people

    def unlocked(self, public_key: str, pin: str, lock_sha256: str = "") -> Ed25519PrivateKey:
        """The private key; raises `WrongPin`, and `RecordError` where the file has no such key.

        `lock_sha256` is the lock that the record tells of: no other will do, as where an older file
        was put back and with it a PIN of before.
        """
        of_key = [one for one in self._read().keys if one.public_key == public_key]
        for one in of_key:
            if lock_sha256 in ("", one.sha256):
                return one.unlocked(pin)
        what = "is under another lock than the record tells of" if of_key else "is not in it"
        raise RecordError(
            f"{self.path}: the key that this record knows {what}; put the file back, "
            "or have a supervisor give a new PIN by 'companion people add'"
        )

    def lock(self, key: Ed25519PrivateKey, pin: str) -> str:
        """Keep a key under a PIN, and the SHA-256 of this lock.

        The lock before stays until `only` is told, so that a power cut before the event in which
        the new one is recorded locks nobody out.
        """
        require_pin(pin)
        made = locked(key, pin, self._cost)
        kept = self._read()
        self._write(kept.model_copy(update={"keys": (*kept.keys, made)}))
        return made.sha256

    def only(self, public_key: str, lock_sha256: str) -> None:
        """Forget every other lock of this key."""
        kept = self._read()
        others = (one for one in kept.keys if one.public_key != public_key)
        told = (
            one for one in kept.keys if (one.public_key, one.sha256) == (public_key, lock_sha256)
        )
        self._write(kept.model_copy(update={"keys": (*others, *told)}))

    def drop(self, public_key: str) -> None:
        """Forget a key that counts no more."""
        kept = self._read()
        others = tuple(one for one in kept.keys if one.public_key != public_key)
        self._write(kept.model_copy(update={"keys": others}))

    def forget_of_before(self, name: str) -> None:
        """Forget the hash of somebody who has a key now, or is gone."""
        kept = self._read()
        wanted = name.strip().casefold()
        others = tuple(one for one in kept.people if one.name.casefold() != wanted)
        if others != kept.people:
            self._write(kept.model_copy(update={"people": others}))

    def _read(self) -> _File:
        try:
            found = read_plain(self.path, LONGEST_FILE)
        except FileNotFoundError:
            return _File()
        except OSError as error:
            raise RecordError(f"{self.path}: cannot be read ({error.strerror})") from error
        if found is None:
            raise RecordError(f"{self.path}: is no plain file, or too large for a file of keys")
        try:
            return _File.model_validate_json(found)
        except ValidationError as error:
            where = ".".join(map(str, error.errors(include_url=False)[0]["loc"])) or "the whole"
            raise RecordError(
                f"{self.path}: is not a file of keys ({where}); correct it, or move it away and "
                "have a supervisor give new PINs"
            ) from error

    def _write(self, kept: _File) -> None:
        try:
            content = kept.model_dump_json(indent=1) + "\n"
            write_whole(self.path, content.encode(), _OWNERS_ALONE)
        except OSError as error:
            raise RecordError(f"{self.path}: cannot be written ({error.strerror})") from error


def locked(key: Ed25519PrivateKey, secret: str, cost: Cost | None = None) -> LockedKey:
    """The key as it is kept under a PIN or password."""
    cost = cost or Cost()
    salt, nonce = os.urandom(_SALT_BYTES), os.urandom(_NONCE_BYTES)
    public = public_hex(key)
    seed = key.private_bytes(
        serialization.Encoding.Raw,
        serialization.PrivateFormat.Raw,
        serialization.NoEncryption(),
    )
    cipher = ChaCha20Poly1305(_key_of(secret, salt, cost))
    return LockedKey(
        public_key=public,
        cost=cost,
        salt=salt.hex(),
        nonce=nonce.hex(),
        locked=cipher.encrypt(nonce, seed, public.encode()).hex(),
    )


def require_pin(pin: str) -> None:
    """Raise `RecordError` for what is no PIN."""
    if not (pin.isascii() and pin.isdigit() and LEAST_DIGITS <= len(pin) <= MOST_DIGITS):
        raise RecordError(
            f"a PIN has {LEAST_DIGITS} to {MOST_DIGITS} digits and nothing else; choose another",
            said="no-pin",
            least=LEAST_DIGITS,
            most=MOST_DIGITS,
        )


def _key_of(pin: str, salt: bytes, cost: Cost) -> bytes:
    return hash_secret_raw(
        pin.encode("utf-8"),
        salt,
        time_cost=cost.passes,
        memory_cost=cost.memory_kib,
        parallelism=cost.lanes,
        hash_len=_KEY_BYTES,
        type=Type.ID,
    )
