"""What may have been done when turns of the screws were asked for: as planned, or with a slip.

Every step may have been made the wrong way round, on the other screw, not at all, or twice or half
as far. Each story says how far the screws' heads were really turned.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from companion.measure.mount import Mount
from companion.measure.steps import steps_for

StoryKind = Literal["as_planned", "wrong_way", "wrong_screw", "not_turned", "wrong_amount"]
SlipOfStep = Literal["wrong_way", "wrong_screw", "not_turned", "twice", "half"]
# A signed turn of the screw with this index, in the order in which they are made.
HeadMove = tuple[int, Fraction]

_WHOLE_SCREW: tuple[SlipOfStep, ...] = ("wrong_way", "wrong_screw", "not_turned")
_ONE_STEP: tuple[SlipOfStep, ...] = (*_WHOLE_SCREW, "twice", "half")


@dataclass(frozen=True)
class Story:
    """What may have been done. `screw_ids`: the screws whose turns went wrong."""

    kind: StoryKind
    screw_ids: tuple[str, ...]
    moves: tuple[HeadMove, ...]

    def head_moves(self, screw: int) -> tuple[Fraction, ...]:
        """The signed turns of one screw's head, in order."""
        return tuple(turns for index, turns in self.moves if index == screw)

    @property
    def turned(self) -> tuple[Fraction, Fraction]:
        """Net clockwise turns of both heads."""
        return sum(self.head_moves(0), Fraction(0)), sum(self.head_moves(1), Fraction(0))


def possible_stories(mount: Mount, planned_turns: Sequence[Fraction]) -> tuple[Story, ...]:
    """The plan first, then every slip of one screw, of both screws, and of one step.

    Of stories with the same turns only the first is kept, so the simplest slip is named.
    """
    first, second = mount.screws
    ids = first.id, second.id
    planned = tuple((ids.index(s.screw_id), s.clockwise) for s in steps_for(mount, planned_turns))
    turned = sorted({index for index, _ in planned})
    groups = [(index,) for index in turned] + ([tuple(turned)] if len(turned) > 1 else [])

    def told() -> Iterator[Story]:
        yield Story("as_planned", (), planned)
        made = {slip: [_slipped(move, slip) for move in planned] for slip in _ONE_STEP}
        for slip in _WHOLE_SCREW:
            for group in groups:
                steps = [n for n, (index, _) in enumerate(planned) if index in group]
                yield _with_slip(planned, made, slip, steps, [ids[index] for index in group])
        for slip in _ONE_STEP:
            for number, (index, _) in enumerate(planned):
                yield _with_slip(planned, made, slip, [number], [ids[index]])

    kept: dict[tuple[tuple[float, ...], ...], Story] = {}
    for story in told():
        kept.setdefault(_heads(story), story)
    return tuple(kept.values())


def _heads(story: Story) -> tuple[tuple[float, ...], ...]:
    """The turns of each head in order; between the screws the order makes no difference."""
    return tuple(tuple(float(t) for i, t in story.moves if i == screw) for screw in (0, 1))


def _slipped(move: HeadMove, slip: SlipOfStep) -> tuple[HeadMove, ...]:
    index, turns = move
    match slip:
        case "wrong_way":
            return ((index, -turns),)
        case "wrong_screw":
            return ((1 - index, turns),)
        case "not_turned":
            return ()
        case "twice":
            return ((index, 2 * turns),)
        case "half":
            return ((index, turns / 2),)


def _with_slip(
    planned: Sequence[HeadMove],
    made: dict[SlipOfStep, list[tuple[HeadMove, ...]]],
    slip: SlipOfStep,
    steps: Sequence[int],
    blamed: Sequence[str],
) -> Story:
    """The slip in the steps with these numbers."""
    moves: list[HeadMove] = []
    for number, move in enumerate(planned):
        moves.extend(made[slip][number] if number in steps else (move,))
    kind: StoryKind = "wrong_amount" if slip == "twice" or slip == "half" else slip
    return Story(kind, tuple(blamed), tuple(moves))
