"""Those who asked at the store of many boxes to sign at this one; it waits beside the record.

A supervisor signs at the store with a key that their password unlocks there. This box knows it only
where a supervisor with a PIN here vouches for it; until then the asking waits in a file.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from companion.errors import RecordError
from companion.facts.afterwards import Hash, Name, Signature
from companion.record.audit.keys import is_signature_of
from companion.record.durable import read_plain, write_whole
from companion.record.roll import asking_statement

_OWNERS_ALONE = 0o600
LONGEST_FILE = 1_000_000


class Asked(BaseModel):
    """Somebody asks the box with `box_key` to know their key; `own` is made with that key."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    name: Name
    role: Literal["supervisor"]
    public_key: Hash
    box_key: Hash
    own: Signature

    @property
    def is_signed(self) -> bool:
        """Whether the key itself asked."""
        told = asking_statement(self.name, self.role, self.public_key, self.box_key)
        return self.own.public_key == self.public_key and is_signature_of(
            self.public_key, self.own.value, told
        )


class Waiting(BaseModel):
    """One asking by its number at the store; `declined`: the answer was no, not told yet."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    number: Annotated[int, Field(ge=1)]
    asked: Asked
    declined: bool = False


_Waiting = TypeAdapter(tuple[Waiting, ...])


def asked_path(record: Path) -> Path:
    """Where they wait."""
    return record.with_name(record.name + ".asked")


def waiting_at(record: Path) -> tuple[Waiting, ...]:
    """Who asked; raises `RecordError` for a file that is none."""
    path = asked_path(record)
    try:
        found = read_plain(path, LONGEST_FILE)
        return _Waiting.validate_json(found if found is not None else b"")
    except FileNotFoundError:
        return ()
    except OSError as error:
        raise RecordError(f"{path}: cannot be read ({error.strerror})") from error
    except ValidationError as error:
        raise RecordError(
            f"{path}: is not a list of who asked; delete it, and 'companion ship' fetches it again"
        ) from error


def keep_waiting(record: Path, waiting: tuple[Waiting, ...]) -> None:
    """Keep who asked, in place of those before."""
    path = asked_path(record)
    try:
        write_whole(path, _Waiting.dump_json(waiting, indent=1) + b"\n", _OWNERS_ALONE)
    except OSError as error:
        raise RecordError(f"{path}: cannot be written ({error.strerror})") from error


def find_asked(record: Path, name: str) -> Waiting:
    """The asking of that person; raises `RecordError` where there is none, or it was declined."""
    wanted = name.strip().casefold()
    for one in waiting_at(record):
        if one.asked.name.casefold() == wanted and not one.declined:
            return one
    raise RecordError(
        f"{name.strip()!r} did not ask to sign at this box; 'companion ship' fetches who does"
    )
