"""Which part of which bay changed, and when: verdicts over all charts of a shop."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest

from companion.statistics.steadiness import (
    Chart,
    Point,
    judged,
    parts,
)
from companion.statistics.summary import MEASURES

FIRST = date(2031, 1, 1)


def chart(bay: str, measure: str, values: list[float]) -> Chart:
    points = tuple(
        Point(f"{bay} {n}", f"{FIRST + timedelta(days=n)}T08:00:00.000Z", value)
        for n, value in enumerate(values)
    )
    return Chart(bay, measure, points)


def shop(seed: int, bays: int = 2, count: int = 60) -> list[Chart]:
    random = np.random.default_rng(seed)
    return [
        chart(f"Bay {bay}", measure, random.normal(size=count).tolist())
        for bay in range(1, bays + 1)
        for measure in MEASURES
    ]


def test_one_table_says_which_part_of_which_bay_changed_and_when() -> None:
    charts = shop(1)
    values = [value + 2.0 * (n >= 40) for n, value in enumerate(charts[2].values)]
    charts[2] = chart("Bay 1", MEASURES[2], values)
    found = {(part.bay, part.name): part for part in parts(judged(charts))}
    assert {where: part.state for where, part in found.items()} == {
        ("Bay 1", "floor"): "changed",
        ("Bay 1", "stand"): "steady",
        ("Bay 2", "floor"): "steady",
        ("Bay 2", "stand"): "steady",
    }
    (changed,) = found["Bay 1", "floor"].changed
    assert changed.measure == MEASURES[2]
    assert changed.changed_at is not None
    day = date.fromisoformat(changed.changed_at.opened_utc[:10])
    assert abs(day - (FIRST + timedelta(days=40))) <= timedelta(days=3)
    before, since = changed.levels
    assert since - before == pytest.approx(2.0, abs=0.8)


def test_of_few_sessions_nothing_is_said() -> None:
    found = judged([chart("Bay 1", MEASURES[0], [float(n) for n in range(15)])])
    assert found[0].state == "too few"
    assert {part.state for part in parts(found)} == {"too few"}


def test_a_change_that_one_chart_alone_would_show_is_held_against_all_the_charts() -> None:
    """With more charts, more of them look changed by chance."""
    values = np.random.default_rng(5).normal(size=60)
    values[30:] += 0.75
    alone = judged([chart("Bay 1", MEASURES[0], values.tolist())])[0]
    assert alone.state == "changed"
    among = judged([chart("Bay 1", MEASURES[0], values.tolist()), *shop(2, 9)[1:]])[0]
    assert among.p_value == pytest.approx(alone.p_value, rel=0.5)
    assert among.state == "steady"


def test_a_shop_at_rest_is_called_so() -> None:
    """Fifty shops of 18 charts: at most seven may show a change by chance (binomial, 0.1 %)."""
    alarms = sum(
        any(found.state == "changed" for found in judged(shop(seed))) for seed in range(100, 150)
    )
    assert alarms <= 7
