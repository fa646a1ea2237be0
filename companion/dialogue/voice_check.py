"""The voice check: ten words at the first job of the day, and what they tell of the hearing.

It finds out whether this voice is heard well through this microphone, in this noise. What comes of
it can only make the companion more careful: an answer has to be surer than the surest mistake of
the check, numbers are taken digit by digit, or the person is told to answer at the screen. "Stop"
and "wait" are never made harder. Nothing of the voice is kept but the figures in the record.
"""

from __future__ import annotations

from collections.abc import Container
from statistics import median
from typing import Literal

from companion.dialogue import prompts
from companion.dialogue.asking import YES_NO
from companion.dialogue.pace import is_loud
from companion.dialogue.progress import current_step
from companion.dialogue.state import Lexicon, Mode, State, VoiceCheck, WordHeard
from companion.dialogue.transaction import Transaction
from companion.facts.beforehand import HearingBefore, NoiseChecked, VoiceChecked, VoiceFound
from companion.facts.message import Told, in_a_row
from companion.facts.prompting import Prompted
from companion.facts.talking import How
from companion.language.expectation import Expectation

COMMANDS = ("stop", "wait", "carry_on", "repeat", "louder", "quieter")
"""Those that can be said in the check. "Stop" is never one of its words: it stops, here too."""
WORD_TIMEOUT_S = 6.0
WELL, FAIR = 8, 6
"""Of ten words: so many right are well, so many still enough to work by voice."""
MOST_STRICT = 0.95
"""Confidence above which an answer is never refused on account of the check."""

Outcome = Literal["well", "fair", "poor"]


def expectation_in(lexicon: Lexicon) -> Expectation:
    """What may be said to a word of the check: any of its words, and what they are taken for."""
    check = lexicon.voice_check
    return Expectation(words=(*check.words, *check.beside), commands=COMMANDS)


def judge(heard: tuple[WordHeard, ...], alike: Container[str]) -> tuple[Outcome, VoiceFound]:
    """What the words tell; anything but "well" or a mistake makes it stricter, nothing looser.

    Who is not understood with one of the words `alike` says numbers digit by digit.
    """
    right = sum(word.taken == word.asked for word in heard)
    mistaken = [word for word in heard if word.taken not in ("", word.asked)]
    outcome: Outcome = "poor"
    if right >= WELL and not mistaken:
        outcome = "well"
    elif right >= FAIR and len(mistaken) <= 1:
        outcome = "fair"
    surest = max((word.confidence for word in mistaken), default=0.0)
    alike_missed = any(word.asked in alike and word.taken != word.asked for word in heard)
    return outcome, VoiceFound(
        asked=len(heard),
        right=right,
        confused=tuple(f"{word.asked} -> {word.taken}" for word in mistaken),
        speech_dbfs=_middle([word.speech_dbfs for word in heard]),
        snr_db=_middle([word.snr_db for word in heard]),
        digit_by_digit=alike_missed or outcome == "poor",
        least_confidence=min(surest, MOST_STRICT),
    )


def begin_hearing(tx: Transaction, before: HearingBefore) -> None:
    """Say whether the voice can be relied on here, and have the check offered where it is wanted.

    Where it is too loud for the voice the check is not offered: it would only tell the same.
    """
    noise = before.noise
    if noise is not None:
        tx.record(NoiseChecked(noise))
        tx.announce(prompts.noise(noise), "caution")
    tx.change(
        digit_by_digit=before.digit_by_digit,
        least_confidence=min(before.least_confidence, 1.0),
        is_loud=noise is not None and is_loud(noise),
    )
    if before.digit_by_digit:
        tx.announce(prompts.DIGITS_AS_FOUND, "caution")
    voice_will_do = noise is None or noise.voice != "unreliable"
    if before.offer_check and voice_will_do and tx.state.prompt is None:
        tx.change(voice_check=VoiceCheck())


def ask_voice(tx: Transaction, before: Told = "") -> None:
    """Offer the check, or ask for its next word."""
    check = tx.state.voice_check or VoiceCheck()
    step = current_step(tx.state) or tx.state.plan.steps[0]
    if not check.begun:
        tx.ask(
            step.id,
            prompts.OFFER_VOICE_CHECK,
            YES_NO,
            before=before,
            reply=prompts.YES_OR_NO,
            mode=Mode.CHECKING_VOICE,
            timeout_s=2 * WORD_TIMEOUT_S,
        )
        return
    word = next_word(tx.state, check)
    tx.ask(
        step.id,
        prompts.say_word(word),
        expectation_in(tx.state.lexicon),
        before=before if check.heard else in_a_row(before, prompts.EACH_AFTER_ME),
        mode=Mode.CHECKING_VOICE,
        told=Prompted(word=word),
        timeout_s=WORD_TIMEOUT_S,
    )


def record_unfinished(tx: Transaction, outcome: Literal["declined", "left", "unanswered"]) -> None:
    """The check is not made, or not to its end: nothing changes, and the record says so."""
    tx.change(voice_check=None)
    tx.record(VoiceChecked(outcome))


def tell_judged(tx: Transaction, heard: tuple[WordHeard, ...]) -> Told:
    """Keep, say and act on what the check found; what is to be said with the next prompt."""
    outcome, found = judge(heard, tx.state.lexicon.voice_check.alike)
    tx.record(VoiceChecked(outcome, found))
    tx.change(
        voice_check=None,
        digit_by_digit=found.digit_by_digit,
        least_confidence=found.least_confidence,
    )
    told = prompts.voice_checked(outcome, found.right, len(found.confused), len(heard))
    tx.announce(told, "explain")
    return prompts.SAY_DIGITS if found.digit_by_digit else ""


def next_word(state: State, check: VoiceCheck) -> str:
    """The word that is asked for now."""
    return state.lexicon.voice_check.words[len(check.heard)]


def word_heard(asked: str, taken: str, how: How) -> WordHeard:
    """One word of the check, with what the ears told about it."""
    return WordHeard(asked, taken, how.confidence or 0.0, how.speech_dbfs, how.snr_db)


def _middle(figures: list[float | None]) -> float | None:
    known = [figure for figure in figures if figure is not None]
    return round(median(known), 1) if known else None
