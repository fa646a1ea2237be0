"""The plan: what rests on what, and so what a taken-back reading takes with it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.job.loader import JobPaths
from companion.job.plan import file_field, producers, sources
from companion.runtime import assembly
from companion.steps.computation.model import Computation
from companion.steps.decision.model import Decision
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from companion.steps.registry import KINDS

PLAN = assembly.load(JobPaths()).plan
IDS = st.sampled_from([step.id for step in PLAN.steps])
SOME = st.frozensets(IDS, max_size=8)


@given(SOME)
def test_what_is_measured_again_is_part_of_what_becomes_stale(some):
    assert some <= PLAN.with_dependents(some)


@given(SOME, SOME)
def test_more_measured_again_never_makes_less_stale(some, more):
    assert PLAN.with_dependents(some) <= PLAN.with_dependents(some | more)
    assert PLAN.with_dependents(some) | PLAN.with_dependents(more) == PLAN.with_dependents(
        some | more
    )


@given(SOME)
def test_what_is_stale_makes_nothing_more_stale(some):
    stale = PLAN.with_dependents(some)
    assert PLAN.with_dependents(stale) == stale


@settings(max_examples=200)
@given(IDS)
def test_whatever_uses_a_step_is_stale_with_it(step_id):
    makes = {name for name, by in producers(KINDS, PLAN.steps).items() if step_id in by}
    stale = PLAN.with_dependents([step_id])
    for step in PLAN.steps:
        if makes & set(sources(KINDS, step)):
            assert step.id in stale


@given(IDS)
def test_nothing_before_a_step_rests_on_it(step_id):
    order = [step.id for step in PLAN.steps]
    at = order.index(step_id)
    assert all(order.index(stale) >= at for stale in PLAN.with_dependents([step_id]))


def test_the_floor_reaches_into_the_aim_and_the_fuel_into_the_ballast_alone():
    assert "aim_decision" in PLAN.with_dependents(["rule_rear_left_mm"])
    assert "aim_decision" in PLAN.with_dependents(["plumb_mm_per_m"])
    assert "stand_place" in PLAN.with_dependents(["left_run_out_90_mm"])
    assert PLAN.with_dependents(["fuel"]) == {"fuel", "ballast"}
    assert PLAN.with_dependents([]) == frozenset()


def test_a_routes_question_takes_its_whole_route_with_it():
    stale = PLAN.with_dependents(["aim_route"])
    on_route = {s.id for s in PLAN.steps if s.when is not None and s.when.question == "aim_route"}
    assert len(on_route) > 15
    assert on_route <= stale


def test_every_step_has_its_stage_and_every_result_its_maker():
    made = producers(KINDS, PLAN.steps)
    for step in PLAN.steps:
        assert step in PLAN.stage_of[step.id].steps
        assert PLAN.step(step.id) is step
        if isinstance(step, Computation):
            assert all(step.id in made[result] for result in step.outputs.values())
        elif isinstance(step, Reading | Question):
            assert made[step.id] == (step.id,)
    assert made["thrust_direction_deg"] == ("toe_from_angle", "toe_from_mm")


def test_every_decisions_result_comes_from_a_step_before_it():
    order = [step.id for step in PLAN.steps]
    made = producers(KINDS, PLAN.steps)
    for step in PLAN.steps:
        if isinstance(step, Decision):
            assert all(order.index(by) < order.index(step.id) for by in made[step.result])


@pytest.mark.parametrize(
    ("source", "value"),
    [
        ("vehicle.wheelbase_mm", 2700),
        ("vehicle.ride_height_front_mm.low", 370),
        ("bay.stand.plate_distance_mm", 1200),
        ("bay.floor.slope_up_deg.low", -0.02),
        ("mount.response_relative_sd", 0.2),
    ],
)
def test_a_files_number_is_found_by_its_path(source, value):
    assert PLAN.file_value(source) == value


@pytest.mark.parametrize(
    "source",
    ["vehicle", "vehicle.name", "vehicle.example", "mount.screws", "bay.stand", "bay.__class__",
     "engine.power", "vehicle.model_fields", ""],
)  # fmt: skip
def test_what_is_no_number_of_a_file_is_not_found(source):
    assert file_field(PLAN.files, source) is None
    with pytest.raises(KeyError):
        PLAN.file_value(source)
