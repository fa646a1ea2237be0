"""Who may sign off, and the hashes of their PINs: a file beside the record, never part of it.

A PIN is hashed with Argon2id and only the hash is kept. A PIN of a few digits can still be found
by trying them all by whoever holds the file, so it is readable by its owner alone, goes into no
backup or export, and a sign-off that has to stand against more than the shop's own people is
better signed with a key as well.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerifyMismatchError
from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import RecordError
from companion.facts.afterwards import Name, Role
from companion.record.durable import write_whole

_OWNERS_ALONE = 0o600
LEAST_DIGITS, MOST_DIGITS = 4, 12


class Person(BaseModel):
    """One person; `pin_hash` is what Argon2 gives, with its parameters and salt."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Name
    role: Role
    pin_hash: Annotated[str, Field(pattern=r"^\$argon2id\$", repr=False)]


class _File(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)

    people: tuple[Person, ...] = ()


class People:
    """The people of one record."""

    def __init__(self, record_path: Path, hasher: PasswordHasher | None = None) -> None:
        self.path = record_path.with_name("people.json")
        self._hasher = hasher or PasswordHasher()

    def all(self) -> tuple[Person, ...]:
        """Everybody, in the order in which they were added; raises `RecordError` for a bad file."""
        try:
            return _File.model_validate_json(self.path.read_bytes()).people
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise RecordError(f"{self.path}: cannot be read ({error.strerror})") from error
        except ValidationError as error:
            where = ".".join(map(str, error.errors(include_url=False)[0]["loc"])) or "the whole"
            raise RecordError(
                f"{self.path}: is not a file of people ({where}); correct it, or remove it and "
                "add the people again"
            ) from error

    def find(self, name: str) -> Person | None:
        """The person of that name, in any case."""
        wanted = name.strip().casefold()
        return next((one for one in self.all() if one.name.casefold() == wanted), None)

    def add(self, name: str, role: Role, pin: str) -> Person:
        """Add a person, or give somebody who is there another PIN or role."""
        if not (pin.isascii() and pin.isdigit() and LEAST_DIGITS <= len(pin) <= MOST_DIGITS):
            raise RecordError(
                f"a PIN has {LEAST_DIGITS} to {MOST_DIGITS} digits and nothing else; choose another"
            )
        name = name.strip()
        if not name:
            raise RecordError("a person needs a name")
        person = Person(name=name, role=role, pin_hash=self._hasher.hash(pin))
        others = [one for one in self.all() if one.name.casefold() != name.casefold()]
        self._write((*others, person))
        return person

    def remove(self, name: str) -> None:
        """Take a person out; what they signed stays signed."""
        person = self._known(name)
        self._write(tuple(one for one in self.all() if one != person))

    def checked(self, name: str, pin: str) -> Person:
        """The person, if the PIN is theirs; raises `RecordError` otherwise."""
        person = self._known(name)
        try:
            self._hasher.verify(person.pin_hash, pin)
        except (VerifyMismatchError, InvalidHashError) as error:
            raise RecordError(
                f"that is not the PIN of {person.name}; nothing was signed"
            ) from error
        return person

    def _known(self, name: str) -> Person:
        person = self.find(name)
        if person is None:
            raise RecordError(
                f"{name.strip()!r} is not among the people of this record; add them with "
                "'companion people add'"
            )
        return person

    def _write(self, people: tuple[Person, ...]) -> None:
        try:
            content = _File(people=people).model_dump_json(indent=1) + "\n"
            write_whole(self.path, content.encode(), _OWNERS_ALONE)
        except OSError as error:
            raise RecordError(f"{self.path}: cannot be written ({error.strerror})") from error
