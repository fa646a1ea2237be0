"""How what is known is put on the screen: one instruction, one answer, one picture."""

from __future__ import annotations

import re

from companion.display.fold import Screws, Told
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
from companion.facts.opening import StepOutline

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
    "not_aimed": Instruction("Done.", "This job aimed nothing."),
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
        result=told.finished.result if told.finished is not None else "",
        noisy=sum(reason in _BY_NOISE for reason in told.hearings) >= REFUSALS_FOR_NOISE,
        example=told.opened.example,
        sound_stays=told.keeps_sound and not told.date_vouched,
        about=told.opened.vehicle_told.name,
        step_title=_step_title(told),
        companion_is_off=companion_is_off and condition not in ("no_job", "over"),
    )


def _condition(told: Told) -> Condition:
    if told.finished is not None:
        return "over"
    if told.prompt is None:
        return "no_job"
    if told.prompt.purpose == "instruct" and told.prompt.mode == "asking":
        return "doing"
    if told.prompt.purpose == "read_back":
        return "read_back"
    return _MODES.get(told.prompt.mode, "asking")


def _instruction(told: Told, condition: Condition) -> Instruction:
    if told.finished is not None:
        return _ENDS.get(told.finished.result, _ENDS["stopped"])
    if told.prompt is None:
        return Instruction("No job is running.")
    said, ask = told.prompt.said.strip(), told.prompt.ask.strip()
    before = said.removesuffix(ask).strip() if said != ask else ""
    if condition == "read_back":
        return Instruction(
            written(ask.removesuffix(YES_OR_NO).strip().rstrip(".")), reply="yes or no"
        )
    # The step whose own question stands open; at any other prompt there is none.
    step = told.open_step if told.prompt.mode == "asking" else None
    if step is not None and step.step == "reading":
        main, reply = _with_number(ask, step)
    else:
        resumes = told.prompt.mode == "resuming"
        asks = step is not None and step.step == "question"
        main, reply = _with_reply(ask, is_question=resumes or asks)
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


def _with_number(ask: str, step: StepOutline) -> tuple[str, str]:
    """What to read, and how to say it: "a number in mm, left or right"."""
    found = _UNIT_AT_END.search(ask)
    told_ways = (found and found["ways"]) or " or ".join(step.number.directions)
    main = ask[: found.start()] + "." if found else ask
    reply = f"a number in {_UNIT_NAMES.get(step.unit, step.unit)}"
    return main, f"{reply}, {told_ways}" if told_ways else reply


def _step_title(told: Told) -> str:
    if told.prompt is not None and told.prompt.mode == "checking_voice":
        return "Voice check"
    return told.open_step.title if told.open_step is not None else ""


def _stages(told: Told) -> tuple[StageMark, ...]:
    stages = told.job.stages
    ids = [stage.id for stage in stages]
    now = ids.index(told.stage_id) if told.stage_id in ids else -1
    if told.finished is not None and told.finished.result != "stopped":
        now = len(ids)
    return tuple(
        StageMark(
            place + 1,
            stage.title,
            "done" if place < now else "now" if place == now else "to_do",
        )
        for place, stage in enumerate(stages)
    )


def _picture(told: Told, condition: Condition) -> Picture | None:
    if condition == "over" or _is_at(told, "finish"):
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
    if told.screws is not None and _is_at(told, "aim"):
        return _screw_round(told, told.screws)
    return None


def _is_at(told: Told, kind: str) -> bool:
    """Whether the open prompt belongs to a step of this kind."""
    return told.open_step is not None and told.open_step.step == kind


def _cautions(told: Told) -> Cautions | None:
    lines = tuple(caution.say for caution in told.job.cautions)
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


def _screw_round(told: Told, screws: Screws) -> ScrewRound | None:
    names = told.opened.screw_names
    turns = tuple(
        ScrewTurn(
            names.get(step.screw_id) or step.screw_id.replace("_", " "),
            -step.turns if step.direction == "anticlockwise" else step.turns,
            "done" if place < screws.done else "now" if place == screws.done else "to_do",
        )
        for place, step in enumerate(screws.plan.steps)
    )
    return ScrewRound(screws.plan.round, turns) if turns else None


def _aim(told: Told) -> AimShown | None:
    """The aim as it was found last, or as the job ended."""
    if told.aim is None:
        return None
    yaw, elevation = told.aim.yaw, told.aim.elevation
    limits = yaw.tolerance, elevation.tolerance
    if told.finished is not None:
        if told.finished.yaw is None or told.finished.elevation is None:
            return None
        yaw, elevation = told.finished.yaw, told.finished.elevation
    if limits[0] is None or limits[1] is None or yaw.value is None:
        return None
    return AimShown(yaw.quantity, elevation.quantity, limits[0], limits[1])
