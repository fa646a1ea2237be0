"""Which story a move of the aim tells, how sure that is, and what the move teaches.

The measured move is weighed against what every possible story foretells (Bayes' rule). A slip is
only named for certain where its name is far likelier than any other; else both names are said.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal, NamedTuple, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from companion.calibration.hypotheses import AMOUNTS, Story, StoryKind, possible_stories
from companion.calibration.mirrored import Mirrored, MirroredKind, mirrored_sets
from companion.calibration.mount import Mount
from companion.calibration.response import SETTING_U_TURNS, Response, as_matrix, learn
from companion.calibration.steps import tip_travels
from companion.errors import MeasureError

MoveKind = StoryKind | Literal["unexplained", "ambiguous"]

# How likely each story is before the move is seen: judgements. They are set towards naming a slip,
# for one that goes unnamed teaches the response a falsehood; tuned in simulated mounts so that
# fewer than one move in a hundred is called a slip for nothing.
_PRIOR_AS_PLANNED = 0.75
_PRIOR_UNEXPLAINED = 0.01
_PRIOR_SLIPS = 1.0 - _PRIOR_AS_PLANNED - _PRIOR_UNEXPLAINED
_OUT_OF_THE_QUESTION = 1e-4
# Hands mistake the way or the screw more often than the number they were just told.
_WEIGHT_OF_AMOUNT = 0.25
# A whole set the wrong way round is rarer than a screw turned so.
_WEIGHT_OF_MIRRORED = 0.5
# How likely beforehand a slip is, beside a screw turned the wrong way.
_WEIGHTS: dict[StoryKind, float] = {
    **dict.fromkeys(AMOUNTS, _WEIGHT_OF_AMOUNT),
    **dict.fromkeys(get_args(MirroredKind), _WEIGHT_OF_MIRRORED),
}
_LEAST_UNEXPLAINED_DEG = 1.0
_BOTH_ALIKE = np.eye(2)
# A story less likely than this adds nothing to any name.
_NOTHING = 1e-15
# A slip is named alone when its name takes this share of its own chance and the next name's
# together; else both are named. At 0.7 slips that stand clear of the doubt keep their names, and
# nine in ten of the wrong names given to smaller ones fall away (simulated mounts).
_SURE_OF_A_NAME = 0.7


class Travel(NamedTuple):
    """How far the tips followed their heads, with the doubt that hands and play leave.

    `moved_deg`: what they really did, where a set was taken the wrong way round; else as measured.
    """

    turns: tuple[float, ...]
    u_turns: tuple[float, ...]
    moved_deg: tuple[float, float] | None = None


class StoryName(NamedTuple):
    """What a slip is called, with its chance (0 to 1); fields as in `Story`."""

    kind: StoryKind
    screw_ids: tuple[str, ...]
    instead_ids: tuple[str, ...]
    probability: float


@dataclass(frozen=True)
class MoveVerdict:
    """The likeliest story of a move, the screws it blames, and its probability (0 to 1).

    `turned`: net clockwise turns of the heads in that story; where none explains the move, those
    that would have moved the aim so. `wrong_screw`, one screw blamed: its turns went to that of
    `instead_ids`; two: they were swapped. `ambiguous`: a slip, but the first two of `names` cannot
    be told apart.
    `names`: what it can be called, the likeliest first. `possible`: every story that is not out of
    the question, as probability and travel; what is missing to 1 is that none of them is true.
    """

    kind: MoveKind
    screw_ids: tuple[str, ...]
    instead_ids: tuple[str, ...]
    probability: float
    turned: tuple[Fraction, ...]
    names: tuple[StoryName, ...]
    possible: tuple[tuple[float, Travel], ...]


@dataclass(frozen=True)
class Foretold:
    """What each story says: travel (stories x screws), its doubt, the move, its covariance."""

    stories: tuple[Story, ...]
    turns: NDArray[np.float64]
    u_turns: NDArray[np.float64]
    moves_deg: NDArray[np.float64]
    spreads: NDArray[np.float64]
    mirrored: tuple[Mirrored, ...] = ()

    def beside(self, mirrored: tuple[Mirrored, ...], noise: NDArray[np.float64]) -> Foretold:
        """Also the stories in which all was turned as planned and a set is the wrong way round."""
        if not mirrored:
            return self
        plan, own = self.stories[0], self.spreads[0] - noise
        seen = [one.foretells(self.moves_deg[0], own) for one in mirrored]
        count = len(mirrored)
        return Foretold(
            (*self.stories, *(plan._replace(kind=one.kind) for one in mirrored)),
            np.vstack((self.turns, np.repeat(self.turns[:1], count, axis=0))),
            np.vstack((self.u_turns, np.repeat(self.u_turns[:1], count, axis=0))),
            np.vstack((self.moves_deg, [moved for moved, _ in seen])),
            np.concatenate((self.spreads, [spread + noise for _, spread in seen])),
            mirrored,
        )

    def travel(self, story: int, moved_deg: tuple[float, float]) -> Travel:
        """How far the tips went in this story, and what they did where that is not what shows."""
        number = story - (len(self.stories) - len(self.mirrored))
        really = self.mirrored[number].true_move_deg(moved_deg) if number >= 0 else None
        return Travel(
            tuple(self.turns[story].tolist()), tuple(self.u_turns[story].tolist()), really
        )


def explain_move(
    mount: Mount,
    response: Response,
    planned_turns: Sequence[float | Fraction],
    moved_deg: tuple[float, float],
    move_covariance: ArrayLike,
    setting_u_turns: float = SETTING_U_TURNS,
    settled: Sequence[bool] = (True, True, True),
    turned_before: Sequence[Fraction] | None = None,
    before_deg: tuple[float, float] | None = None,
) -> MoveVerdict:
    """Which story the moved aim tells: Bayes' rule over `possible_stories` and none of them.

    As planned is by far the likeliest beforehand; a broad spread about no move stands for anything
    else. `settled`: whether each screw's play was last taken up in the approach direction.
    `turned_before`: as in `possible_stories`, for no screw turns beyond its travel. `before_deg`:
    the aim measured before (yaw, elevation); then a set the wrong way round is a story too.
    `move_covariance` 2x2, positive definite. Raises MeasureError if nothing was to be turned.
    """
    noise = np.asarray(move_covariance, dtype=np.float64)
    foretold = foretell(
        mount, response, planned_turns, noise, setting_u_turns, settled, turned_before
    )
    if before_deg is not None:
        foretold = foretold.beside(mirrored_sets(before_deg), noise)
    told, moved = foretold.stories, np.array(moved_deg)
    size_deg = math.hypot(*foretold.moves_deg[0])
    broad_deg = max(_LEAST_UNEXPLAINED_DEG, 2.0 * size_deg)
    surprises, spreads = np.empty((len(told) + 1, 2)), np.empty((len(told) + 1, 2, 2))
    surprises[:-1], surprises[-1] = moved - foretold.moves_deg, moved
    spreads[:-1], spreads[-1] = foretold.spreads, noise + broad_deg**2 * _BOTH_ALIKE
    weights = np.log(_priors(told)) + _log_densities(surprises, spreads)
    chances = np.exp(weights - weights.max())
    *each, none = (chances / chances.sum()).tolist()

    likeliest = max(range(len(told)), key=each.__getitem__)
    names = _names(told, each)
    possible = tuple(
        [
            (chance, foretold.travel(number, moved_deg))
            for number, chance in enumerate(each)
            if chance >= _OUT_OF_THE_QUESTION
        ]
    )
    if none >= each[likeliest]:
        turned = _turns_behind(mount, response, moved_deg, turned_before)
        return MoveVerdict("unexplained", (), (), none, turned, names, possible)
    story = told[likeliest]
    chance = each[likeliest]
    if story.kind == "as_planned":
        return MoveVerdict("as_planned", (), (), chance, story.turned, names, possible)
    if len(names) > 1 and not _is_sure(names[0], names[1]):
        return MoveVerdict("ambiguous", (), (), chance, story.turned, names, possible)
    name = names[0]
    return MoveVerdict(
        name.kind, name.screw_ids, name.instead_ids, chance, story.turned, names, possible
    )


def _turns_behind(
    mount: Mount,
    response: Response,
    moved_deg: tuple[float, float],
    turned_before: Sequence[Fraction] | None,
) -> tuple[Fraction, ...]:
    """The least turns, by least squares, that move the aim so, as far as the travel lets them.

    In whole smallest turns. Where the screws stand after a move that no story explains is better
    told by what it did than by what was asked for.
    """
    turns = np.linalg.lstsq(np.array(response.mean), np.array(moved_deg), rcond=None)[0]
    found = []
    for number, (screw, turn) in enumerate(zip(mount.screws, turns.tolist(), strict=True)):
        before = Fraction(0) if turned_before is None else turned_before[number]
        least, most = screw.travel
        wanted = screw.step * round(turn / float(screw.step))
        found.append(
            min(max(wanted, min(least - before, Fraction(0))), max(most - before, Fraction(0)))
        )
    return tuple(found)


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
        (
            chance,
            learn(
                response,
                travel.turns,
                *(travel.moved_deg or moved_deg),
                move_covariance,
                travel.u_turns,
            ),
        )
        for chance, travel in verdict.possible
    ]
    means = [np.ravel(item.mean) for _, item in taught]
    mean = sum(
        (chance * item for (chance, _), item in zip(taught, means, strict=True)),
        np.zeros_like(means[0]),
    )
    covariance = np.zeros((mean.size, mean.size))
    for (chance, item), own in zip(taught, means, strict=True):
        off = own - mean
        covariance += chance * (np.array(item.covariance) + np.outer(off, off))
    return Response(as_matrix(mean.reshape(2, -1)), as_matrix(covariance))


def foretell(
    mount: Mount,
    response: Response,
    planned_turns: Sequence[float | Fraction],
    noise: NDArray[np.float64],
    setting_u_turns: float,
    settled: Sequence[bool],
    turned_before: Sequence[Fraction] | None,
) -> Foretold:
    """What each possible story of a move says that the aim will do, and how surely.

    A screw that is left alone is not set wrongly. The other arguments are those of `explain_move`.
    """
    planned = tuple(
        Fraction(turn).limit_denominator(screw.step.denominator * 2)
        for turn, screw in zip(planned_turns, mount.screws, strict=True)
    )
    if not any(planned):
        raise MeasureError("a move without turns has no story; wanted: at least one screw turned")
    stories = possible_stories(mount, planned, turned_before)
    heads = _head_moves(stories)
    play_taken_up = settled[: len(mount.screws)]
    turns, u_play = tip_travels(mount.screws, mount.approach, heads, play_taken_up)
    u_setting = np.where(heads.any(axis=2), setting_u_turns, 0.0)
    u_turns = np.hypot(u_play, u_setting)
    moves_deg = turns @ np.array(response.mean).T
    spreads = response.change_covariances(turns, u_turns) + noise
    return Foretold(stories, turns, u_turns, moves_deg, spreads)


def _head_moves(stories: Sequence[Story]) -> NDArray[np.float64]:
    """Stories x screws x moves in turns, filled up with zeros."""
    rows = [moves for story in stories for moves in story.heads]
    most = max(map(len, rows))
    nothing = (0,) * most
    filled = np.array([moves + nothing[len(moves) :] for moves in rows], dtype=np.float64)
    return filled.reshape(len(stories), -1, most) * float(stories[0].unit)


def _priors(stories: Sequence[Story]) -> NDArray[np.float64]:
    """Of the plan, of every slip, and of none of them."""
    shares = [_WEIGHTS.get(story.kind, 1.0) for story in stories[1:]]
    slip = _PRIOR_SLIPS / sum(shares)
    return np.array([_PRIOR_AS_PLANNED, *[slip * share for share in shares], _PRIOR_UNEXPLAINED])


def squared_distances(
    off: NDArray[np.float64], spread: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """n squared distances in units of n 2x2 covariances, and the covariances' determinants."""
    a, b, d = spread[:, 0, 0], spread[:, 0, 1], spread[:, 1, 1]
    x, y = off[:, 0], off[:, 1]
    determinant = a * d - b * b
    return (d * x * x - 2.0 * b * x * y + a * y * y) / determinant, determinant


def _log_densities(
    surprise: NDArray[np.float64], spread: NDArray[np.float64]
) -> NDArray[np.float64]:
    squared, determinant = squared_distances(surprise, spread)
    density: NDArray[np.float64] = -0.5 * (squared + np.log(determinant))
    return density


def _names(stories: Sequence[Story], chances: Sequence[float]) -> tuple[StoryName, ...]:
    """The stories' chances summed up by name, the likeliest first, without what is out of it."""
    sums: dict[tuple[StoryKind, tuple[str, ...], tuple[str, ...]], float] = {}
    for story, chance in zip(stories, chances, strict=True):
        if chance > _NOTHING:
            name = story.name
            sums[name] = sums.get(name, 0.0) + chance
    names = [
        StoryName(*name, chance) for name, chance in sums.items() if chance >= _OUT_OF_THE_QUESTION
    ]
    return tuple(sorted(names, key=_by_chance))


def _by_chance(name: StoryName) -> float:
    return -name.probability


def _is_sure(first: StoryName, second: StoryName) -> bool:
    return first.probability >= _SURE_OF_A_NAME * (first.probability + second.probability)
