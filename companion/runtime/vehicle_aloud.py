"""Which of the shop's vehicles it is: asked before anything else, said back, confirmed by a yes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.errors import CompanionError
from companion.facts.meanings import Command
from companion.facts.message import Message, as_message, in_a_row
from companion.facts.opening import VehicleChoice
from companion.job.own_files import OwnFile
from companion.language.listed import Lacking, Listed
from companion.runtime.aloud import MOST_IN_VAIN, Aloud

MOST_SAID = 4
"""So many are said in one go: more are not kept in mind. The screen lists them all."""


class VehicleLeft(CompanionError):
    """Nobody said which vehicle it is."""


@dataclass
class VehicleAloud:
    """The conversation that chooses one of the vehicles `offered`.

    `lacking`: of words those that the ears do not know. `last`: the place in the list, from 1, of
    the vehicle that was worked on last; 0 for none.
    """

    talk: Aloud
    offered: Sequence[OwnFile]
    lacking: Lacking
    last: int = 0

    def choose(self) -> tuple[OwnFile, VehicleChoice]:
        """The vehicle that a yes was said to, and how it was chosen.

        Raises VehicleLeft where it was stopped or nothing was understood, SoundEnded where nothing
        more can be heard.
        """
        language = self.talk.language
        for place, one in enumerate(self.offered, start=1):
            row = {"place": str(place), "vehicle": one.told, "file": one.name}
            self.talk.show(language.show(Message("vehicle-row", row)))
        if self.last:
            self.talk.tell(Message("vehicle-last", self._named(self.last)))
        grammar = language.listed([(one.told, one.name) for one in self.offered], self.lacking)
        among = tuple(range(1, len(self.offered) + 1))
        first, in_vain = 0, 0
        while in_vain < MOST_IN_VAIN:
            self._ask(among[first : first + MOST_SAID], more=len(among) > first + MOST_SAID)
            meaning, words = self.talk.heard("vehicle", grammar)
            match meaning:
                case Listed((place,)):
                    if self._is_right(place):
                        chosen = self.offered[place - 1]
                        choice = VehicleChoice(
                            offered=tuple(one.name for one in self.offered),
                            name=chosen.name,
                            heard=words,
                            ears=self.talk.ears.name,
                            language=language.code,
                        )
                        return chosen, choice
                    in_vain += 1
                    among, first = tuple(range(1, len(self.offered) + 1)), 0
                case Listed(()):
                    in_vain += 1
                    self.talk.tell(Message("vehicle-not-listed", {"count": len(self.offered)}))
                case Listed(several):
                    among, first = several, 0
                case Command("carry_on"):
                    first = first + MOST_SAID if first + MOST_SAID < len(among) else 0
                case Command("repeat"):
                    pass
                case Command("stop"):
                    break
                case _:
                    in_vain += 1
                    self.talk.tell(Message("vehicle-not-understood"))
        raise VehicleLeft(
            "no vehicle was chosen; wanted: its number, or 'companion start --vehicle NAME'",
            said="vehicle-left",
        )

    def _ask(self, places: Sequence[int], *, more: bool) -> None:
        rows = (Message("vehicle-said", self._named(place)) for place in places)
        behind = (Message("vehicle-more"),) if more else ()
        told = as_message(in_a_row(Message("vehicle-ask"), *rows, *behind))
        self.talk.tell(told)

    def _is_right(self, place: int) -> bool:
        said = Message("vehicle-back", self._named(place))
        right = self.talk.is_right("vehicle_back", said, said)
        if right is None:
            raise VehicleLeft(
                "the vehicle got no yes; wanted: a yes, or 'companion start --vehicle NAME'",
                said="vehicle-no-yes",
            )
        return right

    def _named(self, place: int) -> dict[str, str | int]:
        return {"place": place, "vehicle": self.offered[place - 1].told}
