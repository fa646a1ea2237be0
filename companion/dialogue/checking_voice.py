"""What an answer does in the voice check. Any answer that is not by voice leaves it."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue import commanding, prompts
from companion.dialogue.events import Event, Heard
from companion.dialogue.state import VoiceCheck, WordHeard
from companion.dialogue.turn import Turn
from companion.dialogue.voice_check import (
    ask_voice,
    next_word,
    record_unfinished,
    tell_judged,
    word_heard,
)
from companion.dialogue.walking import walk_on
from companion.facts.talking import Refused
from companion.words.meanings import Word

BY_HAND = frozenset({"typed", "pedal"})
"""What the ears call themselves where nobody spoke."""
SILENCES_BEFORE_LEAVING = 2


def start(turn: Turn, event: Event) -> None:
    """Yes to the offer."""
    turn.change(voice_check=VoiceCheck(begun=True))
    ask_voice(turn)


def decline(turn: Turn, event: Event) -> None:
    """No to the offer."""
    record_unfinished(turn, "declined")
    walk_on(turn)


def take_word(turn: Turn, event: Event) -> None:
    """A word was heard: right, or taken for another."""
    assert isinstance(event, Heard)  # noqa: S101  -- the table sends only words here
    assert isinstance(event.meaning, Word)  # noqa: S101
    if event.how.ears in BY_HAND:
        leave(turn, event)
        return
    check = _check(turn)
    word = word_heard(next_word(turn.state, check), event.meaning.text, event.how)
    _go_on(turn, word)


def missed(turn: Turn, event: Event) -> None:
    """Not understood: in the check the word counts as missed, the offer is made once more."""
    assert isinstance(event, Refused)  # noqa: S101  -- the table sends only refusals here
    check = _check(turn)
    if event.how.ears in BY_HAND:
        leave(turn, event)
    elif check.begun:
        _go_on(turn, word_heard(next_word(turn.state, check), "", event.how))
    elif check.silences:
        _leave_unanswered(turn)
    else:
        turn.change(voice_check=replace(check, silences=1))
        ask_voice(turn, prompts.SORRY)


def heard_nothing(turn: Turn, event: Event) -> None:
    """Silence is no yes: the offer lapses; in the check the second silence ends it."""
    check = _check(turn)
    if not check.begun or check.silences + 1 >= SILENCES_BEFORE_LEAVING:
        _leave_unanswered(turn)
    else:
        _go_on(turn, WordHeard(next_word(turn.state, check)), silences=check.silences + 1)


def leave(turn: Turn, event: Event) -> None:
    """Enough of it: on with the job."""
    record_unfinished(turn, "left")
    walk_on(turn, prompts.VOICE_CHECK_LEFT)


def stop(turn: Turn, event: Event) -> None:
    """Stop is stop here too, and ends the check."""
    record_unfinished(turn, "left")
    commanding.stop(turn, event)


def _leave_unanswered(turn: Turn) -> None:
    record_unfinished(turn, "unanswered")
    walk_on(turn, prompts.VOICE_CHECK_LEFT)


def _go_on(turn: Turn, word: WordHeard, silences: int = 0) -> None:
    check = _check(turn)
    heard = (*check.heard, word)
    if len(heard) < len(turn.state.lexicon.voice_check.words):
        turn.change(voice_check=replace(check, heard=heard, silences=silences))
        ask_voice(turn)
        return
    walk_on(turn, tell_judged(turn, heard))


def _check(turn: Turn) -> VoiceCheck:
    check = turn.state.voice_check
    assert check is not None  # noqa: S101  -- this mode is only come into with a check
    return check
