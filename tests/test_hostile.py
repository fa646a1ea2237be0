"""The row of decisions at once is the package's own decision, draw by draw."""

from __future__ import annotations

import argparse
from itertools import islice
from typing import Any

import numpy as np
import pytest

from companion.errors import MeasureError
from tests.benchmarks import hostile as hostile_benchmark
from tests.benchmarks.hostile_at_once import (
    decide_many,
    judge_many,
    measured_by_echo,
    measured_by_tool,
)
from tests.benchmarks.hostile_bay import DISTURBANCES, Sizes, draw, larger
from tests.benchmarks.hostile_decisions import (
    MOST_LOOKS,
    Route,
    at_the_limit,
    decide_one,
    looks_at,
)
from tests.benchmarks.hostile_short import FINE_TURNS_DEG, decide_short

DRAWS = 12


@pytest.mark.parametrize("route", ["echo", "tool"])
@pytest.mark.parametrize("times", [1.0, 3.0])
def test_every_look_at_once_is_the_packages_own(route: Route, times: float) -> None:
    sizes = Sizes()
    generator = np.random.default_rng(7)
    drawn = draw(generator, larger(sizes, "all", times), at_the_limit(generator, DRAWS), MOST_LOOKS)
    found = (measured_by_echo if route == "echo" else measured_by_tool)(drawn, sizes)
    compared = 0
    for look in range(1, MOST_LOOKS + 1):
        at_once = judge_many(found, drawn, sizes, look, np.arange(DRAWS))
        for n in range(DRAWS):
            try:
                one = list(islice(looks_at(drawn, n, sizes, route), look))[-1].judged
            except MeasureError:
                assert any(flat[n] for flat in found.no_peak[: look + 1])
                continue
            told = [
                (at_once.aim[0].values[n], one.aim[0].value),
                (at_once.aim[1].values[n], one.aim[1].value),
                (at_once.aim[0].u[n], one.aim[0].u),
                (at_once.aim[1].u[n], one.aim[1].u),
                (at_once.probability_inside[n], one.probability_inside),
                (at_once.probability_if_wrong[n], one.probability_if_wrong),
                (at_once.level[n], one.level),
                (at_once.factor[n], one.agreement.factor),
            ]
            assert told == [(pytest.approx(b, abs=1e-9), b) for _, b in told]
            assert at_once.refused[n] == (one.answer == "refused")
            assert at_once.stands_alone[n] == one.stands_alone
            compared += 1
    assert compared > DRAWS


@pytest.mark.parametrize("route", ["echo", "tool"])
@pytest.mark.parametrize("disturbance", ["none", "all", "hinge_mm", "echo_step_db"])
def test_what_comes_of_a_row_is_what_comes_of_each(route: Route, disturbance: str) -> None:
    stated = Sizes()
    real = stated if disturbance == "none" else larger(stated, disturbance, 3.0)
    generator = np.random.default_rng(11)
    drawn = draw(generator, real, at_the_limit(generator, DRAWS), MOST_LOOKS)
    found = (measured_by_echo if route == "echo" else measured_by_tool)(drawn, stated)
    foreseen = np.arange(DRAWS) % 2 == 0
    at_once = decide_many(found, drawn, stated, foreseen)
    for n in range(DRAWS):
        one = decide_one(drawn, n, stated, foreseen=bool(foreseen[n]), route=route)
        assert (at_once.inside[n], at_once.noticed[n], at_once.would_be_inside[n]) == (
            one.inside,
            one.noticed,
            one.would_be_inside,
        )
        assert at_once.covered[n] == one.covered


def test_three_times_as_large_is_a_third_of_the_plate() -> None:
    stated = Sizes()
    assert larger(stated, "plate_span_mm", 3.0).plate_span_mm == stated.plate_span_mm / 3.0
    assert larger(stated, "all", 3.0).lock_deg == pytest.approx(3.0 * stated.lock_deg)
    assert "tool_off_deg" in DISTURBANCES


def hostile(*arguments: str) -> dict[str, Any]:
    parser = argparse.ArgumentParser()
    hostile_benchmark.add_options(parser)
    parser.add_argument("--seed", type=int, default=1)
    return hostile_benchmark.run(parser.parse_args(["--workers", "1", *arguments]))


def test_a_row_is_the_same_whichever_rows_are_run_beside_it() -> None:
    some = ("--decisions", "40", "--jobs", "0")
    both = hostile(*some, "--rows", "plate_to_bar_deg,ripple_db:three")
    assert [(row["disturbance"], row["size"]) for row in both["rows"]] == [
        ("plate_to_bar_deg", "stated"),
        ("plate_to_bar_deg", "three times"),
        ("ripple_db", "three times"),
    ]
    assert all(tuple(row) == hostile_benchmark.ROW for row in both["rows"])
    alone = hostile(*some, "--rows", "ripple_db:three")
    assert alone["rows"] == both["rows"][-1:]
    assert hostile(*some, "--rows", "ripple_db:three", "--seed", "2")["rows"] != alone["rows"]
    with pytest.raises(SystemExit, match="no row riple_db; wanted"):
        hostile(*some, "--rows", "riple_db")


def test_a_row_of_jobs_alone_has_the_same_keys() -> None:
    (row,) = hostile("--decisions", "0", "--jobs", "1", "--rows", "all:stated")["rows"]
    assert tuple(row) == hostile_benchmark.ROW
    assert (row["decisions"], row["jobs"], row["false_inside"]) == (0, 1, None)


def test_short_sets_have_rows_of_their_own_and_no_slip_at_one_level_passes() -> None:
    rows = ("one level", "near notch for far", "ripple_db:stated")
    told = hostile("--short-sets", "--decisions", "60", "--rows", ",".join(rows))
    assert [(row["disturbance"], row["size"]) for row in told["rows"]] == [
        ("ripple_db", "stated"),
        ("one level", "stated"),
        ("near notch for far", "stated"),
    ]
    assert all(tuple(row) == hostile_benchmark.ROW for row in told["rows"])
    assert [row["false_by_five"] for row in told["beside"]] == [0.0, 0.0, 0.0]


def test_radars_well_inside_are_found_so_by_five_levels_and_far_ones_never() -> None:
    """The judge is the true aim that the readings were drawn from."""
    generator, sizes = np.random.default_rng(3), Sizes()
    turns = (FINE_TURNS_DEG, FINE_TURNS_DEG)
    for low, high, few, many in ((0.0, 0.15, 0.9, 1.0), (0.45, 0.9, 0.0, 0.0)):
        yaw = generator.uniform(low, high, DRAWS) * generator.choice((-1.0, 1.0), DRAWS)
        drawn = draw(generator, sizes, (yaw, generator.uniform(-0.1, 0.1, DRAWS)), 4, turns)
        found = [decide_short(drawn, n, sizes, foreseen=False).short for n in range(DRAWS)]
        assert few <= sum(found) / DRAWS <= many
