"""The transition table: in this mode, on this kind of event, this handler, then these modes.

The conversation's whole behaviour is this one dictionary. The diagram in the documentation is drawn
from it, and random conversations hold every handler to the modes that stand behind it. What does
not stand here for a mode is understood but no answer there: `NOT_NOW`, which stays.

An event's kind says what it carries (`CARRIES`), and its handler takes just that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, assert_never

from companion.dialogue import answering, checking_voice, commanding
from companion.dialogue.events import Event
from companion.dialogue.expected import is_expected
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import Transaction
from companion.facts.meanings import (
    Choice,
    Command,
    Confirmed,
    Done,
    Meaning,
    Mended,
    No,
    Number,
    Pair,
    Unconfirmed,
    Word,
    Yes,
)
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, Refused, Silent

Handler = Callable[[Transaction, Any], None]


@dataclass(frozen=True, init=False)
class Then:
    """What is done, and the modes that this may lead to."""

    handler: Handler
    next_modes: tuple[Mode, ...]

    def __init__(self, handler: Handler, *next_modes: Mode) -> None:
        object.__setattr__(self, "handler", handler)
        object.__setattr__(self, "next_modes", next_modes)


class EventKind(StrEnum):
    """What an event is to the conversation."""

    OPENED = "opened"
    RESUMED = "resumed"
    NUMBER = "a number"
    PAIR = "two numbers"
    CHOICE = "a choice"
    DONE = "done"
    MENDED = "one of several mended"
    WORD = "a word of the check"
    YES = "yes"
    NO = "no"
    CONFIRMED = "yes and the next answer"
    UNCONFIRMED = "the next answer without a yes"
    REPEAT = "repeat"
    WAIT = "wait"
    CARRY_ON = "carry on"
    GO_BACK = "go back"
    STOP = "stop"
    END_JOB = "end the job"
    HELP = "what can I say"
    WHERE = "where are we"
    NOTE = "note"
    VOICE = "louder, quieter, slower, faster"
    REFUSED = "not understood"
    SILENT = "silence"
    LATE = "an answer to an earlier prompt"
    UNEXPECTED = "an answer of another kind"


COMMANDS: Mapping[str, EventKind] = {
    "repeat": EventKind.REPEAT,
    "wait": EventKind.WAIT,
    "carry_on": EventKind.CARRY_ON,
    "go_back": EventKind.GO_BACK,
    "stop": EventKind.STOP,
    "end_job": EventKind.END_JOB,
    "what_can_i_say": EventKind.HELP,
    "where_are_we": EventKind.WHERE,
    "note": EventKind.NOTE,
    "louder": EventKind.VOICE,
    "quieter": EventKind.VOICE,
    "slower": EventKind.VOICE,
    "faster": EventKind.VOICE,
}

CARRIES: Mapping[EventKind, object] = {
    EventKind.OPENED: Opened,
    EventKind.RESUMED: Resumed,
    EventKind.NUMBER: Heard[Number],
    EventKind.PAIR: Heard[Pair],
    EventKind.CHOICE: Heard[Choice],
    EventKind.DONE: Heard[Done],
    EventKind.MENDED: Heard[Mended],
    EventKind.WORD: Heard[Word],
    EventKind.YES: Heard[Yes],
    EventKind.NO: Heard[No],
    EventKind.CONFIRMED: Heard[Confirmed],
    EventKind.UNCONFIRMED: Heard[Unconfirmed],
    **dict.fromkeys(COMMANDS.values(), Heard[Command]),
    EventKind.REFUSED: Refused,
    EventKind.SILENT: Silent,
    EventKind.LATE: Heard[Meaning] | Refused | Silent,
    EventKind.UNEXPECTED: Heard[Meaning],
}

TRANSITIONS: Mapping[Mode, Mapping[EventKind, Then]] = {
    Mode.ASKING: {
        EventKind.OPENED: Then(commanding.open_job, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE),
        EventKind.RESUMED: Then(commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED),
        EventKind.NUMBER: Then(answering.take_answer, Mode.CONFIRMING, Mode.ASKING),
        EventKind.PAIR: Then(answering.take_pair, Mode.CONFIRMING, Mode.ASKING),
        EventKind.CHOICE: Then(answering.take_answer, Mode.CONFIRMING),
        EventKind.DONE: Then(answering.take_done, Mode.ASKING, Mode.STOPPED, Mode.CLOSED),
        EventKind.YES: Then(answering.take_proposed, Mode.ASKING, Mode.STOPPED, Mode.CONFIRMING),
        EventKind.NO: Then(answering.ask_in_full, Mode.ASKING),
        EventKind.REPEAT: Then(commanding.say_again, Mode.ASKING),
        EventKind.WAIT: Then(commanding.pause, Mode.PAUSED),
        EventKind.GO_BACK: Then(commanding.go_back, Mode.ASKING, Mode.STOPPED, Mode.GOING_BACK),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.ASKING),
        EventKind.WHERE: Then(commanding.where, Mode.ASKING),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.ASKING),
        EventKind.VOICE: Then(commanding.change_voice, Mode.ASKING),
        EventKind.REFUSED: Then(answering.no_match, Mode.ASKING),
        EventKind.SILENT: Then(commanding.heard_nothing, Mode.ASKING, Mode.PAUSED),
        EventKind.LATE: Then(commanding.too_late, Mode.ASKING),
    },
    Mode.CONFIRMING: {
        EventKind.RESUMED: Then(commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED),
        EventKind.NUMBER: Then(answering.take_answer, Mode.CONFIRMING, Mode.ASKING),
        EventKind.CHOICE: Then(answering.take_answer, Mode.CONFIRMING),
        EventKind.MENDED: Then(answering.mend, Mode.CONFIRMING),
        EventKind.YES: Then(answering.accept, Mode.ASKING, Mode.STOPPED, Mode.CONFIRMING),
        EventKind.NO: Then(answering.reject, Mode.ASKING, Mode.CONFIRMING),
        EventKind.CONFIRMED: Then(
            answering.accept_and_take, Mode.CONFIRMING, Mode.ASKING, Mode.STOPPED
        ),
        EventKind.UNCONFIRMED: Then(answering.ask_for_yes, Mode.CONFIRMING),
        EventKind.REPEAT: Then(commanding.say_again, Mode.CONFIRMING),
        EventKind.WAIT: Then(commanding.pause, Mode.PAUSED),
        EventKind.GO_BACK: Then(commanding.drop_answer, Mode.ASKING),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.CONFIRMING),
        EventKind.WHERE: Then(commanding.where, Mode.CONFIRMING),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.CONFIRMING),
        EventKind.VOICE: Then(commanding.change_voice, Mode.CONFIRMING),
        EventKind.REFUSED: Then(answering.no_match, Mode.CONFIRMING),
        EventKind.SILENT: Then(commanding.heard_nothing, Mode.CONFIRMING, Mode.PAUSED),
        EventKind.LATE: Then(commanding.too_late, Mode.CONFIRMING),
    },
    Mode.TAKING_NOTE: {
        EventKind.RESUMED: Then(
            commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE
        ),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.REFUSED: Then(
            commanding.keep_note,
            Mode.ASKING,
            Mode.CONFIRMING,
            Mode.STOPPED,
            Mode.PAUSED,
            Mode.CHECKING_VOICE,
        ),
        EventKind.SILENT: Then(
            commanding.no_note,
            Mode.ASKING,
            Mode.CONFIRMING,
            Mode.STOPPED,
            Mode.PAUSED,
            Mode.CHECKING_VOICE,
        ),
        EventKind.LATE: Then(commanding.too_late, Mode.TAKING_NOTE),
    },
    Mode.PAUSED: {
        EventKind.RESUMED: Then(
            commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE
        ),
        EventKind.CARRY_ON: Then(
            commanding.carry_on, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE, Mode.RESUMING
        ),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.REPEAT: Then(commanding.say_again, Mode.PAUSED),
        EventKind.HELP: Then(commanding.explain, Mode.PAUSED),
        EventKind.WHERE: Then(commanding.where, Mode.PAUSED),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.PAUSED),
        EventKind.REFUSED: Then(commanding.no_match_at_rest, Mode.PAUSED),
        EventKind.SILENT: Then(commanding.wait_on, Mode.PAUSED),
        EventKind.LATE: Then(commanding.too_late, Mode.PAUSED),
    },
    Mode.STOPPED: {
        EventKind.RESUMED: Then(
            commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE
        ),
        EventKind.CARRY_ON: Then(
            commanding.carry_on, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE, Mode.RESUMING
        ),
        EventKind.END_JOB: Then(commanding.ask_to_end, Mode.ENDING),
        EventKind.REPEAT: Then(commanding.say_again, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.STOPPED),
        EventKind.WHERE: Then(commanding.where, Mode.STOPPED),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.STOPPED),
        EventKind.REFUSED: Then(commanding.no_match_at_rest, Mode.STOPPED),
        EventKind.SILENT: Then(commanding.wait_on, Mode.STOPPED),
        EventKind.LATE: Then(commanding.too_late, Mode.STOPPED),
    },
    Mode.ENDING: {
        EventKind.RESUMED: Then(
            commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED, Mode.CHECKING_VOICE
        ),
        EventKind.YES: Then(commanding.end, Mode.CLOSED),
        EventKind.NO: Then(commanding.stop, Mode.STOPPED),
        EventKind.REPEAT: Then(commanding.say_again, Mode.ENDING),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.ENDING),
        EventKind.WHERE: Then(commanding.where, Mode.ENDING),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.ENDING),
        EventKind.VOICE: Then(commanding.change_voice, Mode.ENDING),
        EventKind.REFUSED: Then(answering.no_match, Mode.ENDING),
        EventKind.SILENT: Then(commanding.stop, Mode.STOPPED),
        EventKind.LATE: Then(commanding.too_late, Mode.ENDING),
    },
    Mode.RESUMING: {
        EventKind.RESUMED: Then(commanding.resume, Mode.RESUMING),
        EventKind.CHOICE: Then(commanding.touched, Mode.RESUMING),
        EventKind.YES: Then(commanding.touched_confirmed, Mode.ASKING, Mode.STOPPED, Mode.RESUMING),
        EventKind.NO: Then(commanding.touched_denied, Mode.RESUMING),
        EventKind.REPEAT: Then(commanding.say_again, Mode.RESUMING),
        EventKind.WAIT: Then(commanding.pause, Mode.PAUSED),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.RESUMING),
        EventKind.WHERE: Then(commanding.where, Mode.RESUMING),
        EventKind.VOICE: Then(commanding.change_voice, Mode.RESUMING),
        EventKind.REFUSED: Then(answering.no_match, Mode.RESUMING),
        EventKind.SILENT: Then(commanding.wait_on, Mode.RESUMING),
        EventKind.LATE: Then(commanding.too_late, Mode.RESUMING),
    },
    Mode.GOING_BACK: {
        EventKind.RESUMED: Then(commanding.resume, Mode.RESUMING, Mode.ASKING, Mode.STOPPED),
        EventKind.CHOICE: Then(commanding.begun, Mode.GOING_BACK),
        EventKind.YES: Then(commanding.begun_confirmed, Mode.ASKING, Mode.STOPPED, Mode.GOING_BACK),
        EventKind.NO: Then(commanding.begun_denied, Mode.GOING_BACK),
        EventKind.REPEAT: Then(commanding.say_again, Mode.GOING_BACK),
        EventKind.WAIT: Then(commanding.pause, Mode.PAUSED),
        EventKind.STOP: Then(commanding.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.GOING_BACK),
        EventKind.WHERE: Then(commanding.where, Mode.GOING_BACK),
        EventKind.VOICE: Then(commanding.change_voice, Mode.GOING_BACK),
        EventKind.REFUSED: Then(answering.no_match, Mode.GOING_BACK),
        EventKind.SILENT: Then(commanding.wait_on, Mode.GOING_BACK),
        EventKind.LATE: Then(commanding.too_late, Mode.GOING_BACK),
    },
    Mode.CHECKING_VOICE: {
        EventKind.RESUMED: Then(commanding.resume, Mode.CHECKING_VOICE),
        EventKind.YES: Then(checking_voice.start, Mode.CHECKING_VOICE),
        EventKind.NO: Then(checking_voice.decline, Mode.ASKING),
        EventKind.WORD: Then(checking_voice.take_word, Mode.CHECKING_VOICE, Mode.ASKING),
        EventKind.REPEAT: Then(commanding.say_again, Mode.CHECKING_VOICE),
        EventKind.WAIT: Then(commanding.pause, Mode.PAUSED),
        EventKind.CARRY_ON: Then(checking_voice.leave, Mode.ASKING),
        EventKind.STOP: Then(checking_voice.stop, Mode.STOPPED),
        EventKind.HELP: Then(commanding.explain, Mode.CHECKING_VOICE),
        EventKind.WHERE: Then(commanding.where, Mode.CHECKING_VOICE),
        EventKind.NOTE: Then(commanding.begin_note, Mode.TAKING_NOTE, Mode.CHECKING_VOICE),
        EventKind.VOICE: Then(commanding.change_voice, Mode.CHECKING_VOICE),
        EventKind.REFUSED: Then(checking_voice.no_match, Mode.CHECKING_VOICE, Mode.ASKING),
        EventKind.SILENT: Then(checking_voice.heard_nothing, Mode.CHECKING_VOICE, Mode.ASKING),
        EventKind.LATE: Then(commanding.too_late, Mode.CHECKING_VOICE),
    },
    Mode.CLOSED: {},
}


def then(mode: Mode, kind: EventKind) -> Then | None:
    """What to do; None when a closed job is spoken to."""
    if mode is Mode.CLOSED:
        return None
    return TRANSITIONS[mode].get(kind, Then(commanding.not_now, mode))


def kind_of(event: Event, state: State) -> EventKind:
    """The event's kind; an answer that belongs to another prompt than the open one is late."""
    match event:
        case Opened():
            return EventKind.OPENED
        case Resumed():
            return EventKind.RESUMED
        case Heard() | Refused() | Silent():
            if state.prompt is None or event.prompt_id != state.prompt.id:
                return EventKind.LATE
            if isinstance(event, Refused):
                return EventKind.REFUSED
            if isinstance(event, Silent):
                return EventKind.SILENT
            if not is_expected(state.prompt.expectation, event.meaning):
                return EventKind.UNEXPECTED
            return _kind_of_meaning(event.meaning)
        case _:
            assert_never(event)


def _kind_of_meaning(meaning: Meaning) -> EventKind:
    match meaning:
        case Number():
            return EventKind.NUMBER
        case Pair():
            return EventKind.PAIR
        case Choice():
            return EventKind.CHOICE
        case Done():
            return EventKind.DONE
        case Mended():
            return EventKind.MENDED
        case Word():
            return EventKind.WORD
        case Yes():
            return EventKind.YES
        case No():
            return EventKind.NO
        case Confirmed():
            return EventKind.CONFIRMED
        case Unconfirmed():
            return EventKind.UNCONFIRMED
        case Command(name):
            return COMMANDS[name]
        case _:
            assert_never(meaning)
