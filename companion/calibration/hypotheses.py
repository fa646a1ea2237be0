"""What may have been done when turns of the screws were asked for: as planned, or with a slip.

Every step may have been made the wrong way round, on another screw, not at all, or twice or half
as far. Each story says how far the screws' heads were really turned: none turns beyond its travel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations, permutations
from typing import Literal

from companion.calibration.mirrored import MirroredKind
from companion.calibration.mount import Mount
from companion.calibration.steps import steps_for

TurnedKind = Literal[
    "as_planned", "wrong_way", "wrong_screw", "not_turned", "twice_as_far", "half_as_far"
]
StoryKind = TurnedKind | MirroredKind
AMOUNTS = frozenset({"twice_as_far", "half_as_far"})
_NONE = Fraction(0)
# The screw with this index, and so many units clockwise.
_Move = tuple[int, int]
# What it is called, the screws that it blames, those turned in their place, and what was done.
_Slip = tuple[StoryKind, tuple[int, ...], tuple[int, ...], Sequence[_Move]]


@dataclass(frozen=True)
class Story:
    """What may have been done.

    `screw_ids`: the screws whose turns went wrong; `instead_ids`: the screws that got the turns of
    those, in their order (wrong screw only). `heads`: each screw's moves in order, + = clockwise,
    in units of `unit` of a turn: whole numbers, so that stories are weighed fast and exactly.
    """

    kind: StoryKind
    screw_ids: tuple[str, ...]
    instead_ids: tuple[str, ...]
    heads: tuple[tuple[int, ...], ...]
    unit: Fraction

    def head_moves(self, screw: int) -> tuple[Fraction, ...]:
        """The signed turns of one screw's head, in order."""
        return tuple(count * self.unit for count in self.heads[screw])

    @property
    def turned(self) -> tuple[Fraction, ...]:
        """Net clockwise turns of every head."""
        return tuple(sum(counts) * self.unit for counts in self.heads)


def possible_stories(
    mount: Mount, planned_turns: Sequence[Fraction], turned_before: Sequence[Fraction] | None = None
) -> tuple[Story, ...]:
    """The plan first, then every slip of one screw, of several screws, and of one step.

    `turned_before`: net clockwise turns of each screw since its travel was counted; none of them
    if left out. Of stories with the same turns only the first is kept, so the simplest slip is
    named; but where a screw came to the end of its travel, the slip that drove it there is kept
    beside the one that would have left it where it stood.
    """
    ids = [screw.id for screw in mount.screws]
    steps = steps_for(mount, planned_turns)
    rooms = _rooms(mount, turned_before or [_NONE] * len(ids))
    # Half a turn's smallest part, for a step may have been made half as far.
    parts = [step.turns for step in steps] + [turns for room in rooms for turns in room]
    units_a_turn = 2 * math.lcm(*(turns.denominator for turns in parts))
    planned: list[_Move] = []
    for step in steps:
        size = step.turns.numerator * (units_a_turn // step.turns.denominator)
        planned.append((ids.index(step.screw_id), size if step.direction == "clockwise" else -size))

    unit = Fraction(1, units_a_turn)
    called = {
        group: tuple([ids[index] for index in group])
        for size in range(len(ids) + 1)
        for group in permutations(range(len(ids)), size)
    }
    least = [int(low * units_a_turn) for low, _ in rooms]
    most = [int(high * units_a_turn) for _, high in rooms]
    kept: dict[tuple[tuple[int, ...], ...], Story] = {}
    for kind, blamed, instead, moves in _slips(planned, len(ids)):
        wanted = _heads(moves, len(ids))
        if wanted not in kept:
            heads = tuple(map(_within, wanted, least, most))
            kept[wanted] = Story(kind, called[blamed], called[instead], heads, unit)
    return tuple(kept.values())


def _rooms(mount: Mount, turned: Sequence[Fraction]) -> list[tuple[Fraction, Fraction]]:
    """How far each screw's head can go, anticlockwise (0 or less) and clockwise (0 or more)."""
    rooms = []
    for screw, so_far in zip(mount.screws, turned, strict=True):
        least, most = screw.travel
        rooms.append((min(_NONE, least - so_far), max(_NONE, most - so_far)))
    return rooms


def _heads(moves: Sequence[_Move], screws: int) -> tuple[tuple[int, ...], ...]:
    """The moves of each head in order; between the screws the order makes no difference."""
    heads: list[list[int]] = [[] for _ in range(screws)]
    for index, size in moves:
        heads[index].append(size)
    return tuple(map(tuple, heads))


def _within(moves: tuple[int, ...], least: int, most: int) -> tuple[int, ...]:
    """The moves as far as the travel lets the head go."""
    if least <= -sum(map(abs, moves)) and sum(map(abs, moves)) <= most:
        return moves
    made, stands = [], 0
    for size in moves:
        reached = min(max(stands + size, least), most)
        made.append(reached - stands)
        stands = reached
    return tuple(made)


def _slips(planned: Sequence[_Move], screws: int) -> Iterator[_Slip]:
    """No slip, then those of whole screws: their names say more than that of a single step."""
    yield "as_planned", (), (), planned
    turned = sorted({index for index, _ in planned})
    groups = [g for count in range(1, len(turned) + 1) for g in combinations(turned, count)]
    for group in groups:
        moves = [(index, -size if index in group else size) for index, size in planned]
        yield "wrong_way", group, (), moves
    for onto in _other_screws(turned, screws):
        moves = [(onto.get(index, index), size) for index, size in planned]
        yield "wrong_screw", tuple(onto), tuple(onto.values()), moves
    for group in groups:
        yield "not_turned", group, (), [move for move in planned if move[0] not in group]
    yield from _slips_of_a_step(planned, screws)


def _other_screws(turned: Sequence[int], screws: int) -> Iterator[dict[int, int]]:
    """The turns of one screw made on another, or those of two screws on each other."""
    for index in turned:
        for other in range(screws):
            if other != index:
                yield {index: other}
    for first, second in combinations(turned, 2):
        yield {first: second, second: first}


def _slips_of_a_step(planned: Sequence[_Move], screws: int) -> Iterator[_Slip]:
    def instead_of(number: int, *moves: _Move) -> list[_Move]:
        return [*planned[:number], *moves, *planned[number + 1 :]]

    for number, (index, size) in enumerate(planned):
        yield "wrong_way", (index,), (), instead_of(number, (index, -size))
    for number, (index, size) in enumerate(planned):
        for other in range(screws):
            if other != index:
                yield "wrong_screw", (index,), (other,), instead_of(number, (other, size))
    for number, (index, _) in enumerate(planned):
        yield "not_turned", (index,), (), instead_of(number)
    for number, (index, size) in enumerate(planned):
        yield "twice_as_far", (index,), (), instead_of(number, (index, 2 * size))
    for number, (index, size) in enumerate(planned):
        yield "half_as_far", (index,), (), instead_of(number, (index, size // 2))
