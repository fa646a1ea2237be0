"""From a prompt's words to what it wants: key words only, the last ones count."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence

from companion.rehearsal.acts import (
    Act,
    LevelStand,
    LiftPlate,
    LockScrews,
    MoveStand,
    PlaceShim,
    SeatClamp,
    SetLean,
    SetLineLaser,
    SetSwing,
    Settle,
    TiltPlate,
    TurnScrew,
    TurnStand,
    TurnWheel,
    ZeroPlate,
)
from companion.rehearsal.optics import Side
from companion.rehearsal.prompts_heard import (
    Prompt,
    Unclear,
    Wanted,
    WantsCarryOn,
    WantsChoice,
    WantsDone,
    WantsLastAgain,
    WantsNote,
    WantsReading,
    WantsVoiceCheck,
    WantsWord,
    WantsYes,
)
from companion.rehearsal.spoken_numbers import amount_in

_REPEATED = re.compile(
    r"\b(sorry\?|digit by digit|do not hear you well|not taken|i am waiting|not that, here"
    r"|carrying on)"
)

# The check names a single word and nothing to do; "say done." else follows what is to be done.
_WORD_OF_CHECK = re.compile(
    r"^(?:(?:sorry\?|i am waiting\.|not that, here\.|carrying on\.|louder\.|quieter\.) )?"
    r"(?:say each word after me\. )?say ([a-z]+)\.$"
)

_QUESTIONS = {
    "consent": r"keep the sound, or words only",
    "reason": r"why is the radar aimed",
    "fuel": r"full tank, or part empty",
    "faults_before": r"read the fault codes\.",
    "faults_after": r"read the fault codes again",
    "toe_route": r"rear toe on your sheet",
    "aim_route": r"what does your scan tool give",
    "tool_verdict": r"run the scan tool'?s check",
    "moved": r"not touched, or was moved",
}

_PLAIN_READINGS = {
    r"floor rule, ((?:rear|front) (?:left|right)|stand spot)": "floor_rule",
    r"ride height, ((?:front|rear) (?:left|right))": "ride_height",
    r"battery support, volts()": "battery",
    r"bay temperature()": "temperature",
    r"rear (left|right) toe, degrees": "toe_deg",
    r"rear (left|right) toe, millimetres": "toe_mm",
    r"across what diameter()": "toe_diameter",
    r"stand level, millimetres()": "level",
    r"(left|right) spot, millimetres": "spot",
    r"beam on the (left|right) arm scale": "arm",
    r"plate to sensor()": "plate_distance",
    r"plate cent(?:re|er), height()": "plate_height",
    r"plate plumb()": "plumb",
    r"scan tool, sideways degrees()": "tool_yaw",
    r"scan tool, height degrees()": "tool_elevation",
    r"scan tool'?s turns for the ([a-z ]+?)(?=,)": "tool_turns",
}

_WHEEL_STOPS = {"wheel at start": 0, "quarter": 1, "half": 2, "three quarters": 3}
_RUN_OUT = re.compile(r"(left|right) arm scale, (wheel at start|three quarters|half|quarter)")

# "Plate upright" and "plate in the middle" stand alone, or before what the other axis is set to:
# then both belong to one sentence.
_ECHOES: tuple[tuple[str, tuple[Act, ...]], ...] = (
    (r"plate in the middle, top towards", (SetSwing(0), SetLean(1))),
    (r"lean the top away", (SetLean(-1),)),
    (r"plate upright(?!, (?:left|right) edge)", (SetLean(0),)),
    (r"left edge towards", (SetLean(0), SetSwing(1))),
    (r"right edge towards", (SetSwing(-1),)),
    (r"plate in the middle(?!, top)", (SetSwing(0),)),
)

_Makers = Callable[[re.Match[str]], Act | None]


def _signed(amount: str, way: str, positive: str) -> float | None:
    value = amount_in(amount)
    if value is None:
        return None
    return float(value) if way == positive else -float(value)


def _move(found: re.Match[str]) -> Act | None:
    amount, way = found.groups()
    if way in ("left", "right"):
        left_mm = _signed(amount, way, "left")
        return None if left_mm is None else MoveStand(left_mm=left_mm)
    ahead_mm = _signed(amount, way, "away")
    return None if ahead_mm is None else MoveStand(ahead_mm=ahead_mm)


def _turn(found: re.Match[str]) -> Act | None:
    left_deg = _signed(found[1], found[2], "left")
    return None if left_deg is None else TurnStand(left_deg)


def _level(found: re.Match[str]) -> Act | None:
    up = _signed(found[2], found[1], "up")
    return None if up is None else LevelStand(up)


def _tilt(found: re.Match[str]) -> Act | None:
    away = _signed(found[1], found[2], "away")
    return None if away is None else TiltPlate(away)


def _lift(found: re.Match[str]) -> Act | None:
    up_mm = _signed(found[1], found[2], "up")
    return None if up_mm is None else LiftPlate(up_mm)


def _shim(found: re.Match[str]) -> Act | None:
    thickness_mm = amount_in(found[1])
    return None if thickness_mm is None else PlaceShim(found[2], float(thickness_mm))


_INSTRUCTIONS: tuple[tuple[re.Pattern[str], _Makers], ...] = (
    (re.compile(r"move the stand ([^.?]+?) (?:to the )?(left|right|towards|away)\b"), _move),
    (re.compile(r"turn the stand ([^.?]+?) (?:to the )?(left|right)\b"), _turn),
    (re.compile(r"left end (up|down), ([^.?]+?) millimetres? per"), _level),
    (re.compile(r"plate'?s top ([^.?]+?) (towards|away)\b"), _tilt),
    (re.compile(r"bring the plate ([^.?]+?) (up|down)\b"), _lift),
    (re.compile(r"([^.?]+?) under the ((?:rear|front) (?:left|right)) wheel"), _shim),
    (re.compile(r"plate back upright and in the middle"), lambda _: ZeroPlate()),
    (re.compile(r"set the line laser"), lambda _: SetLineLaser()),
    (re.compile(r"bounce the car's rear"), lambda _: Settle()),
    (re.compile(r"lock the screws"), lambda _: LockScrews()),
    (
        re.compile(r"turn the (left|right) wheel on to start"),
        lambda found: TurnWheel(side_of(found[1]), 0),
    ),
    (
        re.compile(r"(left|right) clamp'?s run-out is too large. seat the clamp again"),
        lambda found: SeatClamp(side_of(found[1])),
    ),
)


def side_of(word: str) -> Side:
    """The side that the word "left" or "right" names."""
    return "left" if word == "left" else "right"


class Understanding:
    """An ear for the job's prompts. `screw_names`: as they are spoken, from the mount's file."""

    def __init__(self, screw_names: Sequence[str]) -> None:
        names = "|".join(re.escape(name.lower()) for name in screw_names)
        self._screw = re.compile(rf"\b({names}), ([^?]*?)\. say done")

    def prompt(self, text: str) -> Prompt:
        """What the prompt wants; `Unclear` when no key word is known."""
        words = " ".join(text.lower().replace("\u2019", "'").split())
        return Prompt(
            wanted=self._wanted(words),
            repeated=_REPEATED.search(words) is not None,
            digit_by_digit="digit by digit" in words,
        )

    def _wanted(self, words: str) -> Wanted:
        if words.endswith("ten words, half a minute. yes or no?"):
            return WantsVoiceCheck()
        if words.endswith("yes or no?"):
            return WantsYes(_last_sentence(words.removesuffix("yes or no?")))
        if "say continue" in words:
            return WantsCarryOn()
        if word := _WORD_OF_CHECK.search(words):
            return WantsWord(word[1])
        if words.endswith("say done."):
            return WantsDone(self._instruction(words))
        if words.endswith("read it again."):
            return WantsLastAgain()
        if words.endswith("speak your note."):
            return WantsNote()
        return _last_question(words)

    def _instruction(self, words: str) -> Act | None:
        found = [*self._screw_turns(words), *_other_instructions(words)]
        return max(found, key=lambda pair: pair[0])[1] if found else None

    def _screw_turns(self, words: str) -> Iterable[tuple[int, Act]]:
        for match in self._screw.finditer(words):
            way = re.search(r"\b(anticlockwise|counterclockwise|clockwise)\b", match[2])
            turns = amount_in(match[2])
            if way and turns is not None:
                yield (
                    match.end(),
                    TurnScrew(
                        match[1],
                        "clockwise" if way[1] == "clockwise" else "anticlockwise",
                        float(turns),
                    ),
                )


def _other_instructions(words: str) -> Iterable[tuple[int, Act]]:
    for pattern, make in _INSTRUCTIONS:
        for match in pattern.finditer(words):
            act = make(match)
            if act is not None:
                yield match.end(), act


def _last_question(words: str) -> Wanted:
    """Of all that is asked for, the last: a prompt puts its key word last."""
    found: list[tuple[int, Wanted]] = []
    for about, pattern in _QUESTIONS.items():
        found += [(match.end(), WantsChoice(about)) for match in re.finditer(pattern, words)]
    for pattern, scale in _PLAIN_READINGS.items():
        found += [
            (match.end(), WantsReading(scale, match[1])) for match in re.finditer(pattern, words)
        ]
    for match in _RUN_OUT.finditer(words):
        side = side_of(match[1])
        act = TurnWheel(side, _WHEEL_STOPS[match[2]])
        found.append((match.end(), WantsReading("arm", side, (act,))))
    if "echo level" in words:
        for pattern, acts in _ECHOES:
            found += [
                (match.end(), WantsReading("echo", "", acts))
                for match in re.finditer(pattern, words)
            ]
    return max(found, key=lambda pair: pair[0])[1] if found else Unclear()


def _last_sentence(words: str) -> str:
    sentences = [part.strip() for part in re.split(r"[.?!]", words) if part.strip()]
    return sentences[-1] if sentences else ""
