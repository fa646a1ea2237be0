"""Numbers beside their doubt, words instead of signs."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.facts.figures import Quantity
from companion.facts.plain import flat_rows, number
from companion.job.loader import EXAMPLES, JobPaths
from companion.language.loader import language_codes
from companion.report.wording import MINUS, wording_in
from companion.runtime import assembly

ENGLISH = wording_in()
amount, limits, percent = ENGLISH.amount, ENGLISH.limits, ENGLISH.percent
title_of, turns_words = ENGLISH.title_of, ENGLISH.turns
NAMES = {name: ENGLISH.name_of(name) for name in ENGLISH.words.known("quantity-")}


@pytest.mark.parametrize(
    ("value", "u", "unit", "name", "told"),
    [
        (-0.4213, 0.034, "deg", "aim_yaw_deg", "0.421° right"),
        (0.4213, 0.034, "deg", "aim_yaw_deg", "0.421° left"),
        (-0.4213, 0.034, "deg", "aim_elevation_deg", "0.421° down"),
        (7.26, 0.2, "mm", "stand_offset_left_mm", "7.26\u00a0mm left"),
        (-9.0, 0.6, "mm", "distance_error_mm", "9.00\u00a0mm too close"),
        (-0.31, 0.02, "deg", "stand_turn_deg", "0.310° clockwise"),
        (-0.0001, 0.03, "deg", "aim_yaw_deg", "0.000°"),
        (-1.5, 0.3, "mm", "floor_twist_mm", f"{MINUS}1.50\u00a0mm"),
        (None, None, "mm", "floor_twist_mm", "not recorded"),
    ],
)
def test_amounts_read_as_a_technician_would_say_them(
    value: float | None, u: float | None, unit: str, name: str, told: str
) -> None:
    assert amount(Quantity(value, u, unit), name) == told


@given(value=st.floats(-1e6, 1e6), u=st.floats(1e-4, 100), name=st.sampled_from(sorted(NAMES)))
def test_no_direction_is_ever_left_to_a_sign(value: float, u: float, name: str) -> None:
    told = amount(Quantity(value, u, "deg"), name)
    if NAMES[name].positive:
        assert MINUS not in told
        assert "-" not in told
    mirrored = amount(Quantity(-value, u, "deg"), name)
    assert told.split("°")[0].lstrip(MINUS) == mirrored.split("°")[0].lstrip(MINUS)


@given(value=st.floats(-1e6, 1e6), decimals=st.integers(0, 5))
def test_printed_numbers_read_back_to_within_half_a_last_digit(value: float, decimals: int) -> None:
    told = ENGLISH.number(value, decimals)
    back = float(told.replace(MINUS, "-"))
    assert abs(back - value) <= 0.5 * 10**-decimals * (1 + 1e-9) + 1e-9
    assert told != f"{MINUS}0"


@pytest.mark.parametrize(
    ("low", "high", "told"),
    [
        (-0.4, 0.4, "within 0.4°"),
        (None, 0.25, "at most 0.25°"),
        (12.5, None, "at least 12.5°"),
        (-0.2, 0.4, "from 0.2° right to 0.4° left"),
        (None, None, "not recorded"),
        (0.0, 0.0, "within 0°"),
    ],
)
def test_limits_in_words(low: float | None, high: float | None, told: str) -> None:
    assert limits(low, high, "deg", "aim_yaw_deg") == told


def test_nothing_is_ever_certain() -> None:
    assert percent(1.0) == "over 99.9\u00a0%"
    assert percent(0.0) == "under 0.1\u00a0%"
    assert percent(0.951) == "95.1\u00a0%"
    assert percent(None) == "not recorded"


@pytest.mark.parametrize(
    ("turns", "told"),
    [
        (Fraction(11, 4), "2¾\u00a0turns clockwise"),
        (Fraction(-3, 2), "1½\u00a0turns anticlockwise"),
        (Fraction(1, 4), "¼\u00a0turn clockwise"),
        (Fraction(-1), "1\u00a0turn anticlockwise"),
        (Fraction(0), "not turned"),
        (Fraction(7, 6), "1 1/6\u00a0turns clockwise"),
    ],
)
def test_turns_in_words(turns: Fraction, told: str) -> None:
    assert turns_words(turns) == told


def test_a_result_of_another_program_gets_a_readable_title() -> None:
    assert title_of("bonnet_gap_mm") == "Bonnet gap"
    assert title_of("") == "Result"


def test_a_result_named_for_its_place_keeps_the_words_for_its_direction() -> None:
    assert title_of("left_run_out_heading_deg") == "Heading error from run-out, left"
    assert amount(Quantity(-0.02, 0.01, "deg"), "left_run_out_heading_deg") == "0.020° right"
    assert title_of("second_lean_vertex_deg") == "Strongest echo at, second"
    assert amount(Quantity(-0.5, 0.1, "deg"), "second_lean_vertex_deg").endswith(
        "away from the car"
    )
    assert amount(Quantity(-1.2, 0.1, "deg"), "swing_vertex_deg").endswith(
        "right edge towards the car"
    )


def test_doubt_has_two_figures() -> None:
    assert ENGLISH.uncertainty(Quantity(None, 0.0342, "deg")) == "0.034°"
    assert ENGLISH.uncertainty(Quantity(None, None, "deg")) == "not recorded"


def test_behind_plus_or_minus_stands_two_standard_uncertainties() -> None:
    aim = Quantity(-0.4213, 0.031, "deg")
    assert ENGLISH.expanded(aim) == "0.062°"
    assert ENGLISH.amount_with_uncertainty(aim, "aim_yaw_deg") == "0.421 ±\u00a00.062° right"


@pytest.mark.parametrize("value", ["nan", "inf", "seven", None, True, [1]])
def test_what_is_no_finite_number_is_none(value: object) -> None:
    assert number(value) is None


def test_entered_files_become_rows_in_their_own_order() -> None:
    entered = {"name": "Bay", "floor": {"x_mm": 1, "spots": [1, 2]}, "screws": [{"id": "a"}]}
    assert flat_rows(entered) == [
        ("name", "Bay"),
        ("floor · x_mm", "1"),
        ("floor · spots", "1, 2"),
        ("screws 1 · id", "a"),
    ]


@pytest.mark.parametrize("code", language_codes())
@pytest.mark.parametrize("job", ["front_radar", "forward_camera", "rear_corner_radar"])
def test_every_result_of_every_shipped_job_has_a_title(job: str, code: str) -> None:
    steps = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml")).plan.steps
    say = wording_in(code)
    named = [name for step in steps if step.step == "computation" for name in step.outputs.values()]
    assert named
    assert [name for name in named if not say.name_of(name).title] == []


@pytest.mark.parametrize("code", language_codes())
@pytest.mark.parametrize(
    "path",
    # The end of a visit works nothing out and places nothing.
    [p for p in sorted(EXAMPLES.glob("*.rehearsal.yaml")) if not p.name.startswith("visit_end")],
    ids=lambda p: p.name,
)
def test_what_a_shipped_job_works_out_or_places_has_a_name(path: Path, code: str) -> None:
    job = path.with_name(path.name.replace(".rehearsal", ""))
    steps = assembly.load(JobPaths(job=job)).plan.steps
    say = wording_in(code)
    kinds = ("computation", "placing", "first_look")
    named = [step.id for step in steps if step.step in kinds and not getattr(step, "title", "")]
    assert named
    assert [name for name in named if not say.words.has(f"step-{name}")] == []
    ruled = {step.instrument for step in steps if getattr(step, "instrument", None)}
    assert [name for name in sorted(ruled) if not say.name_of(name).title] == []


def test_of_a_long_note_a_line_quotes_the_beginning() -> None:
    assert ENGLISH.quoted("left arm") == "“left arm”"
    long = ENGLISH.quoted("x" * 100_000)
    assert long.startswith("“xxx")
    assert long.endswith("x…”")
    assert len(long) < 1000
