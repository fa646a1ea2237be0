"""Every kind of event and fact, by the name that the record gives it."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError

from companion.facts import codec
from companion.facts.afterwards import Amended, ClipsExpired, SignedOff
from companion.facts.aim import AimDecided, MoveJudged, ScrewPlan
from companion.facts.answers import (
    Accepted,
    Answered,
    Consent,
    Done,
    Implausible,
    NotAllowed,
    TakenBack,
)
from companion.facts.beforehand import NoiseChecked, VoiceChecked
from companion.facts.ending import DriftNoticed, Finished, Stopped
from companion.facts.meanings import Meaning
from companion.facts.office import OfficeFact
from companion.facts.opening import Opened, Resumed, Stage
from companion.facts.practice import BayShows
from companion.facts.stand import Shims, StandMoves
from companion.facts.taking_over import TakenOver
from companion.facts.talking import Heard, Late, Noted, Refused, Said, Silent
from companion.facts.workings import CannotPass, Computed, Corrected, Decided, Misfit, Suspected

Told = (
    Opened
    | Resumed
    | NoiseChecked
    | VoiceChecked
    | Stage
    | Said
    | Heard[Meaning]
    | Refused
    | Silent
    | Late
    | Noted
    | Accepted
    | Answered
    | Done
    | Consent
    | Implausible
    | NotAllowed
    | TakenBack
    | TakenOver
    | Computed
    | Misfit
    | Decided
    | CannotPass
    | Suspected
    | Corrected
    | Shims
    | StandMoves
    | AimDecided
    | ScrewPlan
    | MoveJudged
    | Stopped
    | Finished
    | DriftNoticed
    | BayShows
)
"""What a job tells of itself."""

AddedLater = SignedOff | Amended | ClipsExpired | OfficeFact
"""What is added when it is over, and what the office keeps."""


@dataclass(frozen=True, slots=True)
class Entry:
    """An event by its kind and body: one of a step kind's own, or that this version does not know.

    `body` holds JSON values only: None, bool, int (below 2**53), finite float, str, and
    lists and string-keyed mappings of them. Decimals and fractions go in as strings.
    """

    kind: str
    body: Mapping[str, Any]


Fact = Told | AddedLater | Entry
TOLD: Mapping[str, type[Told]] = {
    model.KIND: get_origin(model) or model for model in get_args(Told)
}
_ADDED: dict[str, type[AddedLater]] = {model.KIND: model for model in get_args(AddedLater)}
KINDS: Mapping[str, type[Told | AddedLater]] = MappingProxyType({**TOLD, **_ADDED})


def kind_of(fact: Fact) -> str:
    """The name that the record gives it."""
    return fact.kind if isinstance(fact, Entry) else fact.KIND


def fact_of(kind: str, body: Mapping[str, Any]) -> Fact:
    """The fact that this event of the record tells; nothing is refused."""
    told = TOLD.get(kind)
    if told is not None:
        return codec.read(told, body)
    added = _ADDED.get(kind)
    if added is not None:
        with suppress(ValidationError):
            return added.model_validate(body)
    return Entry(kind, body)


def body_of(fact: Fact) -> Mapping[str, Any]:
    """The fact as the record keeps it: JSON values by their names."""
    match fact:
        case Entry():
            return fact.body
        case BaseModel():
            return fact.model_dump(mode="json")
        case _:
            return codec.to_json(fact)
