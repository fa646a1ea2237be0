"""How what is known is put on the screen: one instruction, one answer, one picture.

All of it is taken from the facts. No sentence is read: an arrow that was read out of a sentence
could point the wrong way.
"""

from __future__ import annotations

from decimal import Decimal

from companion.display.fold import PromptShown, Told, said_back_shown
from companion.display.moment import (
    AimShown,
    Cautions,
    Condition,
    Instruction,
    InstrumentShown,
    InstrumentsShown,
    Moment,
    Picture,
    ScrewRound,
    ScrewTurn,
    StageMark,
    StandMove,
)
from companion.facts import instructions
from companion.facts.practice import BayShows
from companion.facts.prompting import NumberWanted
from companion.facts.shown import NO_SHOWS, Card, Shows
from companion.language.words import Words
from companion.record.store_word import LastWord

REFUSALS_FOR_NOISE = 3
_BOTH = 2
_BY_NOISE = frozenset({"unsure", "too_loud", "clipped", "silence"})
_MODES: dict[str, Condition] = {
    "confirming": "read_back",
    "taking_note": "note",
    "paused": "paused",
    "stopped": "stopped",
    "ending": "ending",
    "resuming": "resuming",
    "going_back": "resuming",
}
_ENDS = ("inside", "tool_inside", "not_aimed", "stopped")


def look(
    told: Told,
    *,
    companion_is_off: bool = False,
    shows: Shows = NO_SHOWS,
    store: LastWord | None = None,
) -> Moment:
    """What the screen shows of this. `companion_is_off`: nothing writes into the record now.

    `shows`: the kinds of step that have something to show while they are asked. `store`: what the
    store of many boxes said last; shown where no job is going on.
    """
    condition = _condition(told)
    return Moment(
        condition=condition,
        instruction=_instruction(told, condition),
        stages=_stages(told),
        answer=told.answer,
        picture=_picture(told, condition, shows),
        result=told.finished.result if told.finished is not None else "",
        noisy=sum(reason in _BY_NOISE for reason in told.hearings) >= REFUSALS_FOR_NOISE,
        example=told.opened.example,
        sound_stays=told.keeps_sound and not told.date_vouched,
        car_stays=bool(told.opened.visit) and not told.date_vouched,
        about=told.opened.vehicle_told.name,
        step_title=_step_title(told),
        language=told.opened.language,
        companion_is_off=companion_is_off and condition not in ("no_job", "over"),
        store_told=_store_told(told.words, store) if condition in ("no_job", "over") else "",
    )


def _store_told(words: Words, store: LastWord | None) -> str:
    if store is not None and store.refused:
        return words("screen-store-refused", what=store.what)
    return words("screen-store-files") if store is not None and store.files_told else ""


def _condition(told: Told) -> Condition:
    if told.finished is not None:
        return "over"
    if told.prompt is None:
        return "no_job"
    if told.prompt.asks.answer == "done" and told.prompt.mode == "asking":
        return "doing"
    if told.prompt.asks.to_confirm:
        return "read_back"
    return _MODES.get(told.prompt.mode, "asking")


def _instruction(told: Told, condition: Condition) -> Instruction:
    words = told.words
    if told.finished is not None:
        result = told.finished.result
        drift = [words(f"drift-{part}") for part in told.drifted if words.has(f"drift-{part}")]
        own = told.opened.ending_said(result)
        if result not in _ENDS and own:
            return Instruction(words("screen-end-not_aimed"), " ".join([own, *drift]))
        result = result if result in _ENDS else "stopped"
        means = words(f"screen-end-{result}-means")
        return Instruction(words(f"screen-end-{result}"), " ".join([means, *drift]))
    if told.prompt is None:
        return Instruction(words("screen-no-job"))
    prompt = told.prompt
    reply = _reply(words, prompt)
    if prompt.asks.to_confirm:
        shown = said_back_shown(words, *prompt.asks.to_confirm)
        behind = words("screen-if-yes", next=prompt.behind) if prompt.behind else ""
        return Instruction(shown, behind, reply)
    return Instruction(prompt.ask, f"{told.explained} {prompt.before}".strip(), reply)


def _reply(words: Words, prompt: PromptShown) -> str:
    """How to answer: as the job says it, else by the kind of answer that is awaited."""
    asks = prompt.asks
    match asks.answer:
        case "done":
            return words("screen-reply-done")
        case "yes_no" if asks.together:
            return prompt.reply
        case "yes_no":
            return words("screen-reply-yes-or-no")
        case "word":
            return asks.word
        case "command":
            said = [
                words(id_) for name in asks.commands if words.has(id_ := f"screen-reply-{name}")
            ]
            if len(said) == _BOTH:
                return words("screen-reply-both", first=said[0], second=said[1])
            return "".join(said)
        case "number" if not prompt.reply and asks.number is not None:
            return _number_wanted(words, asks.number)
        case _:
            return prompt.reply


def _number_wanted(words: Words, number: NumberWanted) -> str:
    named = f"screen-unit-{number.unit}"
    unit = words(named) if words.has(named) else number.unit
    if not number.directions:
        return words("screen-reply-number", unit=unit)
    ways = tuple(words.language.speaker.direction_word(way) for way in number.directions)
    return words("screen-reply-number-with-way", unit=unit, ways=ways)


def _step_title(told: Told) -> str:
    if told.prompt is not None and told.prompt.mode == "checking_voice":
        return told.words("screen-voice-check")
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


def _picture(told: Told, condition: Condition, shows: Shows) -> Picture | None:
    if condition == "over" or _is_at(told, "finish"):
        return _aim(told)
    if told.prompt is None or condition in ("paused", "stopped", "ending", "resuming", "note"):
        return None
    if not told.answered_once:
        return _cautions(told)
    if shown := _in_practice(told, told.prompt):
        return shown
    match told.prompt.asks.instruction:
        case instructions.MoveStand(quantity, way, amount, unit) if quantity is not None:
            return StandMove(quantity, way, told.words.amount(format(amount, "f"), unit, ""))
        case instructions.TurnScrew() as turn:
            return _screw_round(told, turn)
        case _:
            return _card(told, shows)


def _in_practice(told: Told, prompt: PromptShown) -> InstrumentsShown | Card | None:
    """What the simulated bay shows of what is asked for, or was and is said back now."""
    words = told.words
    asked = (prompt.step_id, *prompt.asks.also)
    said_back = tuple(each.step_id for each in prompt.asks.to_confirm if each.step_id)
    shows = [told.bay_shows[name] for name in said_back or asked if name in told.bay_shows]
    choices = [
        words("picture-in-this-bay", title=one.title, answer=words.choice(one.choice))
        for one in shows
        if one.value is None
    ]
    if choices:
        return Card(words("picture-in-practice"), tuple(choices))
    return InstrumentsShown(tuple(map(instrument_of, shows))) if shows else None


def instrument_of(shows: BayShows) -> InstrumentShown:
    """The instrument of the simulated bay as it is drawn; only where it has a reading."""
    return InstrumentShown(
        shows.title,
        Decimal(shows.value or "0"),
        shows.unit,
        Decimal(shows.resolution),
        shows.directions,
        shows.direction,
    )


def _card(told: Told, shows: Shows) -> Card | None:
    """What the open step's kind shows of it."""
    step = told.open_step
    if step is None or step.step not in shows:
        return None
    file = told.opened.step_file(step.id)
    return shows[step.step].card(file) if file is not None else None


def _is_at(told: Told, kind: str) -> bool:
    """Whether the open prompt belongs to a step of this kind."""
    return told.open_step is not None and told.open_step.step == kind


def _cautions(told: Told) -> Cautions | None:
    lines = tuple(caution.say for caution in told.job.cautions)
    return Cautions(lines) if lines else None


def _screw_round(told: Told, due: instructions.TurnScrew) -> ScrewRound:
    """The round that this turn belongs to, or the turn alone where it belongs to none."""
    names = told.opened.screw_names

    def named(screw_id: str) -> str:
        return names.get(screw_id) or screw_id.replace("_", " ")

    screws = told.screws
    if screws is None or screws.now != (due.screw_id, due.clockwise_turns):
        return ScrewRound(None, (ScrewTurn(named(due.screw_id), due.clockwise_turns, "now"),))
    turns = tuple(
        ScrewTurn(
            named(screw_id),
            clockwise_turns,
            "done" if place < screws.done else "now" if place == screws.done else "to_do",
        )
        for place, (screw_id, clockwise_turns) in enumerate(screws.turns)
    )
    return ScrewRound(screws.plan.round, turns)


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
