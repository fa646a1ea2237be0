"""The transition table: in this mode, on this kind of event, this is done.

The conversation's whole behaviour is this one dictionary; the diagram in the documentation is
drawn from it. What does not stand here for a mode is understood but no answer there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from enum import StrEnum
from typing import assert_never

from companion.dialogue import answering, checking_voice, commanding
from companion.dialogue.events import Event, Heard
from companion.dialogue.expected import is_expected
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import Transaction
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Refused, Silent
from companion.words.meanings import Choice, Command, Done, No, Number, Word, Yes

Handler = Callable[[Transaction, Event], None]


class Kind(StrEnum):
    """What an event is to the conversation."""

    OPENED = "opened"
    RESUMED = "resumed"
    NUMBER = "a number"
    CHOICE = "a choice"
    DONE = "done"
    WORD = "a word of the check"
    YES = "yes"
    NO = "no"
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


_COMMANDS = {
    "repeat": Kind.REPEAT,
    "wait": Kind.WAIT,
    "carry_on": Kind.CARRY_ON,
    "go_back": Kind.GO_BACK,
    "stop": Kind.STOP,
    "end_job": Kind.END_JOB,
    "what_can_i_say": Kind.HELP,
    "where_are_we": Kind.WHERE,
    "note": Kind.NOTE,
    "louder": Kind.VOICE,
    "quieter": Kind.VOICE,
    "slower": Kind.VOICE,
    "faster": Kind.VOICE,
}


def kind_of(event: Event, state: State) -> Kind:
    """The event's kind; an answer that belongs to another prompt than the open one is late."""
    match event:
        case Opened():
            return Kind.OPENED
        case Resumed():
            return Kind.RESUMED
        case Heard() | Refused() | Silent():
            if state.prompt is None or event.prompt_id != state.prompt.id:
                return Kind.LATE
            if isinstance(event, Refused):
                return Kind.REFUSED
            if isinstance(event, Silent):
                return Kind.SILENT
            if not is_expected(state.prompt.expectation, event.meaning):
                return Kind.UNEXPECTED
            return _kind_of_meaning(event)
        case _:
            assert_never(event)


def _kind_of_meaning(event: Heard) -> Kind:
    match event.meaning:
        case Number():
            return Kind.NUMBER
        case Choice():
            return Kind.CHOICE
        case Done():
            return Kind.DONE
        case Word():
            return Kind.WORD
        case Yes():
            return Kind.YES
        case No():
            return Kind.NO
        case Command(name):
            return _COMMANDS[name]
        case _:
            assert_never(event.meaning)


_ANYWHERE: dict[Kind, Handler] = {
    Kind.RESUMED: commanding.resume,
    Kind.REPEAT: commanding.say_again,
    Kind.STOP: commanding.stop,
    Kind.HELP: commanding.explain,
    Kind.WHERE: commanding.where,
    Kind.NOTE: commanding.begin_note,
    Kind.VOICE: commanding.change_voice,
    Kind.LATE: commanding.too_late,
}

_WORKING: dict[Kind, Handler] = _ANYWHERE | {
    Kind.NUMBER: answering.take_answer,
    Kind.CHOICE: answering.take_answer,
    Kind.WAIT: commanding.pause,
    Kind.GO_BACK: commanding.go_back,
    Kind.REFUSED: answering.no_match,
    Kind.SILENT: commanding.heard_nothing,
}

_RESTING: dict[Kind, Handler] = _ANYWHERE | {
    Kind.CARRY_ON: commanding.carry_on,
    Kind.REFUSED: commanding.missed_at_rest,
    Kind.SILENT: commanding.wait_on,
}

TRANSITIONS: Mapping[Mode, Mapping[Kind, Handler]] = {
    Mode.ASKING: _WORKING
    | {
        Kind.OPENED: commanding.open_job,
        Kind.DONE: answering.take_done,
    },
    Mode.CONFIRMING: _WORKING
    | {
        Kind.YES: answering.accept,
        Kind.NO: answering.reject,
    },
    Mode.TAKING_NOTE: {
        Kind.RESUMED: commanding.resume,
        Kind.STOP: commanding.stop,
        Kind.REFUSED: commanding.keep_note,
        Kind.SILENT: commanding.no_note,
        Kind.LATE: commanding.too_late,
    },
    Mode.PAUSED: _RESTING,
    Mode.STOPPED: _RESTING
    | {
        Kind.END_JOB: commanding.ask_to_end,
    },
    Mode.ENDING: _ANYWHERE
    | {
        Kind.YES: commanding.end,
        Kind.NO: commanding.stop,
        Kind.REFUSED: answering.no_match,
        Kind.SILENT: commanding.stop,
    },
    Mode.RESUMING: _ANYWHERE
    | {
        Kind.CHOICE: commanding.touched,
        Kind.YES: commanding.touched_confirmed,
        Kind.NO: commanding.touched_denied,
        Kind.REFUSED: answering.no_match,
        Kind.SILENT: commanding.wait_on,
    },
    Mode.CHECKING_VOICE: _ANYWHERE
    | {
        Kind.YES: checking_voice.start,
        Kind.NO: checking_voice.decline,
        Kind.WORD: checking_voice.take_word,
        Kind.REFUSED: checking_voice.missed,
        Kind.SILENT: checking_voice.heard_nothing,
        Kind.WAIT: commanding.pause,
        Kind.CARRY_ON: checking_voice.leave,
        Kind.STOP: checking_voice.stop,
    },
    Mode.CLOSED: {},
}


def handler_of(mode: Mode, kind: Kind) -> Handler | None:
    """What to do; None when a closed job is spoken to."""
    if mode is Mode.CLOSED:
        return None
    return TRANSITIONS[mode].get(kind, commanding.not_now)
