"""How fast a thing is said, by what it is for.

Brisk is what is asked, a choice said back, or what is to be done by hand without a figure that
moves anything, while all goes well: it can be said again, and nothing counts before its yes.
Unhurried is whatever warns, moves or turns anything, tells a result or asks for nothing; a
number said back, by which a wrong one is noticed; whatever is said once more; and all of it where
the room was found loud. How fast each is, the settings say.
"""

from __future__ import annotations

from companion.dialogue.effects import Pace
from companion.dialogue.state import Mode, State
from companion.facts.beforehand import RoomNoise
from companion.facts.talking import Said

_BRISK_PURPOSES = frozenset({"ask", "read_back", "instruct"})
_BRISK_MODES = frozenset({Mode.ASKING.value, Mode.CONFIRMING.value})


def is_loud(noise: RoomNoise) -> bool:
    """Whether the check before the job found a room in which words are hard to hear."""
    return noise.voice != "reliable"


def takes_its_time(state: State) -> bool:
    """Whether nothing is said briskly now: it is loud, something did not get through or was
    doubted, or all of it was asked for."""
    in_trouble = state.no_matches or state.silences or state.doubted is not None
    return bool(state.is_loud or state.in_full or in_trouble)


def pace_of(said: Said) -> Pace:
    """How fast this is said where nothing speaks for taking time.

    With anything in front (a doubt, a warning, what a command brought about) it is unhurried.
    """
    prompt = said.prompt
    if prompt is None or said.purpose not in _BRISK_PURPOSES or said.mode not in _BRISK_MODES:
        return "unhurried"
    if prompt.again or said.before or prompt.instruction is not None:
        return "unhurried"
    if any(back.value is not None for back in prompt.to_confirm):
        return "unhurried"
    return "brisk"
