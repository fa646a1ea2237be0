"""What is added to a session when it is over: sign-offs, corrections, clips that expired.

They carry signatures, so they are checked strictly: what does not fit is no such event.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field

Role = Literal["technician", "supervisor"]
How = Literal["pin", "typed"]
Name = Annotated[str, Field(min_length=1, max_length=100)]
Text = Annotated[str, Field(max_length=2000)]
Hash = Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]


class _Body(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Signature(_Body):
    """An Ed25519 signature (RFC 8032) over the sign-off's statement, in hexadecimal."""

    algorithm: Literal["Ed25519"] = "Ed25519"
    public_key: Hash
    value: Annotated[str, Field(pattern=r"^[0-9a-f]{128}$")]


class SignedOff(_Body):
    """Who stands for the session up to event `events`, whose hash is `head`.

    `how` says what was claimed when it was made: a PIN, or a name only typed. What that is worth
    the signature shows: a PIN unlocks the person's own key.
    """

    KIND: ClassVar[str] = "signed_off"

    by: Name
    role: Role
    how: How
    events: Annotated[int, Field(ge=1)]
    head: Hash
    remark: Text = ""
    signature: Signature | None = None


class Amended(_Body):
    """What a supervisor says instead of event `event`, which stays as it is."""

    KIND: ClassVar[str] = "amended"

    by: Name
    how: How
    event: Annotated[int, Field(ge=1)]
    now: Annotated[str, Field(min_length=1, max_length=2000)]
    why: Annotated[str, Field(min_length=1, max_length=2000)]
    signature: Signature | None = None


class ClipsExpired(_Body):
    """Clips whose sound was deleted on purpose; their hashes stay."""

    KIND: ClassVar[str] = "clips_expired"

    clips: Annotated[tuple[Hash, ...], Field(min_length=1)]
    why: Annotated[str, Field(min_length=1, max_length=2000)]
