"""How much of a prompt is said: in full the first time, then as short as it is safe.

On the screen a prompt always stands in full. It is said in full again after it was not answered,
after a break, and on "repeat"; heard often enough, it becomes short. All of it
follows from what was told before, so it comes out the same when the events are played again.
"""

from __future__ import annotations

from dataclasses import dataclass

from companion.dialogue import prompts
from companion.dialogue.state import Mode, State
from companion.dialogue.transaction import Transaction
from companion.facts.instructions import Direction, Instruction, MoveStand, TurnScrew
from companion.facts.message import Message, Told
from companion.language.expectation import Expectation

FIRST_FEW = 1
"""So often it is said how a read-back and an instruction are answered; and again after a miss."""
UNITS_ALWAYS_SAID = frozenset({"turns"})
_SIDES = frozenset({"left", "right"})
_SENSES = frozenset({"clockwise", "anticlockwise"})


@dataclass(frozen=True)
class Wording:
    """A prompt in its forms: what is asked, how to answer, and the short form.

    `known_by`: what it is known by once it was said in full. `times`: so often in full.
    """

    ask: Told
    reply: Told
    short: Told
    known_by: str
    times: int = 1


def said(tx: Transaction, wording: Wording, *, short: bool = False) -> Told | None:
    """What is said of it now: None for all of it. `short`: the short form is enough anyhow."""
    state = tx.state
    known = short or state.told.get(wording.known_by, 0) >= wording.times
    if known and not state.in_full:
        return wording.short
    tx.count(wording.known_by)
    return None


def said_once_more(state: State) -> Told | None:
    """What a first miss hears: the short form of what it heard in full, else all of it.

    Of a question the choices: those are what was not understood.
    """
    prompt = state.prompt
    if prompt is None or prompt.said_short or state.mode is not Mode.ASKING or state.no_matches > 1:
        return None
    if prompt.expectation.yes_no:
        # A yes is a yes to what was just named.
        return None
    choices = prompt.reply if prompt.expectation.choices else ""
    return choices or prompt.short or None


def beside_an_example(state: State, ask: Told, short: Told) -> Told:
    """What is said behind an example of how to say it: what is asked for, as short as at any miss.

    How it is to be said the example shows; both would last longer than six seconds.
    """
    heard_short = state.prompt is not None and state.prompt.said_short
    return ask if heard_short or state.no_matches > 1 else short or ask


def said_back_short(state: State, told: Message, unit: str | None, bare: Message) -> Message:
    """An answer said back: without its unit where that was said back before and stands fast."""
    known = unit is not None and state.told.get(unit_of(unit), 0) > 0
    keeps = not known or unit in UNITS_ALWAYS_SAID or state.in_full
    return prompts.asked_back(told if keeps else bare)


def unit_of(unit: str) -> str:
    """What a unit is known by, once it was said back."""
    return f"unit: {unit}"


def remark_where_first_needed(
    tx: Transaction,
    expectation: Expectation,
    instruction: Instruction | None,
    names_sides: bool = False,
) -> None:
    """Say how directions are meant, where one is first needed."""
    ways: set[str] = set(expectation.number.directions) if expectation.number is not None else set()
    if names_sides:
        ways |= _SIDES
    match instruction:
        case TurnScrew(_, sense, _):
            ways.add(Direction(sense).value)
        case MoveStand(_, direction, _, _):
            ways.add(direction.value)
        case _:
            pass
    for remark, meant in ((prompts.SIDES, _SIDES), (prompts.CLOCKWISE, _SENSES)):
        if ways & meant and remark.id not in tx.state.told:
            tx.count(remark.id)
            tx.announce(remark, "explain")
