"""Every sentence of the conversation that does not stand in the job file.

A prompt asks for one thing and puts its key word last. What is asked for and how to answer are two
sentences (`SAY_DONE`, `YES_OR_NO`): the conversation keeps them apart, so that nobody has to.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, assert_never

from companion.words.expectation import NumberForm
from companion.words.speaking import say_cardinal, say_list
from companion.words.told import both, cardinal, tell

YES_OR_NO = "Yes or no?"
SAY_DONE = "Say done."
SAY_CONTINUE = "Say continue."
SAY_CONTINUE_OR_END = "Say continue, or end the job."
DIGIT_WORDS_OF_EXAMPLE = ("one", "five", "two", "seven")


def sentence(text: str) -> str:
    """The text with a capital letter and a full stop, unless it ends as a sentence already."""
    return both(text, _closed)


def _closed(text: str) -> str:
    text = text.strip()
    closed = text if text.endswith((".", "?", "!")) else f"{text}."
    return closed[0].upper() + closed[1:]


def stage(number: int, title: str, *, again: bool) -> str:
    return f"Stage {say_cardinal(number)}{' again' if again else ''}, {title.lower()}."


def digit_by_digit(form: NumberForm) -> str:
    """An example of how; never with "fifteen", which sounds like fifty. Empty for one digit."""
    return f"Digit by digit, such as {digits_example(form)}." if _is_long(form) else ""


def digits_example(form: NumberForm) -> str:
    """A number as this prompt wants it; with commas, so that the voice parts the digits."""
    whole = DIGIT_WORDS_OF_EXAMPLE[: form.max_whole_digits]
    decimals = DIGIT_WORDS_OF_EXAMPLE[2 : 2 + form.decimals]
    return ", ".join([*whole, "point", *decimals] if decimals else whole)


def _is_long(form: NumberForm) -> bool:
    return form.max_whole_digits + form.decimals > 1


def implausible(spoken: str, low: str, high: str) -> str:
    return tell(
        "I heard {spoken}. I expect {low} to {high}. Read it again.",
        spoken=spoken,
        low=low,
        high=high,
    )


def far_from_last(spoken: str, last: str) -> str:
    return tell(
        "I heard {spoken}. The last one was {last}. Read it again.", spoken=spoken, last=last
    )


TYPE_IT = "I do not hear you well. Type it, or say it once more."
SORRY = "Sorry?"
NOT_TAKEN = "Not taken."
STILL_WAITING = "I am waiting."
NOT_NOW = "Not that, here."
PAUSED = "Paused."
PAUSED_BY_SILENCE = "I hear nothing."
AT_A_CORRECTION = "a correction"
IF_NOT_DONE_YET = "If it is not done yet:"
CARRYING_ON = "Carrying on."
STOPPED = "Stopped. Leave everything as it is."
END_THE_JOB = "End the job, without a result?"
ENDED = "The job has ended without a result. The record is kept."
CORRECTION_TAKEN_BACK = "Correction taken back."
NOTHING_TO_TAKE_BACK = "There is nothing to take back."
SPEAK_NOTE = "Speak your note."
NOTE_KEPT = "Note kept."
NOTE_NOT_KEPT = "I may keep words only, so a spoken note is not kept."
OFFER_VOICE_CHECK = "Check how well I hear you? Ten words, half a minute."
EACH_AFTER_ME = "Say each word after me."
VOICE_CHECK_LEFT = "No check, then."
SAY_DIGITS = "Say every number digit by digit."
DIGITS_AS_FOUND = "As the voice check found: say every number digit by digit."
LOUDER, QUIETER, SLOWER, FASTER = "Louder.", "Quieter.", "Slower.", "Faster."
SIDES = "Left and right are always the car's, as the driver sits."


def say_word(word: str) -> str:
    return f"Say {word}."


def voice_checked(
    outcome: Literal["well", "fair", "poor"], right: int, mistaken: int, asked: int
) -> str:
    """How well the person was heard, and what to do where it is not well."""
    told = f"I heard {say_cardinal(right)} of {say_cardinal(asked)}"
    told += f" and took {say_cardinal(mistaken)} for another word." if mistaken else "."
    match outcome:
        case "well":
            return f"{told} I hear you well."
        case "fair":
            return f"{told} It will do; you may be asked twice."
        case "poor":
            return f"{told} I cannot rely on it. Answer at the screen, or by the pedal."
        case _:
            assert_never(outcome)


def taken_back(title: str) -> str:
    return f"Taken back: {title.lower()}."


def resumed(title: str) -> str:
    return f"I was off. We were at {title.lower()}."


WAS_IT_TOUCHED = "Was the stand or the car touched?"
NOT_TOUCHED_OR_MOVED = "Not touched, or was moved?"


def where(number: int, of: int, stage_title: str, title: str) -> str:
    return tell(
        "Stage {number} of {of}, {stage}. At {title}.",
        number=cardinal(number),
        of=cardinal(of),
        stage=stage_title.lower(),
        title=title.lower(),
    )


def you_can_say(examples: Iterable[str]) -> str:
    return f"You can say: {'; '.join(examples)}."


CORRECT_AND_BEGIN_ANEW = "Correct the doubt in the file, or read on a finer scale, and begin anew."


def could_never_pass(titles: Iterable[str]) -> str:
    """Before any work: with the doubts in the files these could not come out inside."""
    where = say_list([title.lower() for title in titles])
    return f"With the doubts in the files nothing could pass at {where}. {CORRECT_AND_BEGIN_ANEW}"
