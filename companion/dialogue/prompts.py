"""Every sentence of the conversation that does not stand in the job file, as a message.

A prompt asks for one thing and puts its key word last. What is asked for and how to answer are two
messages (`SAY_DONE`, `YES_OR_NO`): the conversation keeps them apart, so that nobody has to. The
words stand in `grammars/<language>/conversation.ftl`.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from typing import Literal

from companion.facts.beforehand import RoomNoise
from companion.facts.message import Amount, Arg, Message, Told, as_message
from companion.language.expectation import NumberForm

YES_OR_NO = Message("yes-or-no")
IF_YES = Message("if-yes")
YES_OR_WHICH = Message("yes-or-which")
SAY_DONE = Message("say-done")
SAY_DONE_TO_ALL = Message("say-done-to-all")
SAY_CONTINUE = Message("say-continue")
SAY_CONTINUE_OR_END = Message("say-continue-or-end")
TYPE_IT = Message("type-it")
SORRY = Message("sorry")
NOT_TAKEN = Message("not-taken")
STILL_WAITING = Message("still-waiting")
NOT_NOW = Message("not-now")
PAUSED = Message("paused")
PAUSED_BY_SILENCE = Message("paused-by-silence")
AT_A_CORRECTION = Message("a-correction")
AT_THE_END = Message("the-end")
IF_NOT_DONE_YET = Message("if-not-done-yet")
CARRYING_ON = Message("carrying-on")
STOPPED = Message("stopped")
END_THE_JOB = Message("end-the-job")
WHY_ENDED = Message("why-ended")
WHY_TAKEN_BACK = Message("why-taken-back")
WHY_TOUCHED = Message("why-touched")
WHY_CORRECTION_TAKEN_BACK = Message("why-correction-taken-back")
ENDED = Message("ended")
CORRECTION_TAKEN_BACK = Message("correction-taken-back")
NOTHING_TO_TAKE_BACK = Message("nothing-to-take-back")
SPEAK_NOTE = Message("speak-note")
NOTE_KEPT = Message("note-kept")
NOTE_NOT_KEPT = Message("note-not-kept")
NOTE_NOT_HEARD = Message("note-not-heard")
OFFER_VOICE_CHECK = Message("offer-voice-check")
EACH_AFTER_ME = Message("each-after-me")
VOICE_CHECK_LEFT = Message("voice-check-left")
SAY_DIGITS = Message("say-digits")
DIGITS_AS_FOUND = Message("digits-as-found")
LOUDER, QUIETER = Message("louder"), Message("quieter")
SLOWER, FASTER = Message("slower"), Message("faster")
SIDES = Message("sides")
CLOCKWISE = Message("clockwise-as-you-face-it")
CAUTIONS_KNOWN = Message("cautions-known")
WAS_IT_TOUCHED = Message("was-it-touched")
WAS_IT_BEGUN = Message("was-it-begun")
NOT_TOUCHED_OR_MOVED = Message("not-touched-or-moved")

OF_THE_TALK = frozenset(
    {
        "carrying-on",
        "digit-by-digit",
        "digit-by-digit-and-way",
        "does-not-fit",
        "does-not-fit-or",
        "faster",
        "louder",
        "not-now",
        "not-taken",
        "note-kept",
        "note-not-heard",
        "note-not-kept",
        "paused-by-silence",
        "quieter",
        "resumed",
        "slower",
        "sorry",
        "still-waiting",
        "type-it",
        "voice-check-left",
        "which-way",
    }
)
"""What is told of the talk itself, for the moment: nobody misses it who did not hear it."""

STAND_UNCHECKED = {
    "failed": Message("stand-check-failed"),
    "overdue": Message("stand-check-overdue"),
}


def overdue(name: str) -> Message:
    """An instrument's certificate no longer holds."""
    return Message("instrument-overdue", {"name": name})


def sentence(what: Told) -> Message:
    """Something said back, as a sentence of its own."""
    return Message("sentence", {"what": as_message(what)})


def asked_back(what: Told) -> Message:
    """The same as a question: what a yes would take."""
    return Message("asked-back", {"what": as_message(what)})


def stage(number: int, title: str, *, again: bool) -> Message:
    return Message("stage-again" if again else "stage", {"number": number, "title": title})


def digit_by_digit(form: NumberForm) -> Message | None:
    """An example of how; None for one digit."""
    if form.max_whole_digits + form.decimals <= 1:
        return None
    digits: dict[str, Arg] = {"whole": form.max_whole_digits, "decimals": form.decimals}
    if form.directions:
        return Message("digit-by-digit-and-way", {**digits, "way": form.directions[0]})
    return Message("digit-by-digit", digits)


def which_way(form: NumberForm) -> Message:
    """A number came without its direction."""
    ways = tuple(Message("way", {"way": way}) for way in form.directions)
    unit = form.units[0] if form.style == "quarters" or len(form.units) > 1 else None
    size = Decimal(12 if form.max_whole_digits > 1 else 1)
    return Message("which-way", {"ways": ways, "example": Amount(size, unit, form.directions[0])})


def does_not_fit(examples: Iterable[str], ways_out: Iterable[str] = ()) -> Message:
    """Something was typed that is no answer here, and what would be; `ways_out`: what else."""
    told: dict[str, Arg] = {"examples": tuple(examples)}
    ways = tuple(ways_out)
    if not ways:
        return Message("does-not-fit", told)
    return Message("does-not-fit-or", {**told, "ways": ways})


def implausible(heard: Amount, low: Amount, high: Amount) -> Message:
    return Message("implausible", {"heard": heard, "low": low, "high": high})


def not_allowed(heard: Amount, low: Amount, high: Amount) -> Message:
    return Message("not-allowed", {"heard": heard, "low": low, "high": high})


def far_from_last(heard: Amount, last: Amount) -> Message:
    return Message("far-from-last", {"heard": heard, "last": last})


def far_from_target(heard: Amount, target: Amount) -> Message:
    """After a move something else is read than what was to be read then."""
    return Message("far-from-target", {"heard": heard, "target": target})


def noise(heard: RoomNoise) -> Told:
    """How loud it is and what to do; in the listener's words where it does not say how loud."""
    return Message(f"noise-{heard.found}") if heard.found else heard.advice


def say_word(word: str) -> Message:
    return Message("say-word", {"word": word})


def voice_checked(
    outcome: Literal["well", "fair", "poor"], right: int, mistaken: int, asked: int
) -> Message:
    """How well the person was heard, and what to do where it is not well."""
    return Message(
        "voice-checked",
        {"outcome": outcome, "right": right, "mistaken": mistaken, "asked": asked},
    )


def taken_back(title: str) -> Message:
    return Message("taken-back", {"title": title})


def resumed(title: Told) -> Message:
    return Message("resumed", {"title": as_message(title)})


def where(number: int, of: int, stage_title: str, title: str) -> Message:
    stage_told: dict[str, Arg] = {"number": number, "of": of, "stage": stage_title}
    if title == stage_title:
        return Message("where-stage", stage_told)
    return Message("where", {**stage_told, "title": title})


def you_can_say(examples: Iterable[str]) -> Message:
    return Message("you-can-say", {"examples": tuple(examples)})


def could_never_pass(titles: Iterable[str]) -> Message:
    """Before any work: with the uncertainties in the files these could not come out inside."""
    return Message("could-never-pass", {"titles": tuple(titles)})
