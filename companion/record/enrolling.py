"""Giving people keys and taking them away, each by an event of the office that is signed.

A new key is vouched for by a supervisor, or by its owner with the key before; where there is none
who could, by nobody, which stays to be seen. Wrong PINs are events too.
"""

from __future__ import annotations

from dataclasses import dataclass

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from companion.errors import RecordError
from companion.facts.afterwards import Amended, Role, Signature, SignedOff
from companion.facts.office import PersonEnrolled, PersonRemoved, PinChanged, PinFailed
from companion.record.afterwards import correction_statement, statement
from companion.record.asked import Asked
from companion.record.audit.keys import public_hex
from companion.record.audit.people import KeyRing, WrongPin, require_pin
from companion.record.database import OFFICE, Database
from companion.record.office import has_office, office_log
from companion.record.roll import Roll, as_read, office_statement, roll_of


@dataclass(frozen=True)
class Signer:
    """Somebody whose key is unlocked."""

    name: str
    role: Role
    key: Ed25519PrivateKey

    def signature(self, content: bytes) -> Signature:
        """Over these bytes."""
        return Signature(public_key=public_hex(self.key), value=self.key.sign(content).hex())

    def signed_off(self, session_id: str, fact: SignedOff) -> SignedOff:
        """The sign-off with a signature."""
        signature = self.signature(statement(session_id, fact))
        return fact.model_copy(update={"signature": signature})

    def amended(self, session_id: str, fact: Amended, previous_hash: str) -> Amended:
        """The correction with a signature, at its place in the chain."""
        told = correction_statement(session_id, fact, previous_hash)
        return fact.model_copy(update={"signature": self.signature(told)})


class Office:
    """Who may sign in a record that is open to write, with the keys beside it."""

    def __init__(self, database: Database, ring: KeyRing | None = None) -> None:
        self._database = database
        self._ring = ring or KeyRing(database.path)

    @property
    def roll(self) -> Roll:
        """Who may sign, as the record has it now. Raises `RecordError` where that does not hold."""
        roll = read_roll(self._database)
        if roll.problems:
            seq, what = roll.problems[0]
            raise RecordError(
                f"{self._database.path}: who may sign is not as it was recorded (event {seq} of "
                f"{OFFICE}: {what}); look at it with 'companion verify'"
            )
        return roll

    def known(self, name: str) -> tuple[str, Role] | None:
        """The name as it is written and the role of somebody who has a PIN."""
        one = self.roll.find(name)
        if one is not None:
            return one.name, one.role
        self._require_not_alike(name)
        before = self._ring.of_before(name)
        return None if before is None else (before.name, before.role)

    def supervisors(self) -> list[str]:
        """The names of the supervisors who have a PIN."""
        roll = self.roll
        before = (one.name for one in self._ring.all_of_before() if one.role == "supervisor")
        return [*(one.name for one in roll.supervisors), *before]

    def signer(self, name: str, pin: str, doing: str) -> Signer:
        """The person with their key unlocked; `doing` is told of a wrong PIN.

        Somebody of an older file gets a key by their PIN. Raises `RecordError` for a wrong PIN,
        which is recorded, and for a name that is not known.
        """
        one = self.roll.find(name)
        before = self._ring.of_before(name) if one is None else None
        if one is None and before is None:
            name = name.strip()
            raise RecordError(
                f"{name!r} is not among the people of this record; add them with "
                "'companion people add'",
                said="not-known",
                name=name,
            )
        if one is None and before is not None:
            if not before.has(pin):
                raise self._failed(before.name, "", doing)
            key = self._enrol(before.name, before.role, pin, None)
            self._ring.forget_of_before(before.name)
            return Signer(before.name, before.role, key)
        assert one is not None  # noqa: S101  -- for the type checker
        try:
            key = self._ring.unlocked(one.public_key, pin, one.lock_sha256)
            return Signer(one.name, one.role, key)
        except WrongPin:
            raise self._failed(one.name, one.public_key, doing) from None

    def enrol(self, name: str, role: Role, pin: str, voucher: Signer | None) -> None:
        """Give somebody a key, a new one where they have one, with that person's word for it."""
        name = name.strip()
        if not as_read(name):
            raise RecordError(
                "a person's name needs characters that can be seen", said="name-not-seen"
            )
        self._require_not_alike(name)
        if voucher is not None and self.roll.may_vouch(voucher.name, name) is None:
            raise _not_supervisor(voucher)
        if voucher is not None and voucher.role != "supervisor" and role != voucher.role:
            raise _not_supervisor(voucher)
        self._enrol(name, role, pin, voucher)
        self._ring.forget_of_before(name)

    def change_pin(self, signer: Signer, pin: str) -> None:
        """Put the same key under another PIN."""
        require_pin(pin)
        lock = self._ring.lock(signer.key, pin)
        log = office_log(self._database)
        public = public_hex(signer.key)
        fact = PinChanged(name=signer.name, public_key=public, lock_sha256=lock)
        own = signer.signature(office_statement(fact, log.head_hash))
        log.append([fact.model_copy(update={"own": own})])
        self._ring.only(public, lock)

    def accept(self, asked: Asked, voucher: Signer) -> None:
        """Know somebody's key of the store from here on, in place of the one before.

        Raises `RecordError` where a supervisor does not vouch, where it was asked of another box or
        not by that key, and for a name that is read as somebody else's.
        """
        roll = self.roll
        if voucher.role != "supervisor" or roll.find(voucher.name) is None:
            raise RecordError(f"{voucher.name} is a {voucher.role} here; wanted: a supervisor")
        boxes = {row["public_key"] for row in self._database.read("SELECT public_key FROM box")}
        if asked.box_key not in boxes or not asked.is_signed:
            raise RecordError(f"{asked.name} did not ask this box, or not with that key")
        self._require_not_alike(asked.name)
        if roll.of_key(asked.public_key) is not None:
            raise RecordError(f"the key of {asked.name} is known, or was removed, here already")
        before = roll.find(asked.name, of_store=True)
        log = office_log(self._database)
        fact = PersonEnrolled(
            name=asked.name,
            role=asked.role,
            public_key=asked.public_key,
            instead_of="" if before is None else before.public_key,
            vouched_by=voucher.name,
            asked_of=asked.box_key,
            own=asked.own,
        )
        vouch = voucher.signature(office_statement(fact, log.head_hash))
        log.append([fact.model_copy(update={"vouch": vouch})])

    def remove(self, name: str, voucher: Signer, *, of_store: bool = False) -> None:
        """Take a person out, or their key of the store; what they signed stays signed."""
        one = self.roll.find(name, of_store=of_store)
        if one is None:
            name = name.strip()
            if of_store:
                told = f"{name!r} has no key of the store in this record"
                raise RecordError(told, said="no-store-key-here", name=name)
            raise RecordError(f"{name!r} has no key in this record", said="no-key-here", name=name)
        if self.roll.may_vouch(voucher.name, one.name) is None:
            raise _not_supervisor(voucher)
        log = office_log(self._database)
        fact = PersonRemoved(name=one.name, public_key=one.public_key, vouched_by=voucher.name)
        vouch = voucher.signature(office_statement(fact, log.head_hash))
        log.append([fact.model_copy(update={"vouch": vouch})])
        if not of_store:
            self._ring.drop(one.public_key)

    def _require_not_alike(self, name: str) -> None:
        """Raise `RecordError` where somebody else has a name that is read as this one."""
        one = self.roll.alike(name)
        if one is not None and one.name.casefold() != name.strip().casefold():
            raise RecordError(
                f"{name!r} is read as {one.name!r} and is written otherwise; wanted: the name as "
                "it is recorded, or one that can be told from it",
                said="name-alike",
                name=name,
                other=one.name,
            )

    def _enrol(self, name: str, role: Role, pin: str, voucher: Signer | None) -> Ed25519PrivateKey:
        require_pin(pin)
        before = self.roll.find(name)
        key = Ed25519PrivateKey.generate()
        # The key first: a key that no event names does no harm, an event without its key would.
        lock = self._ring.lock(key, pin)
        log = office_log(self._database)
        fact = PersonEnrolled(
            name=name if before is None else before.name,
            role=role,
            public_key=public_hex(key),
            lock_sha256=lock,
            instead_of="" if before is None else before.public_key,
            vouched_by="" if voucher is None else voucher.name,
        )
        told = office_statement(fact, log.head_hash)
        signed = {"own": Signer(name, role, key).signature(told)}
        if voucher is not None:
            signed["vouch"] = voucher.signature(told)
        log.append([fact.model_copy(update=signed)])
        if before is not None:
            self._ring.drop(before.public_key)
        return key

    def _failed(self, name: str, public_key: str, doing: str) -> RecordError:
        fact = PinFailed(name=name, public_key=public_key, doing=doing)
        office_log(self._database).append([fact])
        return RecordError(
            f"that is not the PIN of {name}; nothing was signed, and it is recorded",
            said="wrong-pin",
            name=name,
        )


def _not_supervisor(voucher: Signer) -> RecordError:
    return RecordError(
        f"{voucher.name} is a {voucher.role} here; wanted: a supervisor",
        said="not-supervisor",
        name=voucher.name,
        role=voucher.role,
    )


def read_roll(database: Database) -> Roll:
    """Who may sign, as the record has it."""
    return roll_of(database.events(OFFICE) if has_office(database) else ())
