"""Slips at the simulated bay's screws, whose mount is a rigid body with play and its own errors.

The mounts' pitches and levers differ from the file by 7 % (one standard deviation), at most 20 %;
in two of the three runs the file's pitch is a fifth wrong on top. A slip counts as larger than the
doubt when it moves the aim by five times the doubt of the plan's prediction or more: two and a
half to either side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from random import Random

import numpy as np
import pytest
import yaml
from numpy.typing import NDArray

import companion.procedure
from companion.dialogue.aiming import mount_of
from companion.measure import (
    Mount,
    Response,
    Story,
    explain_move,
    geometry_response,
    learn_from_move,
    plan_turns,
    possible_stories,
    prior_response,
)
from companion.measure.response import SETTING_U_TURNS
from companion.measure.steps import tip_travel
from companion.procedure.models import MountModel
from companion.rehearsal.mount import ScrewState, TrueMount, draw_mount

MODEL = MountModel.model_validate(
    yaml.safe_load(
        (Path(companion.procedure.__file__).parent / "examples" / "mount.yaml").read_text()
    )
)
MOUNT = mount_of(MODEL)
# What the job's own readings leave: doubt of one aim, and of the difference of two.
AIM_U = np.array([0.037, 0.051])
MOVE = np.diag(1.2 * AIM_U**2)
LARGE = 5.0
TRIALS = 300


@dataclass(frozen=True)
class Seen:
    """One move: what was done, what was said of it, how far a slip stood out of the doubt."""

    made: str
    told: str
    size_in_u: float
    inside_after_replanning: bool


class TrueScrews:
    """The bay's two screws and the aim they give, in degrees from where they began."""

    def __init__(self, mount: TrueMount, random: Random) -> None:
        self._mount = mount
        self._random = random
        self._states = [ScrewState(screw) for screw in mount.screws]
        for state in self._states:
            state.lie_against(random.choice(("clockwise", "anticlockwise")))
        self._zero = self._aim()

    def _aim(self) -> NDArray[np.float64]:
        first, second = (state.rearward_mm for state in self._states)
        x, y, z = self._mount.boresight((first, second))
        return np.degrees([math.atan2(y, x), math.atan2(z, math.hypot(x, y))])

    def moved_deg(self) -> NDArray[np.float64]:
        return self._aim() - self._zero

    def make(self, story: Story) -> None:
        for index, turns in moves_of(story):
            slack = self._random.gauss(0.0, 3.0) / 360.0
            way = "clockwise" if turns > 0 else "anticlockwise"
            self._states[index].turn(way, max(abs(float(turns)) + slack, 0.0))


def moves_of(story: Story) -> list[tuple[int, Fraction]]:
    return [(index, turns) for index in (0, 1) for turns in story.head_moves(index)]


def tips(story: Story, settled: tuple[bool, bool]) -> tuple[list[float], list[float]]:
    pairs = [
        tip_travel(screw, MOUNT.approach, story.head_moves(index), settled=settled[index])
        for index, screw in enumerate(MOUNT.screws)
    ]
    doubts = [
        math.hypot(u, SETTING_U_TURNS) if story.head_moves(index) else 0.0
        for index, (_, u) in enumerate(pairs)
    ]
    return [mean for mean, _ in pairs], doubts


def size_in_u(response: Response, plan: Story, slip: Story, settled: tuple[bool, bool]) -> float:
    planned, u = tips(plan, settled)
    slipped, _ = tips(slip, settled)
    spread = response.change_covariance(planned, u) + MOVE
    off = geometry_response(MOUNT) @ (np.array(slipped) - np.array(planned))
    return math.sqrt(float(off @ np.linalg.solve(spread, off)))


def one_job(random: Random, noise: np.random.Generator, pitch: float, slips_in: int) -> list[Seen]:
    """Up to three rounds on one mount, the slip (if any) in one of them."""
    mount = draw_mount(random, MODEL, 0.07, 0.20)
    mount = TrueMount(
        tuple(  # type: ignore[arg-type]
            replace(screw, pitch_mm=screw.pitch_mm * pitch) for screw in mount.screws
        )
    )
    screws, response = TrueScrews(mount, random), prior_response(MOUNT, MODEL.response_relative_sd)
    start, turned = noise.uniform(-2.3, 2.3, 2), (Fraction(0), Fraction(0))
    seen: list[Seen] = []
    for number in range(1, 4):
        before = screws.moved_deg()
        aim = start + before + noise.normal(0.0, 1.0, 2) * AIM_U
        plan = plan_turns(MOUNT, *aim, response, turned, 0.4, 0.4, np.diag(AIM_U**2))
        if not plan.steps:
            break
        settled = (turned[0] != 0, turned[1] != 0)
        told = possible_stories(MOUNT, plan.turns)
        slips = [story for story in told[1:] if story.kind != "wrong_amount"]
        made = random.choice(slips) if number == slips_in else told[0]
        size = size_in_u(response, told[0], made, settled)
        screws.make(made)
        moved = screws.moved_deg() - before + noise.multivariate_normal([0.0, 0.0], MOVE)
        pair = (float(moved[0]), float(moved[1]))
        verdict = explain_move(MOUNT, response, plan.turns, pair, MOVE, settled=settled)
        if verdict.kind != "unexplained":
            response = learn_from_move(response, verdict, pair, MOVE)
        turned = (turned[0] + verdict.turned[0], turned[1] + verdict.turned[1])
        seen.append(Seen(made.kind, verdict.kind, size, _replans(screws, start, response, turned)))
    return seen


def _replans(
    screws: TrueScrews,
    start: NDArray[np.float64],
    response: Response,
    turned: tuple[Fraction, Fraction],
) -> bool:
    """Whether the next plan foresees, from the true aim, an end inside or at least nearer by."""
    aim = start + screws.moved_deg()
    plan = plan_turns(MOUNT, *aim, response, turned, 0.4, 0.4, np.diag(AIM_U**2))
    true = geometry_response(_as_it_is(screws)) @ np.array([float(turn) for turn in plan.turns])
    after = np.abs(aim + true).max()
    return bool(after <= max(0.4, 0.5 * np.abs(aim).max()))


def _as_it_is(screws: TrueScrews) -> Mount:
    true = screws._mount.screws
    first, second = (
        replace(screw, y_mm=t.y_mm, z_mm=t.z_mm, pitch_mm=t.pitch_mm)
        for screw, t in zip(MOUNT.screws, true, strict=True)
    )
    return Mount((first, second), MOUNT.approach)


@pytest.mark.parametrize("pitch", [1.0, 1.2, 1.0 / 1.2])
def test_slips_larger_than_the_doubt_are_noticed_and_the_next_plan_is_right(pitch: float) -> None:
    random, noise = Random(41), np.random.default_rng(41)
    seen = [
        item
        for trial in range(TRIALS)
        for item in one_job(random, noise, pitch, slips_in=1 + trial % 2)
    ]
    large = [item for item in seen if item.made != "as_planned" and item.size_in_u >= LARGE]
    honest = [item for item in seen if item.made == "as_planned"]
    assert len(large) > 100
    assert len(honest) > 100
    noticed = sum(item.told != "as_planned" for item in large)
    assert noticed >= 0.99 * len(large)
    assert sum(item.told != "as_planned" for item in honest) <= 0.01 * len(honest)
    assert sum(item.told == item.made for item in large) >= 0.9 * len(large)
    assert sum(item.inside_after_replanning for item in large) >= 0.97 * len(large)
