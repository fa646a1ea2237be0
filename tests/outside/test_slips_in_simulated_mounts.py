"""Slips at the simulated bay's screws are called by their name wherever they exceed the doubt.

The mounts are rigid bodies with play and errors of their own (pitches and levers 7 % off, at most
20 %); in two thirds of the trials the file's pitch is a fifth wrong on top.
"""

from __future__ import annotations

import pytest

from tests.benchmarks.slip_trials import PITCHES, Seen, trials
from tests.benchmarks.slips import LARGER_THAN_DOUBT_IN_U, MOUNTS

SEED = 41


@pytest.fixture(scope="module", params=MOUNTS.values(), ids=MOUNTS)
def moves(request: pytest.FixtureRequest) -> list[Seen]:
    return [move for pitch in PITCHES for move in trials(request.param, SEED, 130, pitch)]


@pytest.fixture(scope="module")
def large(moves: list[Seen]) -> list[Seen]:
    found = [move for move in moves if move.is_slip and move.apart_in_u >= LARGER_THAN_DOUBT_IN_U]
    assert len(found) > 50
    return found


def test_slips_larger_than_the_doubt_are_called_by_their_name_and_screw(large: list[Seen]) -> None:
    missed = [move for move in large if not move.named_right]
    # The aim is one in a hundred; of so few, one more may be chance.
    assert len(missed) <= 1 + 0.01 * len(large)


def test_after_such_a_slip_the_next_plan_is_right(large: list[Seen]) -> None:
    assert sum(move.put_right for move in large) >= 0.97 * len(large)


def test_honest_moves_are_hardly_ever_called_a_slip(moves: list[Seen]) -> None:
    honest = [move for move in moves if not move.is_slip]
    assert len(honest) > 300
    assert sum(move.told.kind != "as_planned" for move in honest) <= 0.015 * len(honest)


def test_where_the_doubt_does_not_part_two_names_both_are_said(moves: list[Seen]) -> None:
    unsure = [move for move in moves if move.is_slip and move.told.kind == "ambiguous"]
    assert len(unsure) > 20
    assert sum(move.named_among_two for move in unsure) >= 0.85 * len(unsure)
    named = [m for m in moves if m.is_slip and m.told.screw_ids]
    # About 19 in 20 in the long run (docs/figures.md); of so few, a few less may be chance.
    wanted = 0.95 - 3.0 * (0.95 * 0.05 / len(named)) ** 0.5
    assert sum(move.named_right for move in named) >= wanted * len(named)
