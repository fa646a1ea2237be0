"""Which story a move of the aim tells: as planned, or one of the slips that hands make.

Every step that was asked for may have been made the wrong way round, on the other screw, not at
all, or twice or half as far. Each story says how far the screws were really turned; the measured
move is weighed against all of them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from companion.errors import MeasureError
from companion.measure.mount import Mount
from companion.measure.response import SETTING_U_TURNS, Response, as_matrix, learn
from companion.measure.steps import steps_for, tip_travel

MoveKind = Literal[
    "as_planned", "wrong_way", "wrong_screw", "not_turned", "wrong_amount", "unexplained"
]
SlipOfStep = Literal["wrong_way", "wrong_screw", "not_turned", "twice", "half"]
# A signed turn of the screw with this index, in the order in which they are made.
HeadMove = tuple[int, Fraction]

# How likely each story is before the move is seen: judgements. They are set towards naming a slip,
# for one that goes unnamed teaches the response a falsehood; tuned in simulated mounts so that
# fewer than one move in a hundred is called a slip for nothing.
_PRIOR_AS_PLANNED = 0.75
_PRIOR_UNEXPLAINED = 0.01
_PRIOR_SLIPS = 1.0 - _PRIOR_AS_PLANNED - _PRIOR_UNEXPLAINED
_OUT_OF_THE_QUESTION = 1e-4
# Hands mistake the way or the screw more often than the number they were just told.
_WEIGHT_OF_AMOUNT = 0.25
_LEAST_UNEXPLAINED_DEG = 1.0
_SLIPS_OF_STEP: tuple[SlipOfStep, ...] = (
    "wrong_way",
    "wrong_screw",
    "not_turned",
    "twice",
    "half",
)


@dataclass(frozen=True)
class Story:
    """What may have been done. `screw_ids`: the screws whose turns went wrong."""

    kind: MoveKind
    screw_ids: tuple[str, ...]
    moves: tuple[HeadMove, ...]

    def head_moves(self, screw: int) -> tuple[Fraction, ...]:
        """The signed turns of one screw's head, in order."""
        return tuple(turns for index, turns in self.moves if index == screw)

    @property
    def turned(self) -> tuple[Fraction, Fraction]:
        """Net clockwise turns of both heads."""
        return sum(self.head_moves(0), Fraction(0)), sum(self.head_moves(1), Fraction(0))


@dataclass(frozen=True)
class Travel:
    """How far both tips followed their heads, with the doubt that hands and play leave."""

    turns: tuple[float, float]
    u_turns: tuple[float, float]


@dataclass(frozen=True)
class MoveVerdict:
    """The likeliest story of a move, the screws it blames, and its probability (0 to 1).

    `turned`: net clockwise turns of the heads in that story; where none explains the move, those
    of the plan. `wrong_screw`, one screw blamed: its turns went to the other one; both: the two
    were swapped. `possible`: every story that is not out of the question, as probability and
    travel; what is missing to 1 is that none of them is true.
    """

    kind: MoveKind
    screw_ids: tuple[str, ...]
    probability: float
    turned: tuple[Fraction, Fraction]
    possible: tuple[tuple[float, Travel], ...]


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


def _kind(slip: SlipOfStep) -> MoveKind:
    return "wrong_amount" if slip in ("twice", "half") else slip  # type: ignore[return-value]


def possible_stories(mount: Mount, planned_turns: Sequence[Fraction]) -> tuple[Story, ...]:
    """The plan first, then every slip of one step, of one screw, and of both screws.

    Of stories with the same turns only the first is kept, so the simplest slip is named.
    """
    first, second = mount.screws
    ids = first.id, second.id
    planned = tuple((ids.index(s.screw_id), s.clockwise) for s in steps_for(mount, planned_turns))

    def told() -> Iterator[Story]:
        yield Story("as_planned", (), planned)
        turned = sorted({index for index, _ in planned})
        whole: tuple[SlipOfStep, ...] = ("wrong_way", "wrong_screw", "not_turned")
        for slip in whole:
            for screws in ([index] for index in turned):
                yield _with_slip(planned, slip, ids, screws=screws)
            if len(turned) > 1:
                yield _with_slip(planned, slip, ids, screws=turned)
        for slip in _SLIPS_OF_STEP:
            for number, (index, _) in enumerate(planned):
                yield _with_slip(planned, slip, ids, screws=[index], only=number)

    kept: dict[tuple[HeadMove, ...], Story] = {}
    for story in told():
        kept.setdefault(tuple(sorted(story.moves, key=lambda move: move[0])), story)
    return tuple(kept.values())


def _with_slip(
    planned: Sequence[HeadMove],
    slip: SlipOfStep,
    ids: Sequence[str],
    screws: Sequence[int],
    only: int | None = None,
) -> Story:
    """The slip in one step (`only`), or in every step of these screws."""
    moves = tuple(
        made
        for number, move in enumerate(planned)
        for made in (
            _slipped(move, slip)
            if (number == only if only is not None else move[0] in screws)
            else (move,)
        )
    )
    return Story(_kind(slip), tuple(ids[index] for index in screws), moves)


def _log_density(surprise: NDArray[np.float64], spread: NDArray[np.float64]) -> float:
    _, log_determinant = np.linalg.slogdet(spread)
    distance = float(surprise @ np.linalg.solve(spread, surprise))
    return -0.5 * (distance + float(log_determinant))


def explain_move(
    mount: Mount,
    response: Response,
    planned_turns: Sequence[float | Fraction],
    moved_deg: tuple[float, float],
    move_covariance: ArrayLike,
    setting_u_turns: float = SETTING_U_TURNS,
    settled: tuple[bool, bool] = (True, True),
) -> MoveVerdict:
    """Which story the moved aim tells: Bayes' rule over `possible_stories` and none of them.

    As planned is by far the likeliest beforehand; a broad spread about no move stands for anything
    else. `settled`: whether each screw's play was last taken up in the approach direction.
    `move_covariance` 2x2, positive definite. Raises MeasureError if nothing was to be turned.
    """
    turns = tuple(
        Fraction(turn).limit_denominator(screw.step.denominator * 2)
        for turn, screw in zip(planned_turns, mount.screws, strict=True)
    )
    if not any(turns):
        raise MeasureError("a move without turns has no story; wanted is at least one screw turned")
    moved, noise = np.array(moved_deg), np.asarray(move_covariance, dtype=np.float64)
    told = possible_stories(mount, turns)
    travels = [_travel(mount, story, setting_u_turns, settled) for story in told]
    shares = [_WEIGHT_OF_AMOUNT if story.kind == "wrong_amount" else 1.0 for story in told[1:]]
    priors = (_PRIOR_AS_PLANNED, *(_PRIOR_SLIPS * share / sum(shares) for share in shares))
    weights = []
    for travel, prior in zip(travels, priors, strict=True):
        spread = response.change_covariance(travel.turns, travel.u_turns) + noise
        surprise = moved - response.predicted_deg(travel.turns)
        weights.append(math.log(prior) + _log_density(surprise, spread))
    size_deg = float(np.linalg.norm(response.predicted_deg(turns)))
    broad_deg = max(_LEAST_UNEXPLAINED_DEG, 2.0 * size_deg)
    none = math.log(_PRIOR_UNEXPLAINED) + _log_density(moved, noise + broad_deg**2 * np.eye(2))

    best = max(*weights, none)
    total = math.fsum(math.exp(weight - best) for weight in (*weights, none))
    chances = [math.exp(weight - best) / total for weight in weights]
    possible = tuple(
        (chance, travel)
        for chance, travel in zip(chances, travels, strict=True)
        if chance >= _OUT_OF_THE_QUESTION
    )
    likeliest = max(range(len(told)), key=lambda index: chances[index])
    if none >= weights[likeliest]:
        return MoveVerdict("unexplained", (), 1.0 / total, told[0].turned, possible)
    story = told[likeliest]
    return MoveVerdict(story.kind, story.screw_ids, chances[likeliest], story.turned, possible)


def learn_from_move(
    response: Response,
    verdict: MoveVerdict,
    moved_deg: tuple[float, float],
    move_covariance: ArrayLike,
) -> Response:
    """The response after a move whose story is only probably known.

    Each possible story teaches its own response; what is kept is their mean, with the doubt of
    not knowing which one is true (moments of the mixture). What no story explains teaches nothing.
    """
    rest = max(0.0, 1.0 - math.fsum(chance for chance, _ in verdict.possible))
    taught = [(rest, response)] + [
        (chance, learn(response, travel.turns, *moved_deg, move_covariance, travel.u_turns))
        for chance, travel in verdict.possible
    ]
    means = [np.ravel(item.mean) for _, item in taught]
    mean = sum(
        (chance * item for (chance, _), item in zip(taught, means, strict=True)), np.zeros(4)
    )
    covariance = np.zeros((4, 4))
    for (chance, item), own in zip(taught, means, strict=True):
        off = own - mean
        covariance += chance * (np.array(item.covariance) + np.outer(off, off))
    return Response(as_matrix(mean.reshape(2, 2)), as_matrix(covariance))


def _travel(
    mount: Mount, story: Story, setting_u_turns: float, settled: tuple[bool, bool]
) -> Travel:
    """Mean and doubt of both tips' travel; a screw that is left alone is not set wrongly."""
    means, doubts = [], []
    for index, screw in enumerate(mount.screws):
        moves = story.head_moves(index)
        mean, u = tip_travel(screw, mount.approach, moves, settled=settled[index])
        means.append(mean)
        doubts.append(math.hypot(u, setting_u_turns) if moves else 0.0)
    return Travel((means[0], means[1]), (doubts[0], doubts[1]))
