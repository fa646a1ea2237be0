"""Slips that people make: which, when, and what came of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random
from typing import Literal, get_args

ReadingSlip = Literal[
    "swaps_digits", "off_by_ten", "off_by_one", "reads_other_side", "mixes_up_direction"
]
ActingSlip = Literal["moves_wrong_way", "wrong_amount", "screw_wrong_way", "other_screw"]
TalkingSlip = Literal[
    "late",
    "says_it_twice",
    "out_of_grammar",
    "silent",
    "says_wait",
    "says_repeat",
    "says_go_back",
    "asks_where",
]
ConfirmingSlip = Literal["confirms_wrong", "overlooks_in_group"]
SlipKind = ReadingSlip | ActingSlip | TalkingSlip | ConfirmingSlip

READING_SLIPS: tuple[ReadingSlip, ...] = get_args(ReadingSlip)
ACTING_SLIPS: tuple[ActingSlip, ...] = get_args(ActingSlip)
TALKING_SLIPS: tuple[TalkingSlip, ...] = get_args(TalkingSlip)


@dataclass(frozen=True, slots=True)
class PlannedSlip:
    """This slip, at the so-manieth occasion (from 1) on which it could be made.

    `scale` narrows a reading slip to one scale ("spot", "echo"); occasions are counted there.
    """

    kind: SlipKind
    occasion: int = 1
    scale: str | None = None


@dataclass(frozen=True, slots=True)
class MadeSlip:
    """A slip that was made. `harmful`: by truth, what was said or done is wrong by enough to tell.

    Enough is more than two steps of the scale for a reading, and any wrong turn or move. `figures`:
    of a reading what was right and what was read, signed; None for any other slip.
    """

    kind: SlipKind
    prompt: str
    meant: str
    made: str
    harmful: bool
    figures: tuple[Decimal, Decimal] | None = None


@dataclass
class Slips:
    """Decides when a slip happens, and keeps the list of those that did.

    `planned` happen for certain, when their occasion comes; `chances` are per occasion.
    """

    random: Random
    planned: Sequence[PlannedSlip] = ()
    chances: Mapping[SlipKind, float] = field(default_factory=dict)
    made: list[MadeSlip] = field(default_factory=list)
    _occasions: dict[tuple[SlipKind, str | None], int] = field(default_factory=dict)

    def strikes(self, kind: SlipKind, scale: str | None = None) -> bool:
        """Whether it happens on this occasion; each call is one occasion."""
        for key in {(kind, None), (kind, scale)}:
            self._occasions[key] = self._occasions.get(key, 0) + 1
        for plan in self.planned:
            counted = self._occasions.get((kind, plan.scale), 0)
            fits = plan.kind == kind and plan.scale in (None, scale)
            if fits and counted == plan.occasion:
                return True
        chance = self.chances.get(kind, 0.0)
        return chance > 0.0 and self.random.random() < chance

    def note(
        self,
        kind: SlipKind,
        prompt: str,
        meant: str,
        made: str,
        *,
        harmful: bool,
        figures: tuple[Decimal, Decimal] | None = None,
    ) -> None:
        """Remember a slip that was made."""
        self.made.append(MadeSlip(kind, prompt, meant, made, harmful, figures))
