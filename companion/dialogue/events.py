"""What can happen to the conversation. Every event is recorded before anything is said about it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, assert_never

from companion.words.meanings import Meaning, meaning_from_json, meaning_to_json


@dataclass(frozen=True)
class RoomNoise:
    """What was heard while nobody spoke, in dBFS, and whether the voice can be relied on here.

    `voice`: reliable, uncertain or unreliable; `advice`: the same in words, with what to do.
    """

    floor_dbfs: float
    loud_dbfs: float
    voice: str
    advice: str


@dataclass(frozen=True)
class HearingBefore:
    """What is known of the hearing before the first word.

    `noise`: None where there is no microphone. `offer_check`: whether to offer the voice check.
    The rest is what a check of this voice has found earlier on the same day.
    """

    noise: RoomNoise | None = None
    offer_check: bool = False
    digit_by_digit: bool = False
    least_confidence: float = 0.0


@dataclass(frozen=True)
class Opened:
    """The job begins."""

    hearing: HearingBefore = HearingBefore()


@dataclass(frozen=True)
class Resumed:
    """The companion starts again in the middle of this job, after whatever stopped it."""


@dataclass(frozen=True)
class Heard:
    """An answer inside the grammar of the prompt it was heard under.

    `detail` is what the ears add for the record (words, confidence, levels, clip); only the voice
    check, which is about the ears themselves, ever looks at it.
    """

    prompt_id: str
    meaning: Meaning
    detail: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Refused:
    """Something was heard that counts for nothing, and why."""

    prompt_id: str
    reason: str
    detail: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Silent:
    """Nothing was heard within the time given to the prompt."""

    prompt_id: str
    waited_s: float


Event = Opened | Resumed | Heard | Refused | Silent


def event_to_entry(event: Event) -> tuple[str, dict[str, Any]]:
    """The event as the record keeps it: its kind and its body."""
    match event:
        case Opened(hearing):
            return "opened", {} if hearing == HearingBefore() else {"hearing": asdict(hearing)}
        case Resumed():
            return "resumed", {}
        case Heard(prompt_id, meaning, detail):
            return "heard", {
                "prompt_id": prompt_id,
                "meaning": meaning_to_json(meaning),
                **detail,
            }
        case Refused(prompt_id, reason, detail):
            return "refused", {"prompt_id": prompt_id, "reason": reason, **detail}
        case Silent(prompt_id, waited_s):
            return "silent", {"prompt_id": prompt_id, "waited_s": waited_s}
        case _:
            assert_never(event)


def event_from_entry(kind: str, body: Mapping[str, Any]) -> Event | None:
    """The event that `event_to_entry` wrote, or None for what the dialogue itself wrote."""
    match kind:
        case "opened":
            return Opened(_hearing(body.get("hearing")))
        case "resumed":
            return Resumed()
        case "heard":
            detail = {k: v for k, v in body.items() if k not in ("prompt_id", "meaning")}
            return Heard(body["prompt_id"], meaning_from_json(body["meaning"]), detail)
        case "refused":
            detail = {k: v for k, v in body.items() if k not in ("prompt_id", "reason")}
            return Refused(body["prompt_id"], body["reason"], detail)
        case "silent":
            return Silent(body["prompt_id"], body["waited_s"])
        case _:
            return None


def _hearing(kept: Mapping[str, Any] | None) -> HearingBefore:
    if kept is None:
        return HearingBefore()
    noise = kept["noise"]
    return HearingBefore(**{**kept, "noise": None if noise is None else RoomNoise(**noise)})
