"""The session line by line: who said or did what, and what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from companion.facts.plain import flat, number
from companion.record import StoredEvent
from companion.review import advised, wording
from companion.review.explain_advice import ASIDE, advice
from companion.review.values import mapping, quantity, sequence, text, words

Who = Literal["companion", "technician", "kept", "worked out", "session"]

PURPOSES = {
    "ask": "asks",
    "read_back": "says back",
    "explain": "explains",
    "instruct": "tells to do",
    "announce": "announces",
    "caution": "cautions",
}


KNOWN_KINDS = frozenset(
    """stage said heard refused silent accepted answered done noted consent taken_back computed
    decided aim_decided corrected screw_plan move_judged doubted not_allowed misfit late key opened
    resumed stopped finished signed_off amended clips_expired""".split()  # noqa: SIM905 - a list to be read
)


def is_known(kind: str) -> bool:
    """Whether `line_of` has words of its own for events of this kind."""
    return kind in KNOWN_KINDS


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


def line_of(event: StoredEvent) -> Line:
    """The event as one line; a kind this program does not know is shown whole."""
    body = event.body
    clip = text(body.get("clip_sha256"))

    def line(who: Who, label: str, told: str, detail: str = "") -> Line:
        return Line(event.seq, event.at_utc, who, label, told, detail, clip)

    match event.kind:
        case "stage":
            told = f"{text(body.get('title'))} ({text(body.get('number'))}/{text(body.get('of'))})"
            return Line(event.seq, event.at_utc, "session", "stage", told, is_stage=True)
        case "said":
            return _said(event)
        case "heard":
            return line("technician", "heard", f"“{words(body.get('words'))}”", _hearing(event))
        case "refused" | "silent":
            return _not_heard(event)
        case "accepted" | "answered" | "done" | "noted" | "consent" | "taken_back":
            return line("kept", *_kept(event))
        case "computed" | "decided" | "aim_decided" | "corrected" | "screw_plan" | "move_judged":
            return line("worked out", *_worked_out(event))
        case "shims" | "stand_moves" | "suspected" | "cannot_pass":
            headline, *rest = advice(event)
            told, _, _ = headline.rpartition(", event ")
            # Budget, formula and source are for who asks: `companion explain` has them.
            shown = (item.strip() for item in rest if not item.startswith(ASIDE))
            return line("worked out", "advice", told, " · ".join(shown))
        case "doubted" | "not_allowed" | "misfit":
            label, steps = event.kind.replace("_", " "), text(body.get("step_id")).replace("_", " ")
            return line("worked out", label, text(body.get("why")), steps)
        case "late":
            return line("technician", "late", "an answer to an earlier question, not taken")
        case "key":
            return line("technician", "key", text(body.get("name")))
        case "opened":
            return line("session", "opened", f"by {text(body.get('technician')) or 'nobody named'}")
        case "resumed":
            return line("session", "resumed", "taken up again after a break")
        case "stopped":
            return line("session", "stopped", text(body.get("why")))
        case "finished":
            return line("session", "finished", text(body.get("result")).replace("_", " "))
        case "signed_off" | "amended" | "clips_expired":
            return line("session", *_added_afterwards(event))
        case _:
            return line("session", event.kind, flat(body))


def _said(event: StoredEvent) -> Line:
    purpose = text(event.body.get("purpose"))
    return Line(
        event.seq,
        event.at_utc,
        "companion",
        PURPOSES.get(purpose, purpose or "says"),
        text(event.body.get("text")),
        is_caution=purpose == "caution",
    )


def _hearing(event: StoredEvent) -> str:
    body = event.body
    parts = []
    meaning = mapping(body.get("meaning"))
    if meaning:
        parts.append(f"understood as {_meaning_words(meaning)}")
    confidence = number(body.get("confidence"))
    if confidence is not None:
        parts.append(f"confidence {confidence:.2f}")
    if text(body.get("ears")):
        parts.append(f"by {text(body.get('ears'))}")
    guesses = [words(_guess_words(guess)) for guess in sequence(body.get("n_best"))]
    others = [guess for guess in guesses if guess and guess != words(body.get("words"))]
    if others:
        parts.append("next guesses: " + "; ".join(f"“{guess}”" for guess in others[:3]))
    return " · ".join(parts)


def _meaning_words(meaning: Mapping[str, object]) -> str:
    rest = {name: value for name, value in meaning.items() if name != "kind" and value is not None}
    told = flat(list(rest.values()) if len(rest) == 1 else rest)
    return f"{text(meaning.get('kind'))} {told}".replace("_", " ").strip()


def _guess_words(guess: object) -> object:
    if isinstance(guess, dict):
        return guess.get("words")
    return guess[0] if isinstance(guess, list) and guess else guess


def _not_heard(event: StoredEvent) -> Line:
    body = event.body
    if event.kind == "silent":
        waited_s = number(body.get("waited_s"))
        told = "no answer" if waited_s is None else f"no answer in {waited_s:.0f} seconds"
        return Line(event.seq, event.at_utc, "technician", "silence", told, is_refusal=True)
    heard = words(body.get("words"))
    reason = text(body.get("reason")).replace("_", " ") or "no reason recorded"
    return Line(
        event.seq,
        event.at_utc,
        "technician",
        "refused",
        f"{reason}: “{heard}”" if heard else reason,
        " · ".join(filter(None, (text(body.get("detail")), text(body.get("ears"))))),
        text(body.get("clip_sha256")),
        is_refusal=True,
    )


def _kept(event: StoredEvent) -> tuple[str, str, str]:
    body = event.body
    match event.kind:
        case "accepted":
            told = text(body.get("spoken")) or f"{text(body.get('value'))} {text(body.get('unit'))}"
            attempts = int(number(body.get("attempts")) or 1)
            detail = "" if attempts == 1 else f"after {attempts} attempts"
            return "confirmed", f"{text(body.get('title'))}: {told}", detail
        case "answered":
            title, choice = text(body.get("title")), text(body.get("choice")).replace("_", " ")
            return "answered", f"{title}: {choice}" if title else choice, ""
        case "done":
            told = text(body.get("text")) or text(body.get("step_id")).replace("_", " ")
            return "done", told, ""
        case "noted":
            kept = "with sound" if body.get("clip_sha256") else "no sound kept"
            return "note", f"a note for the supervisor, {kept}", ""
        case "consent":
            return "consent", f"keep sound: {flat(body.get('keep_sound'))}", ""
        case _:
            steps = flat(body.get("step_ids")).replace("_", " ")
            return "taken back", steps, text(body.get("why"))


def _named_outputs(event: StoredEvent) -> list[tuple[str, object]]:
    """The outputs under names that have words for their direction."""
    step_id = text(event.body.get("step_id"))
    vertex = "swing_vertex_deg" if "swing" in step_id or "yaw" in step_id else "lean_vertex_deg"
    outputs = mapping(event.body.get("outputs")).items()
    return [(vertex if name == "vertex_deg" else name, item) for name, item in outputs]


def _worked_out(event: StoredEvent) -> tuple[str, str, str]:
    body = event.body
    match event.kind:
        case "computed":
            told = "; ".join(
                f"{wording.title_of(name)}: {wording.amount(quantity(item), name)}"
                for name, item in _named_outputs(event)
            )
            return "result", told, ""
        case "decided":
            result_name = text(body.get("result"))
            told = wording.amount(quantity(body), result_name)
            if number(body.get("level")) is None:
                told += ", by its limits alone"
            else:
                told += f", chance of being inside {wording.percent(_probability(body))}"
            answer = wording.answer_words(text(body.get("answer")))
            title = text(body.get("title")) or wording.title_of(result_name)
            return "decision", f"{title}: {answer}", _and_to_settle(told, event)
        case "aim_decided":
            told = ", ".join(
                wording.amount(quantity(body.get(axis), "deg"), f"aim_{axis}_deg")
                for axis in ("yaw", "elevation")
            )
            answer = wording.answer_words(text(body.get("answer")))
            chance = wording.percent(_probability(body))
            told += f", chance of both being inside {chance}"
            return "decision", f"aim: {answer}", _and_to_settle(told, event)
        case "corrected":
            return "correction", text(body.get("text")), ""
        case "screw_plan":
            told = "; ".join(
                f"{screw_id.replace('_', ' ')} {wording.turns_words(wording.turns_of(turns))}"
                for screw_id, turns in mapping(body.get("turns")).items()
            )
            return "screws", f"round {text(body.get('round'))}: {told}", ""
        case _:
            return "move", f"judged {advised.stories(body)}", ""


def _and_to_settle(told: str, event: StoredEvent) -> str:
    advice = advised.to_settle(event)
    return f"{told} · {advice}" if advice else told


def _added_afterwards(event: StoredEvent) -> tuple[str, str, str]:
    body = event.body
    by = f"{text(body.get('by'))} ({text(body.get('role')) or 'supervisor'})"
    proven = "by PIN" if body.get("how") == "pin" else "name typed, not proven"
    match event.kind:
        case "signed_off":
            signature = ", with a signature" if mapping(body.get("signature")) else ""
            told = f"{by} signed off events 1 to {text(body.get('events'))}"
            return (
                "sign-off",
                told,
                f"{proven}{signature} · {text(body.get('remark'))}".rstrip(" ·"),
            )
        case "amended":
            told = f"instead of event {text(body.get('event'))}: {text(body.get('now'))}"
            return "correction", told, f"{text(body.get('why'))} · {by}, {proven}"
        case _:
            count = len(sequence(body.get("clips")))
            return "sound deleted", f"{count} clip(s), their hashes are kept", text(body.get("why"))


def _probability(body: Mapping[str, object]) -> float | None:
    return number(body.get("probability_inside"))
