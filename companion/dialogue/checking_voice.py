"""What an answer does in the voice check. Any answer that is not by voice leaves it."""

from __future__ import annotations

from dataclasses import replace

from companion.dialogue import commanding, prompts
from companion.dialogue.advance import advance
from companion.dialogue.events import Event
from companion.dialogue.state import VoiceCheck, WordHeard
from companion.dialogue.transaction import Transaction
from companion.dialogue.voice_check import (
    ask_voice,
    next_word,
    record_unfinished,
    tell_judged,
    word_heard,
)
from companion.facts.meanings import Word
from companion.facts.talking import Heard, Refused

BY_HAND = frozenset({"typed", "pedal"})
"""What the ears call themselves where nobody spoke."""
SILENCES_BEFORE_LEAVING = 2


def start(tx: Transaction, event: Event) -> None:
    """Yes to the offer."""
    tx.change(voice_check=VoiceCheck(begun=True))
    ask_voice(tx)


def decline(tx: Transaction, event: Event) -> None:
    """No to the offer."""
    record_unfinished(tx, "declined")
    advance(tx)


def take_word(tx: Transaction, event: Heard[Word]) -> None:
    """A word was heard: right, or taken for another."""
    if event.how.ears in BY_HAND:
        leave(tx, event)
        return
    check = _check(tx)
    word = word_heard(next_word(tx.state, check), event.meaning.text, event.how)
    _go_on(tx, word)


def no_match(tx: Transaction, event: Refused) -> None:
    """Not understood: in the check the word counts as missed, the offer is made once more."""
    check = _check(tx)
    if event.how.ears in BY_HAND:
        leave(tx, event)
    elif check.begun:
        _go_on(tx, word_heard(next_word(tx.state, check), "", event.how))
    elif check.silences:
        _leave_unanswered(tx)
    else:
        tx.change(voice_check=replace(check, silences=1))
        ask_voice(tx, prompts.SORRY)


def heard_nothing(tx: Transaction, event: Event) -> None:
    """Silence is no yes: the offer lapses; in the check the second silence ends it."""
    check = _check(tx)
    if not check.begun or check.silences + 1 >= SILENCES_BEFORE_LEAVING:
        _leave_unanswered(tx)
    else:
        _go_on(tx, WordHeard(next_word(tx.state, check)), silences=check.silences + 1)


def leave(tx: Transaction, event: Event) -> None:
    """Enough of it: on with the job."""
    record_unfinished(tx, "left")
    advance(tx, prompts.VOICE_CHECK_LEFT)


def stop(tx: Transaction, event: Event) -> None:
    """Stop is stop here too, and ends the check."""
    record_unfinished(tx, "left")
    commanding.stop(tx, event)


def _leave_unanswered(tx: Transaction) -> None:
    record_unfinished(tx, "unanswered")
    advance(tx, prompts.VOICE_CHECK_LEFT)


def _go_on(tx: Transaction, word: WordHeard, silences: int = 0) -> None:
    check = _check(tx)
    heard = (*check.heard, word)
    if len(heard) < len(tx.state.lexicon.voice_check.words):
        tx.change(voice_check=replace(check, heard=heard, silences=silences))
        ask_voice(tx)
        return
    advance(tx, tell_judged(tx, heard))


def _check(tx: Transaction) -> VoiceCheck:
    """As far as it has come; only offered where it has not begun."""
    return tx.state.voice_check or VoiceCheck()
