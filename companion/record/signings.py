"""What sign-offs and corrections are worth: what each claims, and what its signature shows.

A name is proven by the key that the record's office enrolled for it, in the time in which it was
enrolled. What claims a PIN without such a signature is wrong, but for what was recorded before
there were keys: that cannot be checked, and is told as such.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass

from pydantic import ValidationError

from companion.facts.afterwards import Amended, SignedOff
from companion.facts.message import Message
from companion.record.afterwards import Signable, correction_statement, statement
from companion.record.audit.keys import is_signature_of
from companion.record.roll import Enrolment, Roll


@dataclass(frozen=True)
class Place:
    """Where an event stands; `before_keys`: it was recorded before people had keys."""

    session_id: str
    seq: int
    previous_hash: str
    before_keys: bool


@dataclass(frozen=True)
class Signing:
    """What was checked of one sign-off or correction.

    `told` is what it is worth, None where it does not hold; `problem` why not, or "". `key` is the
    key that really signed it, or "".
    """

    session_id: str
    seq: int
    by: str
    told: Message | None
    problem: str = ""
    key: str = ""


def signing_of(
    kind: str,
    body: object,
    place: Place,
    roll: Roll,
    enrolled_then: Callable[[Enrolment, Place], bool],
    keys: Collection[str],
) -> Signing:
    """The check of one event; with `keys` given, signatures by others do not hold."""
    try:
        model: type[Signable] = SignedOff if kind == SignedOff.KIND else Amended
        fact = model.model_validate(body)
    except ValidationError:
        what = "a sign-off" if kind == SignedOff.KIND else "a correction"
        return Signing(place.session_id, place.seq, "", None, f"it is {what} of a form not known")
    told, problem = _worth(fact, place, roll, enrolled_then)
    signed = fact.signature
    if not problem and signed is not None and keys and signed.public_key not in keys:
        problem = f"the signature of {fact.by} was made with another key than those given"
    key = signed.public_key if signed is not None and not problem else ""
    return Signing(place.session_id, place.seq, fact.by, told, problem, key)


def _worth(
    fact: Signable,
    place: Place,
    roll: Roll,
    enrolled_then: Callable[[Enrolment, Place], bool],
) -> tuple[Message | None, str]:
    """What it is worth, and why it does not hold."""
    if isinstance(fact, SignedOff) and (fact.events, fact.head) != (
        place.seq - 1,
        place.previous_hash,
    ):
        return None, f"{fact.by} signed off another state of the session than the one before it"
    claims_pin = fact.how == "pin" and not place.before_keys
    if fact.signature is None:
        if claims_pin:
            return None, f"it claims the PIN of {fact.by}, and no key signed it"
        if fact.how == "pin":
            return Message("worth-before-keys"), ""
        return Message("line-name-typed"), ""
    key = fact.signature.public_key
    if not is_signature_of(key, fact.signature.value, _statement(fact, place)):
        what = "sign-off" if isinstance(fact, SignedOff) else "correction"
        return None, f"the signature of {fact.by} was not made over this {what}"
    known = roll.of_key(key)
    if known is None:
        if claims_pin:
            return None, f"it claims the PIN of {fact.by}, whose key was not enrolled"
        return Message("worth-unknown-key", {"key": f"{key[:16]}…"}), ""
    role = fact.role if isinstance(fact, SignedOff) else "supervisor"
    if (known.name.casefold(), known.role) != (fact.by.casefold(), role):
        return None, f"{fact.by} ({role}) is named, and the key is that of {known.name}"
    if not enrolled_then(known, place):
        return None, f"the key of {known.name} was not enrolled then"
    return Message("worth-signed", {"name": known.name, "enrolled": known.told}), ""


def _statement(fact: Signable, place: Place) -> bytes:
    if isinstance(fact, SignedOff):
        return statement(place.session_id, fact)
    return correction_statement(place.session_id, fact, place.previous_hash)
