"""What may have been done when turns of the screws were asked for: as planned, or with a slip.

Every step may have been made the wrong way round, on another screw, not at all, or twice or half
as far. Each story says how far the screws' heads were really turned: none turns beyond its travel.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import combinations, permutations
from typing import Literal, NamedTuple

from companion.calibration.mirrored import MirroredKind
from companion.calibration.mount import Mount
from companion.calibration.steps import steps_for

TurnedKind = Literal[
    "as_planned", "wrong_way", "wrong_screw", "not_turned", "twice_as_far", "half_as_far"
]
StoryKind = TurnedKind | MirroredKind
AMOUNTS: frozenset[StoryKind] = frozenset({"twice_as_far", "half_as_far"})
_NONE = Fraction(0)
# Of each screw its moves in order, in units clockwise; between screws the order does not matter.
_Heads = tuple[tuple[int, ...], ...]
# What it is called, the screws that it blames, those turned in their place, and what was done.
_Slip = tuple[StoryKind, tuple[int, ...], tuple[int, ...], _Heads]


class Story(NamedTuple):
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

    @property
    def name(self) -> tuple[StoryKind, tuple[str, ...], tuple[str, ...]]:
        """What tells it from stories of another name: its kind and the screws that it blames."""
        return self.kind, self.screw_ids, self.instead_ids

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
    rooms = _rooms(mount, turned_before)
    # Half a turn's smallest part, for a step may have been made half as far.
    parts = [step.turns for step in steps] + [turns for room in rooms for turns in room]
    units_a_turn = 2 * math.lcm(*(turns.denominator for turns in parts))
    moves: list[list[int]] = [[] for _ in ids]
    for step in steps:
        size = step.turns.numerator * (units_a_turn // step.turns.denominator)
        moves[ids.index(step.screw_id)].append(size if step.direction == "clockwise" else -size)
    planned = tuple(map(tuple, moves))

    unit = Fraction(1, units_a_turn)
    called = {
        group: tuple([ids[index] for index in group])
        for size in range(len(ids) + 1)
        for group in permutations(range(len(ids)), size)
    }
    least, most = (
        [end.numerator * (units_a_turn // end.denominator) for end in ends]
        for ends in zip(*rooms, strict=True)
    )
    # All steps on one screw, and one of them twice as far: nothing goes further.
    furthest = 2 * sum([abs(size) for made in planned for size in made])
    ends_count = max(least) > -furthest or min(most) < furthest
    kept: dict[_Heads, Story] = {}
    for kind, blamed, instead, wanted in _slips(planned):
        if wanted not in kept:
            heads = tuple(map(_within, wanted, least, most)) if ends_count else wanted
            kept[wanted] = Story(kind, called[blamed], called[instead], heads, unit)
    return tuple(kept.values())


def _rooms(mount: Mount, turned: Sequence[Fraction] | None) -> list[tuple[Fraction, Fraction]]:
    """How far each screw's head can go, anticlockwise (0 or less) and clockwise (0 or more)."""
    if turned is None:
        return [screw.travel for screw in mount.screws]
    rooms = []
    for screw, so_far in zip(mount.screws, turned, strict=True):
        least, most = screw.travel
        rooms.append((min(_NONE, least - so_far), max(_NONE, most - so_far)))
    return rooms


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


def _slips(planned: _Heads) -> Iterator[_Slip]:
    """No slip, then those of whole screws: their names say more than that of a single step."""
    yield "as_planned", (), (), planned
    screws = range(len(planned))
    turned = [index for index in screws if planned[index]]
    groups = [g for count in range(1, len(turned) + 1) for g in combinations(turned, count)]
    back = [tuple([-size for size in moves]) for moves in planned]
    for group in groups:
        heads = tuple([back[index] if index in group else planned[index] for index in screws])
        yield "wrong_way", group, (), heads
    for onto in _other_screws(turned, len(planned)):
        yield "wrong_screw", tuple(onto), tuple(onto.values()), _made_on(planned, onto)
    for group in groups:
        heads = tuple([() if index in group else planned[index] for index in screws])
        yield "not_turned", group, (), heads
    yield from _slips_of_a_step(planned)


def _other_screws(turned: Sequence[int], screws: int) -> Iterator[dict[int, int]]:
    """The turns of one screw made on another, or those of two screws on each other."""
    for index in turned:
        for other in range(screws):
            if other != index:
                yield {index: other}
    for first, second in combinations(turned, 2):
        yield {first: second, second: first}


def _made_on(planned: _Heads, onto: Mapping[int, int]) -> _Heads:
    """The moves on other screws than planned; they are made in the order of the plan."""
    heads: list[tuple[int, ...]] = [()] * len(planned)
    for index, moves in enumerate(planned):
        screw = onto.get(index, index)
        heads[screw] += moves
    return tuple(heads)


def _slips_of_a_step(planned: _Heads) -> Iterator[_Slip]:
    def instead(index: int, at: int, *made: int) -> _Heads:
        moves = planned[index]
        changed = (*moves[:at], *made, *moves[at + 1 :])
        return (*planned[:index], changed, *planned[index + 1 :])

    steps = [
        (index, at, size) for index, moves in enumerate(planned) for at, size in enumerate(moves)
    ]
    for index, at, size in steps:
        yield "wrong_way", (index,), (), instead(index, at, -size)
    for index, at, size in steps:
        without = instead(index, at)
        for other, moves in enumerate(planned):
            if other != index:
                # What is planned for a later screw comes after it.
                changed = (size, *moves) if other > index else (*moves, size)
                heads = (*without[:other], changed, *without[other + 1 :])
                yield "wrong_screw", (index,), (other,), heads
    for index, at, _ in steps:
        yield "not_turned", (index,), (), instead(index, at)
    for index, at, size in steps:
        yield "twice_as_far", (index,), (), instead(index, at, 2 * size)
    for index, at, size in steps:
        yield "half_as_far", (index,), (), instead(index, at, size // 2)
