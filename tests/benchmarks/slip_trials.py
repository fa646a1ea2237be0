"""Slips made on purpose at simulated mounts: rigid bodies with play and errors of their own.

The mounts' pitches and levers differ from the file by 7 % (one standard deviation), at most 20 %;
the file's pitch may be a fifth wrong on top.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from random import Random

import numpy as np
from numpy.typing import NDArray

from companion.calibration.hypotheses import AMOUNTS, Story, possible_stories
from companion.calibration.hypothesis_test import (
    MoveVerdict,
    StoryName,
    explain_move,
    learn_from_move,
)
from companion.calibration.mount import Mount, geometry_response
from companion.calibration.response import Response, prior_response
from companion.calibration.screws import plan_turns
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.setup_files import MountModel
from companion.runtime import assembly
from companion.simulation.mount import ScrewState, TrueMount, draw_mount
from companion.steps.aim.figures import mount_of
from tests.benchmarks.told_apart import told_apart_in_u

# What the job's own readings leave: doubt of one aim, and of the difference of two.
AIM_U = np.array([0.037, 0.051])
AIM = np.diag(AIM_U**2)
MOVE = np.diag(1.2 * AIM_U**2)
TOLERANCE_DEG = 0.4
ROUNDS = 3
# How much steeper the real threads are than the file says.
PITCHES = (1.0, 1.2, 1.0 / 1.2)


@dataclass(frozen=True)
class Seen:
    """One move: what was done, what was said of it, and how far it stood out of the doubt.

    `apart_in_u`: from the nearest story of another name, in units of the doubt.
    """

    made: Story
    told: MoveVerdict
    apart_in_u: float
    put_right: bool

    @property
    def is_slip(self) -> bool:
        return self.made.kind != "as_planned"

    @property
    def named_right(self) -> bool:
        """By its own name alone: kind and screws."""
        return is_named(self.told.kind, self.told.screw_ids, self.told.instead_ids, self.made)

    @property
    def named_among_two(self) -> bool:
        """Said was "either ... or ...", and one of the two is true."""
        return self.told.kind == "ambiguous" and any(
            is_named(name.kind, name.screw_ids, name.instead_ids, self.made)
            for name in self.told.names[:2]
        )


def is_named(kind: str, screw_ids: object, instead_ids: object, made: Story | StoryName) -> bool:
    return (kind, screw_ids, instead_ids) == (made.kind, made.screw_ids, made.instead_ids)


@cache
def model(file_name: str) -> MountModel:
    """A mount file that ships as an example."""
    return assembly.load(JobPaths(mount=EXAMPLES / file_name)).plan.files.mount


def trials(file_name: str, seed: int, count: int, pitch: float) -> Iterator[Seen]:
    """Every move of `count` jobs, each with one slip in its first or second round."""
    random, noise = Random(seed), np.random.default_rng(seed)
    for trial in range(count):
        yield from _job(model(file_name), random, noise, pitch, slip_in=1 + trial % 2)


class TrueScrews:
    """The bay's screws and the aim they give, in degrees from where they began."""

    def __init__(self, mount: TrueMount, random: Random) -> None:
        self.mount = mount
        self._random = random
        self._states = [ScrewState(screw) for screw in mount.screws]
        for state in self._states:
            state.lie_against(random.choice(("clockwise", "anticlockwise")))
        self._zero = self._aim()

    def _aim(self) -> NDArray[np.float64]:
        x, y, z = self.mount.boresight([state.rearward_mm for state in self._states])
        return np.degrees([math.atan2(y, x), math.atan2(z, math.hypot(x, y))])

    def moved_deg(self) -> NDArray[np.float64]:
        return self._aim() - self._zero

    def make(self, story: Story) -> None:
        for index, state in enumerate(self._states):
            for turns in story.head_moves(index):
                slack = self._random.gauss(0.0, 3.0) / 360.0
                way = "clockwise" if turns > 0 else "anticlockwise"
                state.turn(way, max(abs(float(turns)) + slack, 0.0))


def _job(
    file: MountModel, random: Random, noise: np.random.Generator, pitch: float, slip_in: int
) -> Iterator[Seen]:
    """Up to three rounds on one mount, the slip in one of them."""
    mount, drawn = mount_of(file), draw_mount(random, file, 0.07, 0.20)
    steeper = tuple(replace(screw, pitch_mm=screw.pitch_mm * pitch) for screw in drawn.screws)
    screws, response = (
        TrueScrews(TrueMount(steeper), random),
        prior_response(mount, file.response_relative_sd),
    )
    start = noise.uniform(-2.3, 2.3, 2)
    turned = (Fraction(0),) * len(mount.screws)
    for number in range(1, ROUNDS + 1):
        before = screws.moved_deg()
        aim = start + before + noise.normal(0.0, 1.0, 2) * AIM_U
        plan = plan_turns(mount, *aim, response, turned, TOLERANCE_DEG, TOLERANCE_DEG, AIM)
        if not plan.steps:
            break
        settled = [so_far != 0 for so_far in turned]
        told = possible_stories(mount, plan.turns, turned)
        slips = [story for story in told[1:] if story.kind not in AMOUNTS]
        made = random.choice(slips) if number == slip_in else told[0]
        apart = dict(
            told_apart_in_u(
                mount, response, plan.turns, MOVE, settled=settled, turned_before=turned
            )
        )[made]
        screws.make(made)
        moved = screws.moved_deg() - before + noise.multivariate_normal([0.0, 0.0], MOVE)
        pair = (float(moved[0]), float(moved[1]))
        verdict = explain_move(
            mount, response, plan.turns, pair, MOVE, settled=settled, turned_before=turned
        )
        if verdict.kind != "unexplained":
            response = learn_from_move(response, verdict, pair, MOVE)
        turned = tuple(so_far + more for so_far, more in zip(turned, verdict.turned, strict=True))
        aim_now = start + screws.moved_deg()
        put_right = _puts_right(mount, screws.mount, aim_now, response, turned)
        yield Seen(made, verdict, apart, put_right)


def _puts_right(
    mount: Mount,
    true: TrueMount,
    aim: NDArray[np.float64],
    response: Response,
    turned: tuple[Fraction, ...],
) -> bool:
    """Whether the next plan would truly end inside, or at least nearer by."""
    plan = plan_turns(mount, *aim, response, turned, TOLERANCE_DEG, TOLERANCE_DEG, AIM)
    as_it_is = Mount(
        tuple(
            replace(screw, y_mm=real.y_mm, z_mm=real.z_mm, pitch_mm=real.pitch_mm)
            for screw, real in zip(mount.screws, true.screws, strict=True)
        ),
        mount.approach,
    )
    after = np.abs(aim + geometry_response(as_it_is) @ [float(turn) for turn in plan.turns]).max()
    return bool(after <= max(TOLERANCE_DEG, 0.5 * np.abs(aim).max()))
