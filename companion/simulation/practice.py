"""The simulated bay around a person: what its instruments show, and what that person's hands do.

The person takes the simulated technician's place: he reads the instruments himself and says when
something is done. Then it is done, as it was asked for or as he chose to get it wrong.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from random import Random

from companion.facts.answers import Accepted, Answered
from companion.facts.instructions import (
    Direction,
    Instruction,
    MoveStand,
    PlaceBy,
    PlaceShim,
    TurnScrew,
)
from companion.facts.practice import BayShows
from companion.facts.prompting import Prompted
from companion.facts.talking import Said
from companion.job.setup_files import Vehicle
from companion.simulation.acts import act_of, perform
from companion.simulation.misreading import read_off
from companion.simulation.script import Reads, Script
from companion.simulation.verdicts import verdict_of
from companion.simulation.world import World

_OPPOSITE = {
    Direction.LEFT: Direction.RIGHT,
    Direction.UP: Direction.DOWN,
    Direction.IN: Direction.OUT,
    Direction.TOWARDS: Direction.AWAY,
    Direction.CLOCKWISE: Direction.ANTICLOCKWISE,
}
OPPOSITE = {**_OPPOSITE, **{back: there for there, back in _OPPOSITE.items()}}


@dataclass(frozen=True, slots=True)
class ReadWrong:
    """A reading that was confirmed and is not what the instrument showed. Signed, in `unit`."""

    title: str
    shown: Decimal
    taken: Decimal
    unit: str
    directions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class DoneOtherwise:
    """Something that was done `times` as far as was asked for; below zero the other way."""

    instruction: Instruction
    times: Decimal


class PracticeBay:
    """Takes in every fact that the job tells, and tells what there is to see at each prompt."""

    def __init__(self, world: World, vehicle: Vehicle, script: Script, random: Random) -> None:
        self._world = world
        self._vehicle = vehicle
        self._script = script
        self._random = random
        self._scales = {name: (reads.name, reads.where) for name, reads in script.readings.items()}
        self._answered = {n: a for n, a in script.answers.items() if isinstance(a, str)}
        self._seen: dict[str, Decimal] = {}
        self._at_hand: dict[str, tuple[Reads, BayShows]] = {}
        self._did_first: tuple[str, ...] = ()
        self._prompt: Said | None = None
        self._times = Decimal(1)
        self.readings_taken = 0
        self.read_wrong: list[ReadWrong] = []
        self.done_otherwise: list[DoneOtherwise] = []

    def asked(self, said: Said, titles: Mapping[str, str]) -> tuple[BayShows, ...]:
        """What there is to see at this prompt; whatever comes before a reading is done first.

        A reading that is only asked for again is the same; one that is taken anew is read anew.
        `titles`: what the job calls its steps.
        """
        self._prompt, self._times = said, Decimal(1)
        asks, step_id = said.prompt or Prompted(), said.step_id or ""
        self._do_first(asks)
        if asks.answer == "number":
            return self._read_all((step_id, *asks.also), titles, again=asks.again)
        if asks.said_back is not None and asks.said_back.proposed:
            return self._true_here(step_id, titles.get(step_id, ""))
        if asks.answer == "choice" and said.mode != "resuming" and not asks.to_confirm:
            return self._true_here(step_id, titles.get(step_id, ""))
        if asks.behind is not None and asks.behind.answer == "number":
            return self._read_all(
                (asks.behind.step_id, *asks.behind.also), titles, again=asks.again
            )
        if asks.behind is not None:
            return self._true_here(asks.behind.step_id, titles.get(asks.behind.step_id, ""))
        return ()

    def will_do(self, times: Decimal) -> bool:
        """Do what is asked for so many times as far; False where nothing is to be moved."""
        asks = self._prompt.prompt if self._prompt is not None else None
        if asks is None or asks.instruction is None or asks.answer != "done":
            return False
        self._times = times
        return True

    def done(self) -> None:
        """The person said that it is done: now the bay stands so."""
        said = self._prompt
        if said is None or said.prompt is None or said.prompt.answer != "done":
            return
        self._at_hand = {}
        instruction = said.prompt.instruction
        if instruction is None:
            self._perform_script(said.step_id or "")
            return
        if self._times != 1:
            self.done_otherwise.append(DoneOtherwise(instruction, self._times))
        really = times_as_far(instruction, self._times)
        act = act_of(really, self._scales) if really is not None else None
        if act is not None:
            perform(act, self._world)

    def accepted(self, fact: Accepted) -> None:
        """A reading counts from now on: was it what the instrument showed?"""
        shown, taken = self._seen.get(fact.reading_id), Decimal(fact.value)
        self.readings_taken += 1
        if shown is not None and shown != taken:
            scale = self._script.readings[fact.reading_id].after(self._answered).scale
            ways = scale.directions or ()
            self.read_wrong.append(ReadWrong(fact.title, shown, taken, fact.unit, ways))

    def answered(self, fact: Answered) -> None:
        """A question was answered: some readings are then taken another way."""
        self._answered[fact.step_id] = fact.choice

    def _do_first(self, asks: Prompted) -> None:
        """What was said in front of a question; once, however often that is said in a row."""
        if asks.first != self._did_first:
            for name in asks.first:
                self._perform_script(name)
        self._did_first = asks.first

    def _perform_script(self, step_id: str) -> None:
        for act in self._script.acts.get(step_id, ()):
            perform(act, self._world)

    def _read_all(
        self, step_ids: Sequence[str], titles: Mapping[str, str], *, again: bool
    ) -> tuple[BayShows, ...]:
        known = [name for name in step_ids if name in self._script.readings]
        held = self._at_hand if again else {}
        wanted = {name: self._script.readings[name].after(self._answered) for name in known}
        if any(name not in held or held[name][0] != reads for name, reads in wanted.items()):
            self._at_hand = {
                name: (reads, self._read(name, reads, titles.get(name, "")))
                for name, reads in wanted.items()
            }
        return tuple(self._at_hand[name][1] for name in known)

    def _read(self, step_id: str, reads: Reads, title: str) -> BayShows:
        for act in reads.before:
            perform(act, self._world)
        value, scale = read_off(reads, self._world, self._random), reads.scale
        self._seen[step_id] = value
        return BayShows(
            step_id=step_id,
            title=title,
            instrument=reads.name,
            value=format(value, "f"),
            unit=scale.unit,
            resolution=format(scale.resolution, "f"),
            directions=scale.directions or (),
        )

    def _true_here(self, step_id: str, title: str) -> tuple[BayShows, ...]:
        answer = self._script.answers.get(step_id)
        if answer is None or step_id in self._script.keeps_sound:
            return ()
        if not isinstance(answer, str):
            answer = verdict_of(answer, self._world, self._vehicle)
        return (BayShows(step_id=step_id, title=title, choice=answer),)


def times_as_far(instruction: Instruction, times: Decimal) -> Instruction | None:
    """The instruction so many times as far, below zero the other way; None for not at all.

    A shim only ever lies thicker or thinner, and what is put by its readings stands there or not.
    """
    size = abs(times)
    if size == 0:
        return None
    match instruction:
        case MoveStand(_, direction, amount, _):
            way = direction if times > 0 else OPPOSITE[direction]
            return replace(instruction, direction=way, amount=amount * size)
        case TurnScrew(_, sense, turns):
            way = sense if times > 0 else OPPOSITE[sense]
            return replace(instruction, sense=way, turns=turns * Fraction(size))
        case PlaceShim(_, thickness_mm):
            return replace(instruction, thickness_mm=thickness_mm * size)
        case PlaceBy():
            return instruction
