"""Who may sign, by the office's own events: each key with its name, its time, who vouched for it.

The events are folded the same way when somebody signs and when it is checked afterwards. An event
whose signatures do not hold is a problem, and counts as if it were not there.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field, replace

from companion.facts.afterwards import Role, Signature
from companion.facts.message import Message
from companion.facts.office import PersonEnrolled, PersonRemoved, PinChanged
from companion.record.audit.keys import is_signature_of
from companion.record.canonical import canonical_json
from companion.record.port import StoredEvent

SIGNATURES = {"own", "vouch"}
Signed = PersonEnrolled | PinChanged | PersonRemoved


@dataclass(frozen=True)
class Enrolment:
    """One key: whose, from which event of the office to which (None: still), and since when.

    `lock_sha256`: the lock under which its owner's PIN last put it; "": not recorded. `is_proven`:
    whether what signed its event can be checked. `is_of_store`: it is unlocked at the store of
    many boxes, by a password there, and by no PIN here.
    """

    name: str
    role: Role
    public_key: str
    since_seq: int
    since_utc: str
    vouched_by: str
    until_seq: int | None = None
    lock_sha256: str = ""
    is_proven: bool = True
    is_of_store: bool = False

    @property
    def told(self) -> Message:
        """Since when the key is known, and by whose word."""
        by = Message("vouched-nobody")
        if self.vouched_by:
            by = Message("vouched-by", {"name": self.vouched_by})
        said = "enrolled" if self.is_proven else "enrolled-redacted"
        told = Message(said, {"day": self.since_utc[:10], "vouched": by})
        return Message("enrolled-of-store", {"enrolled": told}) if self.is_of_store else told


@dataclass
class Roll:
    """Every key there ever was, and what did not hold, by the event's number."""

    enrolments: list[Enrolment] = field(default_factory=list)
    problems: list[tuple[int, str]] = field(default_factory=list)
    failed: dict[str, int] = field(default_factory=dict)
    unproven: frozenset[int] = frozenset()

    @property
    def current(self) -> tuple[Enrolment, ...]:
        """Those who may sign now, in the order of their enrolment."""
        return tuple(one for one in self.enrolments if one.until_seq is None)

    @property
    def supervisors(self) -> tuple[Enrolment, ...]:
        """The supervisors among them who have a PIN here."""
        return tuple(
            one for one in self.current if one.role == "supervisor" and not one.is_of_store
        )

    def find(self, name: str, *, of_store: bool = False) -> Enrolment | None:
        """The person of that name who may sign now, in any case: by a PIN, or at the store."""
        wanted = name.strip().casefold()
        return next(
            (
                one
                for one in self.current
                if one.name.casefold() == wanted and one.is_of_store == of_store
            ),
            None,
        )

    def alike(self, name: str) -> Enrolment | None:
        """The person who may sign now under a name that is read as this one."""
        wanted = as_read(name)
        return next((one for one in self.current if as_read(one.name) == wanted), None)

    def of_key(self, public_key: str) -> Enrolment | None:
        """Whose key that is or was."""
        found = (one for one in self.enrolments if one.public_key == public_key)
        return next(found, None)

    def may_vouch(self, voucher: str, name: str) -> Enrolment | None:
        """The person, if they may vouch for that name: a supervisor, or that person."""
        found = self.find(voucher)
        if found is None or found.role == "supervisor":
            return found
        return found if found.name.casefold() == name.strip().casefold() else None

    def _lock(self, public_key: str, lock_sha256: str) -> None:
        self.enrolments = [
            replace(one, lock_sha256=lock_sha256) if one.public_key == public_key else one
            for one in self.enrolments
        ]

    def _end(self, public_key: str, seq: int) -> None:
        self.enrolments = [
            replace(one, until_seq=seq)
            if one.public_key == public_key and one.until_seq is None
            else one
            for one in self.enrolments
        ]


def as_read(name: str) -> str:
    """What somebody sees of a name: two names of which that is the same cannot be told apart.

    Case, wide and ligature forms (NFKC), spaces and signs that are not seen make no difference.
    """
    seen = "".join(sign for sign in unicodedata.normalize("NFKC", name) if _is_seen(sign))
    return " ".join(seen.casefold().split())


def _is_seen(sign: str) -> bool:
    return sign.isspace() or unicodedata.category(sign) not in ("Cc", "Cf", "Co", "Cn")


def office_statement(fact: Signed, previous_hash: str) -> bytes:
    """What the signatures of an event of the office are made over, at its place in the chain."""
    told = {**fact.model_dump(mode="json", exclude=SIGNATURES), "previous": previous_hash}
    return b"bay-companion %b 1\n%b" % (fact.KIND.encode("ascii"), canonical_json(told))


def asking_statement(name: str, role: Role, public_key: str, box_key: str) -> bytes:
    """What somebody signs with a key of the store who asks one box to know it."""
    told = {"box": box_key, "name": name, "public_key": public_key, "role": role}
    return b"bay-companion asking 1\n" + canonical_json(told)


def roll_of(events: Iterable[StoredEvent], unproven: Collection[int] = ()) -> Roll:
    """The roll after these events of the office.

    `unproven`: events, by their number, in which a copy had names replaced. What signed them cannot
    be checked there; they are taken as they are told, which the roll says of each key.
    """
    roll = Roll(unproven=frozenset(unproven))
    for event in events:
        match event.fact:
            case PersonEnrolled() as fact:
                _enrol(roll, event, fact)
            case PinChanged() as fact:
                known = roll.find(fact.name)
                if known is None or known.public_key != fact.public_key:
                    _problem(roll, event, f"changes the PIN of {fact.name}, who has no such key")
                elif not _holds(roll, fact.own, fact.public_key, fact, event):
                    _problem(roll, event, f"changes the PIN of {fact.name} without their key")
                else:
                    roll._lock(fact.public_key, fact.lock_sha256)
            case PersonRemoved() as fact:
                _remove(roll, event, fact)
            case _ if event.kind == "pin_failed":
                name = str(event.body.get("name", ""))
                roll.failed[name] = roll.failed.get(name, 0) + 1
            case _ if event.kind in _KINDS:
                _problem(roll, event, "is of a form that is not known")
    return roll


_KINDS = frozenset({PersonEnrolled.KIND, PinChanged.KIND, PersonRemoved.KIND})


def _enrol(roll: Roll, event: StoredEvent, fact: PersonEnrolled) -> None:
    of_store = bool(fact.asked_of)
    before = roll.find(fact.name, of_store=of_store)
    vouched = _vouched(roll, event, fact)
    if of_store and event.seq not in roll.unproven and not _asked_and_vouched(roll, fact):
        _problem(roll, event, f"enrols {fact.name} with a key of the store that nobody vouched for")
    elif not of_store and not _holds(roll, fact.own, fact.public_key, fact, event):
        _problem(roll, event, f"enrols {fact.name} with a key that did not sign it")
    elif roll.of_key(fact.public_key) is not None:
        _problem(roll, event, f"enrols {fact.name} with a key that is known already")
    elif (before.public_key if before else "") != fact.instead_of:
        _problem(roll, event, f"enrols {fact.name} in another's place than it says")
    elif vouched:
        if before is not None:
            roll._end(before.public_key, event.seq)
        roll.enrolments.append(
            Enrolment(
                fact.name,
                fact.role,
                fact.public_key,
                event.seq,
                event.at_utc,
                fact.vouched_by,
                lock_sha256=fact.lock_sha256,
                is_proven=event.seq not in roll.unproven,
                is_of_store=of_store,
            )
        )


def _asked_and_vouched(roll: Roll, fact: PersonEnrolled) -> bool:
    """Whether the key itself asked this box, and a supervisor with a PIN here is named for it."""
    voucher = roll.find(fact.vouched_by)
    signed = fact.own
    return (
        voucher is not None
        and voucher.role == "supervisor"
        and signed is not None
        and signed.public_key == fact.public_key
        and is_signature_of(
            fact.public_key,
            signed.value,
            asking_statement(fact.name, fact.role, fact.public_key, fact.asked_of),
        )
    )


def _remove(roll: Roll, event: StoredEvent, fact: PersonRemoved) -> None:
    known = roll.of_key(fact.public_key)
    if known is None or known not in (
        roll.find(fact.name),
        roll.find(fact.name, of_store=True),
    ):
        _problem(roll, event, f"removes {fact.name}, who has no such key")
    elif not fact.vouched_by:
        _problem(roll, event, f"removes {fact.name}, and nobody signed it")
    elif _vouched(roll, event, fact):
        roll._end(known.public_key, event.seq)


def _vouched(roll: Roll, event: StoredEvent, fact: PersonEnrolled | PersonRemoved) -> bool:
    """Whether it was vouched for as it says; nobody's word is nobody's signature."""
    if event.seq in roll.unproven or (not fact.vouched_by and fact.vouch is None):
        return True
    voucher = roll.may_vouch(fact.vouched_by, fact.name)
    if voucher is None or not _holds(roll, fact.vouch, voucher.public_key, fact, event):
        _problem(roll, event, f"says that {fact.vouched_by or 'nobody'} vouched, who did not")
        return False
    return True


def _holds(
    roll: Roll, signature: Signature | None, key: str, fact: Signed, event: StoredEvent
) -> bool:
    return event.seq in roll.unproven or (
        signature is not None
        and signature.public_key == key
        and is_signature_of(key, signature.value, office_statement(fact, event.previous_hash))
    )


def _problem(roll: Roll, event: StoredEvent, what: str) -> None:
    roll.problems.append((event.seq, f"it {what}"))
