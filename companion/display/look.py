"""How what is known is put on the screen: one instruction, one answer, one picture."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from companion.display.fold import Told, step_title, steps_of
from companion.display.moment import (
    AimShown,
    Cautions,
    Condition,
    Instruction,
    Moment,
    MoveKind,
    MoveWay,
    Picture,
    ScrewRound,
    ScrewTurn,
    StageMark,
    StandMove,
)
from companion.display.written import written
from companion.facts.plain import number
from companion.review.values import mapping, quantity, sequence, text
from companion.review.wording import turns_of

REFUSALS_FOR_NOISE = 3
_BY_NOISE = frozenset({"unsure", "too_loud", "clipped", "silence"})
_MODES: dict[str, Condition] = {
    "confirming": "read_back",
    "taking_note": "note",
    "paused": "paused",
    "stopped": "stopped",
    "ending": "ending",
    "resuming": "resuming",
}
_KINDS: dict[str, MoveKind] = {
    "stand_turn_deg": "turn",
    "stand_offset_left_mm": "sideways",
    "distance_error_mm": "distance",
    "height_error_mm": "height",
    "level_mm_per_m": "level",
    "plumb_mm_per_m": "plumb",
}
_WAYS: tuple[tuple[str, MoveWay], ...] = (
    ("towards", "towards"),
    ("away", "away"),
    ("to the left", "left"),
    ("to the right", "right"),
    ("up", "up"),
    ("down", "down"),
)
_AMOUNT = re.compile(r"\d[\d.]*(?:°|\u00a0[a-z/]+)")
_UNIT_AT_END = re.compile(
    r", (?:millimetres per metre|millimetres|degrees|volts|decibels)(?:, (?P<ways>.+?))?[.?]$"
)
_UNIT_NAMES = {
    "deg": "degrees",
    "mm": "mm",
    "db": "dB",
    "volt": "volts",
    "celsius": "°C",
    "mm_per_m": "mm per m",
    "bar": "bar",
    "turns": "turns",
}
_SAY = re.compile(r"^Say (?P<what>.+?)\.?$")
YES_OR_NO = "Yes or no?"
_ENDS = {
    "inside": Instruction(
        "Inside.",
        "Inside the entered limits, with the entered uncertainties. "
        "It does not say that the driver assistance is safe.",
    ),
    "tool_inside": Instruction(
        "The scan tool says inside.", "The companion did not measure the aim itself."
    ),
    "stopped": Instruction("Ended without a result.", "The record is kept."),
}


def look(told: Told, *, companion_is_off: bool = False) -> Moment:
    """What the screen shows of this. `companion_is_off`: nothing writes into the record now."""
    condition = _condition(told)
    return Moment(
        condition=condition,
        instruction=_instruction(told, condition),
        stages=_stages(told),
        answer=told.answer,
        picture=_picture(told, condition),
        result=text(told.finished.get("result")),
        noisy=sum(reason in _BY_NOISE for reason in told.hearings) >= REFUSALS_FOR_NOISE,
        example=told.opened.get("example") is True,
        about=text(mapping(told.opened.get("vehicle")).get("name")),
        step_title=_step_title(told),
        companion_is_off=companion_is_off and condition not in ("no_job", "over"),
    )


def _condition(told: Told) -> Condition:
    if told.finished:
        return "over"
    if told.prompt is None:
        return "no_job"
    if told.prompt.purpose == "instruct" and told.prompt.mode == "asking":
        return "doing"
    if told.prompt.purpose == "read_back":
        return "read_back"
    return _MODES.get(told.prompt.mode, "asking")


def _instruction(told: Told, condition: Condition) -> Instruction:
    if condition == "over":
        return _ENDS.get(text(told.finished.get("result")), _ENDS["stopped"])
    if told.prompt is None:
        return Instruction("No job is running.")
    said, ask = told.prompt.said.strip(), told.prompt.ask.strip()
    before = said.removesuffix(ask).strip() if said != ask else ""
    if condition == "read_back":
        return Instruction(
            written(ask.removesuffix(YES_OR_NO).strip().rstrip(".")), reply="yes or no"
        )
    step = _asked_step(told)
    if step.get("step") == "reading":
        main, reply = _with_number(ask, step)
    else:
        resumes = told.prompt.mode == "resuming"
        main, reply = _with_reply(ask, is_question=resumes or step.get("step") == "question")
    explained = f"{told.explained} {before}".strip()
    return Instruction(written(main), written(explained), reply)


def _with_reply(ask: str, *, is_question: bool) -> tuple[str, str]:
    """The instruction and the words that answer it: "Say done." asks for "done"."""
    sentences = _sentences(ask)
    last = sentences[-1] if sentences else ""
    match = _SAY.match(last)
    if len(sentences) > 1 and match:
        return " ".join(sentences[:-1]), match["what"]
    if len(sentences) > 1 and last == YES_OR_NO:
        return " ".join(sentences[:-1]), "yes or no"
    if len(sentences) > 1 and is_question:
        choices = last.rstrip(".?")
        return " ".join(sentences[:-1]), choices[:1].lower() + choices[1:]
    return ask, ""


def _sentences(said: str) -> list[str]:
    return [part for part in re.split(r"(?<=[.?!]) (?=[A-Z])", said) if part]


def _with_number(ask: str, step: Mapping[str, Any]) -> tuple[str, str]:
    """What to read, and how to say it: "a number in mm, left or right"."""
    found = _UNIT_AT_END.search(ask)
    ways = sequence(mapping(step.get("number")).get("directions"))
    told_ways = (found and found["ways"]) or " or ".join(map(text, ways))
    main = ask[: found.start()] + "." if found else ask
    unit = text(step.get("unit"))
    reply = f"a number in {_UNIT_NAMES.get(unit, unit)}"
    return main, f"{reply}, {told_ways}" if told_ways else reply


def _asked_step(told: Told) -> Mapping[str, Any]:
    """The step of the job whose own question stands open; empty at any other prompt."""
    if told.prompt is None or told.prompt.mode != "asking":
        return {}
    wanted = told.prompt.step_id
    return next((step for _, step in steps_of(told) if step.get("id") == wanted), {})


def _step_title(told: Told) -> str:
    return step_title(told, told.prompt.step_id) if told.prompt is not None else ""


def _stages(told: Told) -> tuple[StageMark, ...]:
    stages = [mapping(s) for s in sequence(mapping(told.opened.get("job")).get("stages"))]
    ids = [text(stage.get("id")) for stage in stages]
    now = ids.index(told.stage_id) if told.stage_id in ids else -1
    if told.finished and text(told.finished.get("result")) != "stopped":
        now = len(ids)
    return tuple(
        StageMark(
            place + 1,
            text(stage.get("title")),
            "done" if place < now else "now" if place == now else "to_do",
        )
        for place, stage in enumerate(stages)
    )


def _picture(told: Told, condition: Condition) -> Picture | None:
    if condition == "over" or _is_sign_off(told):
        return _aim(told)
    if told.prompt is None or condition in ("paused", "stopped", "ending", "resuming", "note"):
        return None
    if not told.answered_once:
        return _cautions(told)
    if told.prompt.purpose == "read_back":
        return None
    for said, step_id in told.corrections.items():
        if told.prompt.ask == said:
            return _move(told, said, step_id)
    if told.screws is not None and _asks_for_a_screw(told):
        return _screw_round(told)
    return None


def _is_sign_off(told: Told) -> bool:
    wanted = told.prompt.step_id if told.prompt is not None else None
    return any(s.get("id") == wanted and s.get("step") == "finish" for _, s in steps_of(told))


def _asks_for_a_screw(told: Told) -> bool:
    assert told.prompt is not None  # noqa: S101  -- only asked with a prompt open
    wanted = told.prompt.step_id
    return any(s.get("id") == wanted and s.get("step") == "aim" for _, s in steps_of(told))


def _cautions(told: Told) -> Cautions | None:
    job = mapping(told.opened.get("job"))
    lines = tuple(text(mapping(c).get("say")) for c in sequence(job.get("cautions")))
    return Cautions(lines) if lines else None


def _move(told: Told, said: str, step_id: str) -> StandMove | None:
    """The move in the figures and the way that the sentence itself says; None for no picture."""
    kind = _KINDS.get(told.results.get(step_id, ""))
    figures = written(said)
    amount = _AMOUNT.search(figures)
    way = next((way for words, way in _WAYS if re.search(rf"\b{words}\b", figures)), None)
    if kind is None or amount is None or way is None:
        return None
    return StandMove(kind, way, amount[0])


def _screw_round(told: Told) -> ScrewRound | None:
    assert told.screws is not None  # noqa: S101  -- only called with screws due
    screws = map(mapping, sequence(mapping(told.opened.get("mount")).get("screws")))
    names = {text(s.get("id")): text(s.get("name")) for s in screws}
    turns = []
    for place, step in enumerate(told.screws.steps):
        amount = abs(turns_of(step.get("turns")))
        screw_id = text(step.get("screw_id"))
        turns.append(
            ScrewTurn(
                names.get(screw_id) or screw_id.replace("_", " "),
                -amount if step.get("direction") == "anticlockwise" else amount,
                "done"
                if place < told.screws.done
                else "now"
                if place == told.screws.done
                else "to_do",
            )
        )
    return ScrewRound(told.screws.round_number, tuple(turns)) if turns else None


def _aim(told: Told) -> AimShown | None:
    yaw, elevation = mapping(told.aim.get("yaw")), mapping(told.aim.get("elevation"))
    limits = number(yaw.get("tolerance")), number(elevation.get("tolerance"))
    if told.finished:
        if not mapping(told.finished.get("yaw")):
            return None
        yaw = {**yaw, **mapping(told.finished.get("yaw"))}
        elevation = {**elevation, **mapping(told.finished.get("elevation"))}
    if limits[0] is None or limits[1] is None or number(yaw.get("value")) is None:
        return None
    return AimShown(quantity(yaw, "deg"), quantity(elevation, "deg"), limits[0], limits[1])
