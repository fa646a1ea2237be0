"""The session line by line: who said or did what, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from companion.facts.afterwards import Amended, ClipsExpired, SignedOff
from companion.facts.aim import AimDecided, MoveJudged, ScrewPlan
from companion.facts.answers import (
    Accepted,
    Answered,
    Consent,
    Done,
    Doubted,
    NotAllowed,
    TakenBack,
)
from companion.facts.beforehand import NoiseChecked, VoiceChecked
from companion.facts.ending import DriftNoticed, Finished, Stopped
from companion.facts.kinds import Unknown
from companion.facts.office import (
    DateVouched,
    OfficeFact,
    PersonEnrolled,
    PersonRemoved,
    PinChanged,
    PinFailed,
)
from companion.facts.opening import Opened, Resumed, Stage
from companion.facts.plain import flat, text
from companion.facts.shown import NO_SHOWS, Shows, words_for
from companion.facts.stand import Shims, StandMoves
from companion.facts.talking import Heard, How, Late, Noted, Refused, Said, Silent
from companion.facts.workings import (
    CannotPass,
    Computed,
    Corrected,
    Decided,
    Misfit,
    Output,
    Suspected,
)
from companion.record import StoredEvent
from companion.report import advised, wording
from companion.report.beforehand import checked_beforehand
from companion.report.explain_advice import in_short

Who = Literal["companion", "technician", "kept", "worked out", "session"]

PURPOSES = {
    "ask": "asks",
    "read_back": "says back",
    "explain": "explains",
    "instruct": "tells to do",
    "announce": "announces",
    "caution": "cautions",
}


RAW_SCORES = ("log probability", "both heads", "phone loop")
"""What details of older records are told by, that hold a recogniser's own scores."""


@dataclass(frozen=True)
class Line:
    """One line; `is_stage` lines are headings, `clip_sha256` names the sound if any was kept."""

    seq: int
    at_utc: str
    who: Who
    label: str
    told: str
    detail: str = ""
    clip_sha256: str = ""
    is_stage: bool = False
    is_refusal: bool = False
    is_caution: bool = False


def line_of(event: StoredEvent, shows: Shows = NO_SHOWS) -> Line:
    """The event as one line.

    A fact that only a kind of step knows is told in that kind's words, where it is one of `shows`;
    else, as any that this program does not know, it is shown whole.
    """

    def line(who: Who, label: str, told: str, detail: str = "", clip: str | None = None) -> Line:
        return Line(event.seq, event.at_utc, who, label, told, detail, clip or "")

    match event.fact:
        case Stage() as stage:
            told = f"{stage.title} ({stage.number}/{stage.of})"
            return replace(line("session", "stage", told), is_stage=True)
        case Said(purpose=purpose, text=text):
            said = line("companion", PURPOSES.get(purpose, purpose or "says"), text)
            return replace(said, is_caution=purpose == "caution")
        case Heard(meaning=meaning, how=how):
            detail = _hearing(meaning, how)
            return line("technician", "heard", f"“{how.words}”", detail, how.clip_sha256)
        case Refused(reason=reason, how=how):
            why = reason.replace("_", " ") or "no reason recorded"
            told = f"{why}: “{how.words}”" if how.words else why
            detail = " · ".join(filter(None, (_why_refused(how), how.ears)))
            refused = line("technician", "refused", told, detail, how.clip_sha256)
            return replace(refused, is_refusal=True)
        case Silent(waited_s=waited_s):
            told = "no answer" if waited_s is None else f"no answer in {waited_s:.0f} seconds"
            return replace(line("technician", "silence", told), is_refusal=True)
        case Late():
            return line("technician", "late", "an answer to an earlier question, not taken")
        case Noted(clip_sha256=clip):
            kept = "with sound" if clip else "no sound kept"
            return line("kept", "note", f"a note for the supervisor, {kept}", clip=clip)
        case Accepted() | Answered() | Done() | Consent() | TakenBack() as kept_fact:
            return line("kept", *_kept(kept_fact))
        case (
            Computed() | Decided() | AimDecided() | Corrected() | ScrewPlan() | MoveJudged() as fact
        ):
            return line("worked out", *_worked_out(fact))
        case Shims() | StandMoves() | Suspected() | CannotPass() as advised_fact:
            # Budget, formula and source are for who asks: `companion explain` has them.
            told, *rest = in_short(advised_fact)
            return line("worked out", "advice", told, " · ".join(item.strip() for item in rest))
        case Doubted(step_id=step_id, why=why) | NotAllowed(step_id, why) | Misfit(step_id, why):
            label = event.kind.replace("_", " ")
            return line("worked out", label, why, step_id.replace("_", " "))
        case NoiseChecked() | VoiceChecked() as checked:
            return line("session", *checked_beforehand(checked))
        case Opened(technician=technician):
            return line("session", "opened", f"by {technician or 'nobody named'}")
        case Resumed():
            return line("session", "resumed", "taken up again after a break")
        case Stopped(why):
            return line("session", "stopped", why)
        case Finished(result):
            return line("session", "finished", result.replace("_", " "))
        case DriftNoticed() as drift:
            return line("session", "drift", wording.drifted(drift))
        case SignedOff() | Amended() | ClipsExpired() as added:
            return line("session", *_added_afterwards(added))
        case DateVouched() | PersonEnrolled() | PersonRemoved() | PinChanged() | PinFailed() as own:
            return line("session", *_in_the_office(own))
        case Unknown(kind, body) as unknown:
            words = words_for(shows, unknown)
            if words is not None:
                return line("worked out", words.label, words.told, words.detail)
            return line("session", kind, flat(body))


def _why_refused(how: How) -> str:
    """What the ears say of the sound; scores that only whoever made the ears can read stay out."""
    if how.background_dbfs is None:
        return "" if any(word in (how.detail or "") for word in RAW_SCORES) else how.detail or ""
    told = f"background {how.background_dbfs:.0f} dBFS"
    if how.speech_dbfs is not None:
        told = f"speech {how.speech_dbfs:.0f} dBFS, {told}"
    return told.replace("-", wording.MINUS)


def _hearing(meaning: Mapping[str, Any], how: How) -> str:
    parts = []
    if meaning:
        parts.append(f"understood as {_meaning_words(meaning)}")
    if how.confidence is not None:
        parts.append(f"confidence {how.confidence:.2f}")
    if how.ears:
        parts.append(f"by {how.ears}")
    others = [guess for guess in how.n_best or () if guess and guess != how.words]
    if others:
        parts.append("next guesses: " + "; ".join(f"“{guess}”" for guess in others[:3]))
    return " · ".join(parts)


def _meaning_words(meaning: Mapping[str, Any]) -> str:
    """The kind of meaning and whatever belongs to it: each kind has fields of its own."""
    rest = {name: value for name, value in meaning.items() if name != "kind" and value is not None}
    told = flat(list(rest.values()) if len(rest) == 1 else rest)
    return f"{text(meaning.get('kind'))} {told}".replace("_", " ").strip()


def _kept(fact: Accepted | Answered | Done | Consent | TakenBack) -> tuple[str, str, str]:
    match fact:
        case Accepted() as taken:
            told = taken.spoken or f"{taken.value} {taken.unit}"
            detail = "" if taken.attempts == 1 else f"after {taken.attempts} attempts"
            return "confirmed", f"{taken.title}: {told}", detail
        case Answered(title=title, choice=choice):
            spaced = choice.replace("_", " ")
            return "answered", f"{title}: {spaced}" if title else spaced, ""
        case Done(step_id=step_id, text=text):
            return "done", text or step_id.replace("_", " "), ""
        case Consent(keep_sound):
            return "consent", f"keep sound: {'yes' if keep_sound else 'no'}", ""
        case TakenBack(step_ids, why):
            return "taken back", ", ".join(step_ids).replace("_", " "), why


def _named_outputs(computed: Computed) -> list[tuple[str, Output]]:
    """The outputs under names that have words for their direction."""
    is_swing = "swing" in computed.step_id or "yaw" in computed.step_id
    vertex = "swing_vertex_deg" if is_swing else "lean_vertex_deg"
    return [
        (vertex if name == "vertex_deg" else name, output)
        for name, output in computed.outputs.items()
    ]


def _worked_out(
    fact: Computed | Decided | AimDecided | Corrected | ScrewPlan | MoveJudged,
) -> tuple[str, str, str]:
    match fact:
        case Computed() as computed:
            told = "; ".join(
                f"{wording.title_of(name)}: {wording.amount(output.quantity, name)}"
                for name, output in _named_outputs(computed)
            )
            return "result", told, ""
        case Decided() as decided:
            told = wording.amount(decided.quantity, decided.result)
            if decided.level is None:
                told += ", by its limits alone"
            else:
                told += f", chance of being inside {wording.percent(decided.probability_inside)}"
            title = decided.title or wording.title_of(decided.result)
            answer = wording.answer_words(decided.answer)
            return "decision", f"{title}: {answer}", _and_to_settle(told, decided)
        case AimDecided() as decided:
            told = ", ".join(
                wording.amount(axis.quantity, f"aim_{name}_deg")
                for name, axis in decided.axes.items()
            )
            chance = wording.percent(decided.probability_inside)
            told += f", chance of both being inside {chance}"
            answer = wording.answer_words(decided.answer)
            return "decision", f"aim: {answer}", _and_to_settle(told, decided)
        case Corrected() as corrected:
            return "correction", corrected.text, ""
        case ScrewPlan() as plan:
            return "screws", f"round {plan.round}: {advised.turns(plan)}", ""
        case MoveJudged() as judged:
            return "move", f"judged {advised.stories(judged)}", ""


def _and_to_settle(told: str, decided: Decided | AimDecided) -> str:
    advice = advised.to_settle(decided)
    return f"{told} · {advice}" if advice else told


def _added_afterwards(fact: SignedOff | Amended | ClipsExpired) -> tuple[str, str, str]:
    match fact:
        case SignedOff() as signed:
            by_file = signed.how != "pin" and signed.signature is not None
            signature = ", with a signature" if by_file else ""
            told = f"{signed.by} ({signed.role}) signed off events 1 to {signed.events}"
            detail = f"{_proven(signed)}{signature} · {signed.remark}".rstrip(" ·")
            return "sign-off", told, detail
        case Amended() as amended:
            told = f"instead of event {amended.event}: {amended.now}"
            by = f"{amended.by} (supervisor), {_proven(amended)}"
            return "correction", told, f"{amended.why} · {by}"
        case ClipsExpired() as expired:
            count = len(expired.clips)
            return "sound deleted", f"{count} clip(s), their hashes are kept", expired.why


def _proven(fact: SignedOff | Amended) -> str:
    """What it claims; what that is worth, a check says (`report`)."""
    if fact.how != "pin":
        return "name typed, not proven"
    return "with a key" if fact.signature is not None else "a PIN is claimed, no key signed"


def _in_the_office(fact: OfficeFact) -> tuple[str, str, str]:
    match fact:
        case PersonEnrolled() as one:
            by = f"vouched for by {one.vouched_by or 'nobody'}"
            again = "a new key" if one.instead_of else "a key"
            return "enrolled", f"{one.name} ({one.role}) has {again}", by
        case PinChanged() as one:
            return "PIN", f"{one.name} has another PIN", ""
        case PinFailed() as one:
            return "wrong PIN", f"a wrong PIN was given for {one.name}", one.doing
        case PersonRemoved() as one:
            return "removed", f"{one.name} signs no more", f"signed by {one.vouched_by}"
        case DateVouched() as one:
            return "date", f"everything up to job {one.session} was recorded before this", ""
