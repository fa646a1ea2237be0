"""From events to what is on the screen: `take` one event after the other, then look.

Nothing is looked up elsewhere and nothing is remembered but this; any events whatever give a
state. The facts of one step come together, so what is shown is always one whole step.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from companion.display.moment import Answer, AnswerState
from companion.display.written import written
from companion.facts.plain import number
from companion.record.port import StoredEvent
from companion.review.values import mapping, sequence, text, words

HEARINGS_FOR_NOISE = 6
_UNIT_SIGNS = {
    "deg": "°",
    "mm": "\u00a0mm",
    "db": "\u00a0dB",
    "volt": "\u00a0V",
    "celsius": "\u00a0°C",
    "mm_per_m": "\u00a0mm/m",
    "bar": "\u00a0bar",
    "turns": "\u00a0turns",
}
_WHY_REFUSED = {
    "not_in_grammar": "That is no answer here.",
    "unsure": "Not sure enough.",
    "too_loud": "Too loud.",
    "clipped": "Too loud for the microphone.",
    "overrun": "Sound was lost.",
    "no_microphone": "The microphone is gone.",
    "late": "Too late for that question.",
}


@dataclass(frozen=True)
class PromptShown:
    """The open prompt as it was said."""

    step_id: str
    purpose: str
    mode: str
    said: str
    ask: str


@dataclass(frozen=True)
class Screws:
    """The turns asked for in this round, and how many of them are done."""

    step_id: str
    round_number: int
    steps: tuple[Mapping[str, Any], ...]
    done: int = 0


@dataclass(frozen=True)
class Told:
    """All that the screen needs to know of a session so far."""

    opened: Mapping[str, Any] = field(default_factory=dict)
    stage_id: str = ""
    prompt: PromptShown | None = None
    explained: str = ""
    answer: Answer | None = None
    corrections: Mapping[str, str] = field(default_factory=dict)
    results: Mapping[str, str] = field(default_factory=dict)
    screws: Screws | None = None
    aim: Mapping[str, Any] = field(default_factory=dict)
    finished: Mapping[str, Any] = field(default_factory=dict)
    stopped_why: str = ""
    hearings: tuple[str, ...] = ()
    answered_once: bool = False


def fold(events: Iterable[StoredEvent]) -> Told:
    """What these events, in order, tell."""
    told = Told()
    for event in events:
        told = take(told, event.kind, event.body)
    return told


def take(told: Told, kind: str, body: Mapping[str, Any]) -> Told:
    """What is known after one more event."""
    match kind:
        case "opened":
            return Told(opened=dict(body))
        case "heard" | "refused" | "silent":
            return _hear(told, kind, body)
        case "stage":
            return replace(told, stage_id=text(body.get("stage_id")))
        case "said":
            return _say(told, body)
        case "accepted" | "answered":
            return _accept(told, kind, body)
        case "doubted":
            return _mark(told, "unlikely", text(body.get("why")))
        case "decided":
            names = {text(body.get("step_id")): text(body.get("result"))}
            return replace(told, results={**told.results, **names})
        case "corrected":
            corrections = {text(body.get("text")): text(body.get("step_id"))}
            return replace(told, corrections={**told.corrections, **corrections})
        case "screw_plan":
            return replace(told, screws=_planned(body))
        case "done":
            return _do(told, text(body.get("step_id")))
        case "aim_decided":
            return replace(told, aim=dict(body))
        case "stopped":
            return replace(told, stopped_why=text(body.get("why")), screws=None)
        case "finished":
            return replace(told, finished=dict(body), prompt=None, answer=None)
        case _:
            return told


def _hear(told: Told, kind: str, body: Mapping[str, Any]) -> Told:
    """An event opens a new step: what was explained before it has been heard."""
    reason = text(body.get("reason")) if kind == "refused" else kind
    hearings = (*told.hearings, reason)[-HEARINGS_FOR_NOISE:]
    told = replace(told, explained="", hearings=hearings, answered_once=True)
    if kind == "silent":
        return replace(told, answer=Answer("nothing", ""))
    heard = words(body.get("words"))
    if kind == "refused":
        why = _WHY_REFUSED.get(reason, "")
        return replace(told, answer=Answer("not_understood", "", words=heard, why=why))
    meaning = mapping(body.get("meaning"))
    match meaning.get("kind"):
        case "number":
            answer = Answer("heard", number_shown(meaning), _title(told), heard)
        case "choice":
            answer = Answer("heard", heard, _title(told), heard)
        case "no" if told.answer is not None and told.answer.state == "said_back":
            answer = replace(told.answer, state="not_taken")
        case _:
            # A yes is shown by what it takes, which follows at once.
            answer = Answer("heard", heard, words=heard)
    return replace(told, answer=answer)


def number_shown(meaning: Mapping[str, Any]) -> str:
    """A heard number as it is written: "12 mm left"."""
    value, unit, way = (text(meaning.get(name)) for name in ("value", "unit", "direction"))
    turns = written_turns(value) if unit == "turns" else value
    return f"{turns}{_UNIT_SIGNS.get(unit, '')} {way}".strip()


def written_turns(value: str) -> str:
    """Turns in quarters: "2¾" for "2.75"; anything else as it stands."""
    whole, _, part = value.partition(".")
    quarter = {"": "", "0": "", "00": "", "25": "¼", "5": "½", "50": "½", "75": "¾"}.get(part)
    if quarter is None:
        return value
    return f"{whole if whole != '0' or not quarter else ''}{quarter}"


def _say(told: Told, body: Mapping[str, Any]) -> Told:
    said, purpose = text(body.get("text")), text(body.get("purpose"))
    if body.get("prompt_id") is None:
        if purpose == "explain":
            return replace(told, explained=f"{told.explained} {said}".strip())
        return told
    prompt = PromptShown(
        step_id=text(body.get("step_id")),
        purpose=purpose,
        mode=text(body.get("mode")),
        said=said,
        ask=text(body.get("ask")) or said,
    )
    told = replace(told, prompt=prompt)
    if purpose == "read_back" and told.answer is not None and told.answer.state == "heard":
        shown = told.answer.shown
        if not any(letter.isdigit() for letter in shown):
            shown = _without_question(written(said))
        return replace(told, answer=replace(told.answer, state="said_back", shown=shown))
    return told


def _without_question(said: str) -> str:
    return said.rpartition(". ")[0] or said


def _accept(told: Told, kind: str, body: Mapping[str, Any]) -> Told:
    shown = told.answer.shown if told.answer is not None else ""
    if kind == "accepted":
        meaning = {**body, "value": text(body.get("value")).lstrip("-")}
        shown = number_shown(meaning)
    else:
        spoken = told.prompt.said if told.prompt is not None else ""
        shown = _without_question(spoken) or text(body.get("choice")).replace("_", " ")
    return replace(told, answer=Answer("taken", shown, text(body.get("title"))))


def _mark(told: Told, state: AnswerState, why: str) -> Told:
    answer = told.answer or Answer(state, "")
    return replace(told, answer=replace(answer, state=state, why=written(why)))


def _planned(body: Mapping[str, Any]) -> Screws:
    steps = tuple(map(mapping, sequence(body.get("steps"))))
    return Screws("", int(number(body.get("round")) or 1), steps)


def _do(told: Told, step_id: str) -> Told:
    """A deed is done; where it was a screw's turn, the next one is due."""
    if told.screws is None or told.prompt is None or told.prompt.step_id != step_id:
        return told
    if _kind_of_step(told, step_id) != "aim":
        return told
    screws = replace(told.screws, done=told.screws.done + 1)
    return replace(told, screws=screws if screws.done < len(screws.steps) else None)


def _title(told: Told) -> str:
    """What the open prompt asks for, as the job file calls it."""
    return step_title(told, told.prompt.step_id) if told.prompt is not None else ""


def steps_of(told: Told) -> Iterable[tuple[Mapping[str, Any], Mapping[str, Any]]]:
    """Every stage and step of the job that the session began with."""
    for stage in map(mapping, sequence(mapping(told.opened.get("job")).get("stages"))):
        for step in map(mapping, sequence(stage.get("steps"))):
            yield stage, step


def step_title(told: Told, step_id: str) -> str:
    """The title of a step, or nothing where it has none."""
    found = (text(step.get("title")) for _, step in steps_of(told) if step.get("id") == step_id)
    return next(found, "")


def _kind_of_step(told: Told, step_id: str) -> str:
    found = (text(step.get("step")) for _, step in steps_of(told) if step.get("id") == step_id)
    return next(found, "")
