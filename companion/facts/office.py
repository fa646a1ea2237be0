"""What concerns all jobs and belongs to none; kept in the record's session of the office.

Who may sign stands here, with the public half of their key: so a signature can be checked later
by anyone who has the record.
"""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import (
    BaseModel,
    ConfigDict,
    Field,
    SerializerFunctionWrapHandler,
    model_serializer,
)

from companion.facts.afterwards import Hash, Name, Role, Signature, Text

Lock = Annotated[
    str,
    Field(
        pattern=r"^([0-9a-f]{64})?$",
        description="SHA-256 of the lock that the PIN opens; left out by older versions",
    ),
]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class _Locked(_Body):
    """One that may tell of a lock; where none was told, the bytes are those of before."""

    lock_sha256: Lock = ""

    @model_serializer(mode="wrap")
    def _as_told(self, handler: SerializerFunctionWrapHandler) -> dict[str, Any]:
        told: dict[str, Any] = handler(self)
        for left_out in ("lock_sha256", "asked_of"):
            if not told.get(left_out, True):
                del told[left_out]
        return told


class PersonEnrolled(_Locked):
    """A person's key: from here on what it signs is theirs.

    `own` is made with that key itself. `vouched_by` names who vouched for it, a supervisor or the
    same person by the key before, and `vouch` is their signature; nobody: none could or did.
    `asked_of`: it is a key of the store of many boxes, asked for of the box with this key; then
    `own` is made over the asking, and a supervisor has to vouch.
    """

    KIND: ClassVar[str] = "person_enrolled"

    name: Name
    role: Role
    public_key: Hash
    instead_of: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$", description="the key before")]
    vouched_by: Annotated[str, Field(max_length=100)]
    asked_of: Annotated[
        str, Field(pattern=r"^([0-9a-f]{64})?$", description="left out for keys of this box")
    ] = ""
    own: Signature | None = None
    vouch: Signature | None = None


class PinChanged(_Locked):
    """The same key under another PIN; `own` is made with it, so the old PIN was known."""

    KIND: ClassVar[str] = "pin_changed"

    name: Name
    public_key: Hash
    own: Signature | None = None


class PinFailed(_Body):
    """Somebody gave a wrong PIN for this person."""

    KIND: ClassVar[str] = "pin_failed"

    name: Name
    public_key: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]
    doing: Annotated[Text, Field(description="what was to be done with it")]


class PersonRemoved(_Body):
    """A person's key counts no more; what it signed stays signed. `vouch` is by `vouched_by`."""

    KIND: ClassVar[str] = "person_removed"

    name: Name
    public_key: Hash
    vouched_by: Annotated[str, Field(max_length=100)]
    vouch: Signature | None = None


class DateVouched(_Body):
    """Something vouched for the date of this event: all up to `session` was recorded before it."""

    KIND: ClassVar[str] = "date_vouched"

    session: Annotated[str, Field(min_length=1, description="the last job there was")]


class VisitOpened(_Body):
    """A car's visit: one car on one order; told again where what is known of the car changes.

    The car itself stands beside the record, under this hash; "" where nothing was entered.
    """

    KIND: ClassVar[str] = "visit_opened"

    visit: Annotated[str, Field(pattern=r"^[0-9a-z-]{3,40}$")]
    car_sha256: Annotated[str, Field(pattern=r"^([0-9a-f]{64})?$")]


class VisitVehicle(_Body):
    """Which of the shop's vehicle files the visit's car is; its jobs take it over.

    `heard`: the words that chose it, "" where it was named in the command; `offered`: the files
    that there were to choose from.
    """

    KIND: ClassVar[str] = "visit_vehicle"

    visit: Annotated[str, Field(pattern=r"^[0-9a-z-]{3,40}$")]
    vehicle: Annotated[str, Field(min_length=1, max_length=80, description="as the file says")]
    file: Annotated[str, Field(min_length=1, max_length=200, description="the file's name")]
    file_sha256: Hash
    offered: tuple[Annotated[str, Field(max_length=200)], ...] = ()
    heard: Annotated[str, Field(max_length=200)] = ""
    ears: Annotated[str, Field(max_length=80)] = ""


class SensorListed(_Body):
    """A sensor that a visit is to set: its job, by id and name."""

    job: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$", max_length=60)]
    name: Annotated[str, Field(min_length=1, max_length=120)]


class VisitSensors(_Body):
    """Which sensors the visit is to set, from here on; a side's radar each by itself."""

    KIND: ClassVar[str] = "visit_sensors"

    visit: Annotated[str, Field(pattern=r"^[0-9a-z-]{3,40}$")]
    sensors: Annotated[tuple[SensorListed, ...], Field(max_length=20)]


class VisitClosed(_Body):
    """The car left: nothing that was true of it is taken over from here on."""

    KIND: ClassVar[str] = "visit_closed"

    visit: Annotated[str, Field(pattern=r"^[0-9a-z-]{3,40}$")]


class CodesRead(_Body):
    """Fault codes of the visit's car as the scan tool showed them, typed in."""

    KIND: ClassVar[str] = "codes_read"

    visit: Annotated[str, Field(pattern=r"^[0-9a-z-]{3,40}$")]
    when: Literal["before", "after"]
    codes: tuple[Annotated[str, Field(min_length=1, max_length=80)], ...]


class CarsLetGo(_Body):
    """What was known of these cars was deleted; the record keeps its hashes."""

    KIND: ClassVar[str] = "cars_let_go"

    cars: Annotated[tuple[Hash, ...], Field(min_length=1)]
    why: Text


OfficeFact = (
    PersonEnrolled
    | PinChanged
    | PinFailed
    | PersonRemoved
    | DateVouched
    | VisitOpened
    | VisitVehicle
    | VisitSensors
    | VisitClosed
    | CodesRead
    | CarsLetGo
)
