"""Before any work: could anything pass with the doubts that the files enter?"""

from __future__ import annotations

import time
from dataclasses import replace

from companion.dialogue.feasibility import infeasible
from companion.dialogue.machine import begin
from companion.dialogue.state import Mode
from companion.facts.opening import Opened
from companion.job.plan import make_plan


def with_bay(bay, **changed):
    """A talk in a bay whose file says something else, just opened."""
    files = bay.state.plan.files
    floor = {k: v for k, v in changed.items() if k in type(files.bay.floor).model_fields}
    stand = {k: v for k, v in changed.items() if k not in floor}
    entered = files.bay.model_copy(
        update={
            "floor": files.bay.floor.model_copy(update=floor),
            "stand": files.bay.stand.model_copy(update=stand),
        }
    )
    plan = make_plan(replace(files, bay=entered))
    return type(bay)(bay.grammar, begin(plan, bay.grammar), dict(bay.answers)).do(Opened())


def test_the_shipped_files_let_everything_pass(bay):
    assert infeasible(bay.state) == ()
    assert bay.step_id == "consent"


def test_a_line_laser_that_is_hardly_level_is_found_before_a_wheel_is_lifted(bay):
    talk = with_bay(bay, line_laser_doubt_deg=0.25)
    assert talk.state.mode is Mode.STOPPED
    fact = talk.fact("cannot_pass")
    assert (fact["result"], fact["before_the_work"]) == ("aim_elevation_deg", True)
    name, percent = fact["budget"][0]
    assert name == "aim_error.floor_slope_up_deg"
    assert percent > 90
    assert talk.asked == (
        "These files cannot give a result at aim inside the vehicle's tolerance. "
        "Tell your supervisor. "
        "Stopped. Leave everything as it is. Say continue, or cancel."
    )
    assert talk.hear("end the job", "yes").state.mode is Mode.CLOSED


def test_a_tolerance_below_what_the_stands_scales_show_is_found_too(bay):
    talk = with_bay(bay, sideways_tolerance_mm=0.5, plumb_tolerance_mm_per_m=0.1)
    assert [body["result"] for body in talk.every("cannot_pass")] == [
        "stand_offset_left_mm",
        "plumb_mm_per_m",
    ]
    assert "at stand sideways and plate plumb." in talk.asked


def test_carry_on_goes_on_all_the_same_and_the_record_knows(bay):
    talk = with_bay(bay, line_laser_doubt_deg=0.25).hear("carry on")
    assert talk.step_id == "consent"
    assert talk.every("cannot_pass")


def test_looking_ahead_takes_no_time_that_a_person_would_notice(bay):
    began_s = time.process_time()
    infeasible(bay.state)
    assert time.process_time() - began_s < 3.0
