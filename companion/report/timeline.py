"""The session line by line: who said or did what, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, assert_never

from companion.facts import meanings
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
from companion.facts.kinds import Entry
from companion.facts.office import (
    CarsLetGo,
    CodesRead,
    DateVouched,
    OfficeFact,
    PersonEnrolled,
    PersonRemoved,
    PinChanged,
    PinFailed,
    VisitClosed,
    VisitOpened,
    VisitSensors,
    VisitVehicle,
)
from companion.facts.opening import Opened, Resumed, Stage
from companion.facts.plain import flat
from companion.facts.practice import BayShows
from companion.facts.shown import NO_SHOWS, Shows, words_for
from companion.facts.stand import Shims, StandMoves
from companion.facts.taking_over import TakenOver
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
from companion.report import advised
from companion.report.beforehand import checked_beforehand
from companion.report.explain_advice import in_short
from companion.report.tables import reading_value
from companion.report.wording import Wording

Who = Literal["companion", "technician", "kept", "worked_out", "session"]

RAW_SCORES = ("log probability", "both heads", "phone loop")
"""What details of older records are told by, that hold a recogniser's own scores."""


@dataclass(frozen=True)
class Line:
    """One line; `is_stage` lines are headings, `clip_sha256` names the sound if any was kept.

    `technical`: what a formula or the ears said of it, in English in every language.
    """

    seq: int
    at_utc: str
    who: Who
    label: str
    told: str
    detail: str = ""
    clip_sha256: str = ""
    technical: str = ""
    is_stage: bool = False
    is_refusal: bool = False
    is_caution: bool = False
    is_sign_off: bool = False


def line_of(event: StoredEvent, wording: Wording, shows: Shows = NO_SHOWS) -> Line:
    """The event as one line.

    A fact that only a kind of step knows is told in that kind's words, where it is one of `shows`;
    else, as any that this program does not know, it is shown whole.
    """

    def line(who: Who, label: str, told: str, detail: str = "", clip: str | None = None) -> Line:
        named = wording(f"label-{label}")
        return Line(event.seq, event.at_utc, who, named, told, detail, clip or "")

    match event.fact:
        case Stage() as stage:
            told = wording("line-stage", title=stage.title, number=stage.number, of=stage.of)
            return replace(line("session", "stage", told), is_stage=True)
        case Said(purpose=purpose, text=text, ask=ask):
            said = wording.words.named("purpose-", purpose or "unknown")
            # Not spoken: it was asked before, in one breath with what was said back.
            spoken = Line(event.seq, event.at_utc, "companion", said, text or ask or "")
            return replace(spoken, is_caution=purpose == "caution")
        case Heard(meaning=meaning, how=how):
            detail = _hearing(meaning, how, wording)
            told = wording.quoted(how.words)
            return line("technician", "heard", told, detail, how.clip_sha256)
        case Refused(how=how) as note if note.is_note:
            told = wording.quoted(how.words or "…")
            return line(
                "technician",
                "heard",
                told,
                _hearing(meanings.NOT_TOLD, how, wording),
                how.clip_sha256,
            )
        case Refused() as refusal:
            return replace(
                line("technician", "refused", *_refused(refusal, wording)),
                technical=_of_the_ears(refusal.how),
                is_refusal=True,
            )
        case Silent(waited_s=waited_s):
            told = wording("line-no-answer")
            if waited_s is not None:
                told = wording("line-no-answer-in", seconds=round(waited_s))
            return replace(line("technician", "silence", told), is_refusal=True)
        case Late():
            return line("technician", "late", wording("line-late"))
        case Noted(clip_sha256=clip, words=noted):
            told = wording("line-note-with-sound" if clip else "line-note-without-sound")
            if noted:
                told = wording("line-why", why=told, what=wording.quoted(noted))
            return line("kept", "note", told, clip=clip)
        case Accepted() | Answered() | Done() | Consent() | TakenBack() as kept_fact:
            return line("kept", *_kept(kept_fact, wording))
        case (
            Computed() | Decided() | AimDecided() | Corrected() | ScrewPlan() | MoveJudged() as fact
        ):
            return line("worked_out", *_worked_out(fact, wording))
        case Shims() | StandMoves() | Suspected() | CannotPass() as advised_fact:
            # Budget, formula and source are for who asks: `companion explain` has them.
            told, *rest = in_short(advised_fact, wording)
            return line("worked_out", "advice", told, " · ".join(item.strip() for item in rest))
        case Misfit(step_id, why):
            misfit = line("worked_out", "misfit", wording("line-misfit"), wording.step(step_id))
            return replace(misfit, technical=why)
        case Implausible(step_id=step_id, why=why) | NotAllowed(step_id, why):
            return line("worked_out", event.kind, why, wording.step(step_id))
        case NoiseChecked() | VoiceChecked() as checked:
            label, told, detail = checked_beforehand(checked, wording)
            return Line(event.seq, event.at_utc, "session", label, told, detail)
        case Opened(technician=technician) as opened:
            name = technician or wording("line-nobody-named")
            vehicle = _chosen_vehicle(opened, wording)
            return line("session", "opened", wording("line-opened-by", name=name), vehicle)
        case Resumed():
            return line("session", "resumed", wording("line-resumed"))
        case Stopped(why):
            return line("session", "stopped", why)
        case Finished(result):
            return line("session", "finished", wording.ending(result))
        case DriftNoticed() as drift:
            return line("session", "drift", wording.drifted(drift))
        case BayShows() as shows_now:
            return line("session", "practice", *_bay_shows(shows_now, wording))
        case SignedOff() | Amended() | ClipsExpired() as added:
            signed = isinstance(added, SignedOff)
            return replace(line("session", *_added_afterwards(added, wording)), is_sign_off=signed)
        case DateVouched() | PersonEnrolled() | PersonRemoved() | PinChanged() | PinFailed() as own:
            return line("session", *_in_the_office(own, wording))
        case (
            VisitOpened()
            | VisitVehicle()
            | VisitSensors()
            | VisitClosed()
            | CarsLetGo()
            | CodesRead() as own
        ):
            return line("session", *_in_the_office(own, wording))
        case TakenOver(left=left, stages=stages):
            told = ", ".join(stages) or wording("line-nothing")
            titles = ", ".join(wording.step(step_id) for step_id in left)
            detail = wording("line-no-longer-holds", what=titles) if left else ""
            return line("kept", "taken_over", told, detail)
        case Entry(kind, body) as unknown:
            words = words_for(shows, unknown, wording)
            if words is not None:
                told, detail = words.told, words.detail
                return Line(event.seq, event.at_utc, "worked_out", words.label, told, detail)
            return Line(event.seq, event.at_utc, "session", kind, flat(body))


def _bay_shows(shown: BayShows, wording: Wording) -> tuple[str, str]:
    """What an instrument read, or how it was in the simulated bay; what was asked for."""
    if shown.value is None:
        return wording.words.choice(shown.choice), shown.title
    size = shown.value.removeprefix("-")
    return wording.words.amount(size, shown.unit, shown.direction), shown.title


def _refused(refused: Refused, wording: Wording) -> tuple[str, str, str | None]:
    """Why, with the words that were heard; the levels and the ears; the sound."""
    how = refused.how
    why = wording.refusal(refused.reason) if refused.reason else wording("line-no-reason")
    if how.words:
        why = wording("line-why", why=why, what=wording.quoted(how.words))
    ears = wording("line-heard-by", ears=how.ears) if how.ears else ""
    into = _into_prompt(how, wording)
    detail = " · ".join(filter(None, (_levels(how, wording), ears, into)))
    return why, detail, how.clip_sha256


def _into_prompt(how: How, wording: Wording) -> str:
    """That it was said before the companion had ended, and how much had sounded by then."""
    if how.into is None:
        return ""
    sounded, whole = (wording.number(s, 1) for s in (how.into.sounded_s, how.into.whole_s))
    return wording("line-into-prompt", sounded=sounded, whole=whole)


def _levels(how: How, wording: Wording) -> str:
    if how.background_dbfs is None:
        return ""
    background = wording.number(how.background_dbfs, 0)
    if how.speech_dbfs is None:
        return wording("line-background", background=background)
    speech = wording.number(how.speech_dbfs, 0)
    return wording("line-levels", speech=speech, background=background)


def _of_the_ears(how: How) -> str:
    """What the ears say of the sound; scores that only the makers of the ears can read stay out."""
    if how.background_dbfs is not None or not how.detail:
        return ""
    return "" if any(word in how.detail for word in RAW_SCORES) else how.detail


def _hearing(meaning: meanings.Meaning, how: How, wording: Wording) -> str:
    parts = []
    if meaning != meanings.NOT_TOLD:
        what = _meaning_words(meaning, wording)
        parts.append(wording("line-understood-as", what=what))
    if how.confidence is not None:
        confidence = wording.number(how.confidence, 2)
        parts.append(wording("line-confidence", confidence=confidence))
    if how.ears:
        parts.append(wording("line-heard-by", ears=how.ears))
    parts += [_into_prompt(how, wording)] if how.into is not None else []
    others = [guess for guess in how.n_best or () if guess and guess != how.words]
    if others:
        guesses = "; ".join(wording.quoted(guess) for guess in others[:3])
        parts.append(wording("line-next-guesses", guesses=guesses))
    return " · ".join(parts)


def _meaning_words(meaning: meanings.Meaning, wording: Wording) -> str:
    """A meaning in the report's own words."""
    words = wording.words
    match meaning:
        case meanings.Number(value, direction, unit):
            amount = words.amount(format(value, "f"), unit or "", direction or "")
            return wording("meaning-number", what=amount)
        case meanings.Pair(first, second):
            return ", ".join(_meaning_words(each, wording) for each in (first, second))
        case meanings.Mended(place, number):
            return wording("meaning-mended", place=place, what=_meaning_words(number, wording))
        case meanings.Confirmed(then):
            return wording("meaning-confirmed", what=_meaning_words(then, wording))
        case meanings.Unconfirmed(then):
            return _meaning_words(then, wording)
        case meanings.Choice(choice_id):
            return wording("meaning-choice", what=words.choice(choice_id))
        case meanings.Command(name):
            return wording("meaning-command", what=words.command(name))
        case meanings.Word(word):
            return wording("meaning-word", what=word)
        case meanings.Done():
            return wording("meaning-done")
        case meanings.Yes():
            return wording("meaning-yes")
        case meanings.No():
            return wording("meaning-no")
        case _:
            assert_never(meaning)


def _kept(
    fact: Accepted | Answered | Done | Consent | TakenBack, wording: Wording
) -> tuple[str, str, str]:
    match fact:
        case Accepted() as taken:
            value = taken.spoken or reading_value(taken, wording)
            told = wording("line-title-and-value", title=taken.title, value=value)
            detail = wording("line-attempts", attempts=taken.attempts)
            return "confirmed", told, "" if taken.attempts == 1 else detail
        case Answered(choice=choice) as answered:
            named, title = wording.words.choice(choice), wording.words.asked(answered)
            told = wording("line-title-and-value", title=title, value=named) if title else named
            return "answered", told, wording("line-proposed") if answered.proposed else ""
        case Done(step_id=step_id, text=text):
            return "done", text or wording.step(step_id), ""
        case Consent(keep_sound):
            return "consent", wording("line-keep-sound", answer=wording.yes_or_no(keep_sound)), ""
        case TakenBack(step_ids, why):
            titles = dict.fromkeys(wording.step(step_id) for step_id in step_ids)
            return "taken_back", ", ".join(titles), why


def _named_outputs(computed: Computed) -> list[tuple[str, Output]]:
    """The outputs under names that have words for their direction."""
    is_swing = "swing" in computed.step_id or "yaw" in computed.step_id
    vertex = "swing_vertex_deg" if is_swing else "lean_vertex_deg"
    return [
        (vertex if name == "vertex_deg" else name, output)
        for name, output in computed.outputs.items()
    ]


def _worked_out(
    fact: Computed | Decided | AimDecided | Corrected | ScrewPlan | MoveJudged, wording: Wording
) -> tuple[str, str, str]:
    match fact:
        case Computed() as computed:
            told = "; ".join(
                wording(
                    "line-title-and-value",
                    title=wording.title_of(name),
                    value=wording.amount(output.quantity, name),
                )
                for name, output in _named_outputs(computed)
            )
            return "result", told, ""
        case Decided() as decided:
            amount = wording.amount(decided.quantity, decided.result)
            how = wording("line-by-limits-alone")
            if decided.level is not None:
                chance = wording.percent(decided.probability_inside)
                how = wording("line-chance", chance=chance)
            title = decided.title or wording.title_of(decided.result)
            return "decision", *_judged(title, f"{amount}, {how}", decided, wording)
        case AimDecided() as decided:
            amounts = ", ".join(
                wording.amount(axis.quantity, f"aim_{name}_deg")
                for name, axis in decided.axes.items()
            )
            chance = wording.percent(decided.probability_inside)
            told = f"{amounts}, {wording('line-chance-of-both', chance=chance)}"
            return "decision", *_judged(wording("line-aim"), told, decided, wording)
        case Corrected() as corrected:
            return "correction", corrected.text, ""
        case ScrewPlan() as plan:
            turns = advised.turns(plan, wording)
            return "screws", wording("line-round", round=plan.round, turns=turns), ""
        case MoveJudged() as judged:
            return "move", wording("line-judged", what=advised.stories(judged, wording)), ""


def _judged(
    title: str, told: str, decided: Decided | AimDecided, wording: Wording
) -> tuple[str, str]:
    """The answer, and what it rests on with what would settle it."""
    answer = wording.answer(decided.answer)
    advice = advised.to_settle(decided, wording)
    detail = f"{told} · {advice}" if advice else told
    return wording("line-title-and-value", title=title, value=answer), detail


def _added_afterwards(
    fact: SignedOff | Amended | ClipsExpired, wording: Wording
) -> tuple[str, str, str]:
    match fact:
        case SignedOff() as signed:
            role = wording(f"role-{signed.role}")
            told = wording("line-signed-off", name=signed.by, role=role, events=signed.events)
            proven = _proven(signed, wording)
            if signed.how != "pin" and signed.signature is not None:
                proven = f"{proven}, {wording('line-with-a-signature')}"
            return "sign_off", told, f"{proven} · {signed.remark}".rstrip(" ·")
        case Amended() as amended:
            told = wording("line-amended", event=amended.event, now=amended.now)
            proven = _proven(amended, wording)
            by = wording("line-amended-by", name=amended.by, proven=proven)
            return "correction", told, f"{amended.why} · {by}"
        case ClipsExpired() as expired:
            told = wording("line-sound-deleted", count=len(expired.clips))
            return "sound_deleted", told, expired.why


def _proven(fact: SignedOff | Amended, wording: Wording) -> str:
    """What it claims; what that is worth, a check says (`report`)."""
    if fact.how != "pin":
        return wording("line-name-typed")
    return wording("line-with-a-key" if fact.signature is not None else "line-pin-claimed")


def _chosen_vehicle(opened: Opened, wording: Wording) -> str:
    """How the vehicle was chosen, where it was asked or taken over from the visit."""
    vehicle, choice = opened.vehicle_told.name, opened.vehicle_choice
    if choice is not None:
        count, quoted = len(choice.offered), wording.quoted(choice.heard)
        return wording("line-vehicle-chosen", vehicle=vehicle, count=count, heard=quoted)
    if opened.vehicle_of_visit:
        return wording("line-vehicle-of-visit", vehicle=vehicle, visit=opened.vehicle_of_visit)
    return ""


def _in_the_office(fact: OfficeFact, wording: Wording) -> tuple[str, str, str]:
    match fact:
        case PersonEnrolled() as one:
            by = wording("line-vouched-for-by-nobody")
            if one.vouched_by:
                by = wording("line-vouched-for-by", name=one.vouched_by)
            has = "line-has-a-new-key" if one.instead_of else "line-has-a-key"
            told = wording(has, name=one.name, role=wording(f"role-{one.role}"))
            return "enrolled", told, by
        case PinChanged() as one:
            return "pin", wording("line-pin-changed", name=one.name), ""
        case PinFailed() as one:
            return "wrong_pin", wording("line-pin-failed", name=one.name), one.doing
        case PersonRemoved() as one:
            told = wording("line-signs-no-more", name=one.name)
            return "removed", told, wording("line-removed-by", name=one.vouched_by)
        case DateVouched() as one:
            return "date", wording("line-date-vouched", session=one.session), ""
        case VisitOpened() as one:
            return "visit", wording("line-visit-opened", visit=one.visit), ""
        case VisitVehicle() as one:
            told = wording("line-visit-vehicle", visit=one.visit, vehicle=one.vehicle)
            return "visit", told, wording.quoted(one.heard) if one.heard else ""
        case VisitSensors() as one:
            named = "; ".join(sensor.name for sensor in one.sensors) or wording("line-nothing")
            return "visit", wording("line-visit-sensors", visit=one.visit, sensors=named), ""
        case CodesRead() as one:
            codes = ", ".join(one.codes) or wording("line-nothing")
            told = wording("line-codes-read", when=one.when, codes=codes)
            return "codes", told, wording("line-of-visit", visit=one.visit)
        case VisitClosed() as one:
            return "visit", wording("line-visit-closed", visit=one.visit), ""
        case CarsLetGo() as one:
            return "cars_let_go", wording("line-cars-let-go", count=len(one.cars)), one.why
