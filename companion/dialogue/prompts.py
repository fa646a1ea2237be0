"""Every sentence of the conversation that does not stand in the job file.

A prompt asks for one thing and puts its key word last. What is asked for and how to answer are two
sentences (`SAY_DONE`, `YES_OR_NO`): the conversation keeps them apart, so that nobody has to.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Literal, assert_never

from companion.measure.stories import StoryKind
from companion.words.expectation import NumberForm
from companion.words.speaking import say_cardinal, say_figure, say_turns

YES_OR_NO = "Yes or no?"
SAY_DONE = "Say done."
SAY_CONTINUE = "Say continue."
SAY_CONTINUE_OR_END = "Say continue, or end the job."
DIGIT_WORDS_OF_EXAMPLE = ("one", "five", "two", "seven")


def sentence(text: str) -> str:
    """The text with a capital letter and a full stop, unless it ends as a sentence already."""
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
    return f"I heard {spoken}. I expect {low} to {high}. Read it again."


def far_from_last(spoken: str, last: str) -> str:
    return f"I heard {spoken}. The last one was {last}. Read it again."


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
MISFIT = "Those readings do not fit together. We read them again."
KEEPS_MISFITTING = "Those readings keep misfitting. Check what they are read from."
ONCE_MORE_TO_BE_SURE = "Inside. Once more, to be sure."
SETS_DISAGREE = "The two sets do not agree. We measure them again."
UNSETTLED = "The readings do not settle. Check the plate, its detents and the scan tool."
WHAT_INSIDE_MEANS = (
    "That means inside the entered limits, with the entered uncertainties. "
    "It does not say that the driver assistance is safe."
)
SIDES = (
    "Left and right are always the car's, as the driver sits. "
    "Clockwise is as you face the screw's head from in front."
)


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
    return (
        f"Stage {say_cardinal(number)} of {say_cardinal(of)}, {stage_title.lower()}. "
        f"At {title.lower()}."
    )


def you_can_say(examples: Iterable[str]) -> str:
    return f"You can say: {'; '.join(examples)}."


def turn_screw(name: str, direction: str, turns: Fraction) -> str:
    return f"{name[0].upper()}{name[1:]}, {direction}, {say_turns(turns)}."


def angle(value_deg: float, positive: str, negative: str) -> str:
    """An angle to a hundredth of a degree with its way in words; never with a sign."""
    hundredths = Decimal(str(round(abs(value_deg), 2))).quantize(Decimal("0.01"))
    if hundredths == 0:
        return "zero"
    return say_figure(hundredths, "deg", positive if value_deg > 0 else negative)


def aim(yaw_deg: float, elevation_deg: float) -> str:
    return (
        f"Sideways {angle(yaw_deg, 'left', 'right')}, height {angle(elevation_deg, 'up', 'down')}"
    )


def aim_to_correct(yaw_deg: float, elevation_deg: float) -> str:
    return f"Not inside yet. {aim(yaw_deg, elevation_deg)}."


def cannot_reach(yaw_deg: float, elevation_deg: float) -> str:
    return (
        "The screws cannot bring the aim inside. The best that they could leave is: "
        f"{aim(yaw_deg, elevation_deg).lower()}. Check the bracket and its fastening."
    )


def looks_as_if(what: str) -> str:
    return f"Stop. It looks as if {what}."


def looks_like_either(first: str, second: str) -> str:
    return f"Stop. It looks as if either {first}, or {second}."


def slip(kind: StoryKind, screws: Sequence[str], instead: Sequence[str]) -> str:
    """What may have happened at the screws; `instead`: which ones were turned in their place."""
    names = " and the ".join(screws)
    match kind:
        case "wrong_way":
            return f"the {names} went the wrong way"
        case "wrong_screw" if len(screws) == 1:
            return f"the {instead[0]} was turned in place of the {names}"
        case "wrong_screw":
            return f"the {names} were taken for each other"
        case "not_turned":
            whose = "its" if len(screws) == 1 else "their"
            return f"the {names} did not get all of {whose} turns"
        case "wrong_amount":
            return f"the {names} was not turned as far as I said"
        case "as_planned":
            return "all was turned as I said and the mount answers otherwise"
        case _:
            assert_never(kind)


UNEXPLAINED_MOVE = "Stop. The aim moved in a way that the screws do not explain."


def finished_inside(yaw_deg: float, elevation_deg: float, misses: str) -> str:
    return f"Inside. {aim(yaw_deg, elevation_deg)}. {misses} {WHAT_INSIDE_MEANS}"


def miss(range_m: float, sideways_m: float, u_m: float) -> str:
    """What is left sideways at a range, to a centimetre, with twice its doubt."""
    centimetres, doubt = round(100 * abs(sideways_m)), max(1, round(200 * u_m))
    where, span = f"At {say_figure(int(range_m))} metres it looks", say_figure(doubt)
    if centimetres == 0:
        return f"{where} at its mark, give or take {span} centimetres."
    side, noun = "left" if sideways_m > 0 else "right", "centimetre"
    noun += "" if centimetres == 1 else "s"
    return f"{where} {say_figure(centimetres)} {noun} to the {side}, give or take {span}."


TOOL_SAYS_INSIDE = (
    "The scan tool says inside. I did not measure the aim myself, and the record says so."
)
NOTHING_AIMED = "That is all. This job aimed nothing, and the record says so."
