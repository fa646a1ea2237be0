"""A short set: five levels behind a fine turn, with the widths of the whole set before it."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.dialogue.state import Mode
from companion.steps.aim.noise import scatter_seen
from companion.steps.aim.sets import final_aim
from companion.steps.aim.state import aim_round
from companion.uncertainty.agreement import NO_SCATTER
from tests.dialogue.conftest import echo_levels_db
from tests.dialogue.test_first_look import FAR, NEAR

BEHIND = "visit_end"
LIMIT_DEG = 0.4


@pytest.fixture
def after_fine_turn(bay, aim_words):
    """A whole set that had the screws turned a little, and the turns done; and what they foretell.

    The five levels come next: `five(yaw, elevation)` reads them off a radar that points there.
    """

    def make(yaw_deg=0.42, elevation_deg=0.1):
        bay.spoil(**aim_words(yaw_deg, elevation_deg)).go_on_to(FAR[0])
        for _ in (*FAR, *NEAR):
            bay.answer_once()
        planned = bay.fact("screw_plan")["predicted"]
        while bay.state.tasks:
            bay.hear("done")
        return bay, planned["yaw_deg"], planned["elevation_deg"]

    return make


def read_five(bay):
    for _ in FAR:
        bay.answer_once()
    return bay


def test_inside_by_five_levels_asks_no_others(after_fine_turn, aim_words):
    bay, yaw, elevation = after_fine_turn()
    read_five(bay.spoil(**aim_words(yaw, elevation)))
    assert not {*NEAR, "aim_decision"} & {bay.step_id}
    seen = bay.fact("aim_decided")
    assert (seen["answer"], seen["confirmed"], seen["levels"]) == ("inside", True, 5)
    assert (seen["look"], seen["most_looks"], seen["sets"]) == (1, 4, 1)
    assert seen["yaw"]["value"] == pytest.approx(yaw, abs=4 * seen["yaw"]["u"])
    assert bay.fact("move_judged")["kind"] == "as_planned"
    # What the report draws as the last curve is that of the five.
    curves = [
        fact["outputs"] for fact in bay.every("computed") if "lean_vertex_deg" in fact["outputs"]
    ]
    assert curves[-1].keys() >= {"lean_beam_width_deg", "lean_peak_db", "lean_left_over_db"}
    whole = curves[-2]["lean_beam_width_deg"]
    assert curves[-1]["lean_beam_width_deg"]["value"] == pytest.approx(whole["value"])
    aim = final_aim(bay.state, bay.state.plan.step("aim_decision"))
    assert aim is not None
    assert (aim[0].value, aim[0].u) == pytest.approx((seen["yaw"]["value"], seen["yaw"]["u"]))
    while bay.state.mode is Mode.ASKING:
        bay.answer_once()
    finished = bay.fact("finished")
    assert finished["result"] == "inside"
    assert finished["terms"]


def test_the_doubt_is_larger_than_that_of_nine_levels(after_fine_turn, aim_words):
    bay, yaw, elevation = after_fine_turn()
    whole = bay.fact("aim_decided")
    read_five(bay.spoil(**aim_words(yaw, elevation)))
    short = bay.fact("aim_decided")
    for axis in ("yaw", "elevation"):
        assert whole[axis]["u"] < short[axis]["u"] < 1.2 * whole[axis]["u"]


def test_what_five_do_not_settle_nine_do_one_look_later(after_fine_turn, aim_words):
    bay, _, _ = after_fine_turn()
    read_five(bay.spoil(**aim_words(0.38, 0.0)))
    assert bay.step_id == NEAR[0]
    assert len(bay.every("aim_decided")) == 1
    assert aim_round(bay.state).looks == 1
    for _ in NEAR:
        bay.answer_once()
    decided = bay.fact("aim_decided")
    assert (decided["look"], "levels" in decided) == (2, False)


def test_screws_that_were_not_turned_are_for_the_whole_set(after_fine_turn):
    bay, _, _ = after_fine_turn(0.42, 0.1)
    assert read_five(bay).step_id == NEAR[0]
    for _ in NEAR:
        bay.answer_once()
    assert bay.fact("move_judged")["kind"] == "not_turned"


def test_behind_a_turn_that_five_asked_for_there_is_no_short_set(bay, aim_words):
    bay.spoil(**aim_words(1.2, 0.0)).go_on_to(FAR[0])
    read_five(bay)
    planned = bay.fact("screw_plan")["predicted"]
    while bay.state.tasks:
        bay.hear("done")
    bay.spoil(**aim_words(planned["yaw_deg"], planned["elevation_deg"]))
    assert read_five(bay).step_id == NEAR[0]
    assert aim_round(bay.state).looks == 0


@pytest.fixture(scope="module")
def turned(open_bay, aim_words):
    """The same bay for every example: the screws are turned, the five levels come next."""
    bay = open_bay().spoil(**aim_words(0.42, 0.1)).go_on_to(FAR[0])
    for _ in (*FAR, *NEAR):
        bay.answer_once()
    while bay.state.tasks:
        bay.hear("done")
    return bay


@settings(max_examples=60, deadline=None)
@given(
    yaw=st.floats(-0.8, 0.8),
    elevation=st.floats(-0.8, 0.8),
    misread=st.sampled_from(FAR),
    off_db=st.just(Decimal(0)) | st.decimals(-10, 10, places=1),
)
def test_five_levels_never_call_inside_what_is_not(
    turned, in_words, yaw, elevation, misread, off_db
):
    """Wherever the radar points behind the turn, and whichever level was misread by how much.

    The judge is the aim that the levels were made from.
    """
    levels = echo_levels_db(yaw, elevation)
    levels[misread] = str(Decimal(levels[misread]) + off_db)
    bay = replace(turned, answers=turned.answers | in_words(levels), events=[], facts=[])
    read_five(bay)
    if "aim_decision" in bay.state.done:
        # The display's steps alone may move an aim by a hundredth of a degree or two.
        assert max(abs(yaw), abs(elevation)) < LIMIT_DEG
        assert bay.fact("aim_decided")["confirmed"]
    else:
        assert bay.step_id == NEAR[0] or bay.state.tasks


@pytest.mark.parametrize("pause", ["wait", "stop", "resumed"])
def test_no_width_outlasts_a_break(after_fine_turn, aim_words, pause):
    bay, yaw, elevation = after_fine_turn()
    if pause == "resumed":
        bay.resume().hear("not touched", "yes")
    else:
        bay.hear(pause, "continue")
    assert read_five(bay.spoil(**aim_words(yaw, elevation))).step_id == NEAR[0]


def test_five_taken_back_are_read_anew_and_the_nine_decide(after_fine_turn, aim_words):
    bay, yaw, elevation = after_fine_turn()
    read_five(bay.spoil(**aim_words(yaw, elevation))).hear("go back")
    assert bay.step_id in FAR
    bay.go_on_to(NEAR[0])
    assert final_aim(bay.state, bay.state.plan.step("aim_decision")) is None
    for _ in NEAR:
        bay.answer_once()
    assert bay.fact("aim_decided")["look"] == 3


def test_a_break_behind_a_short_set_reads_nothing_anew(after_fine_turn, aim_words):
    bay, yaw, elevation = after_fine_turn()
    read_five(bay.spoil(**aim_words(yaw, elevation)))
    left = set(bay.state.readings)
    assert set(bay.hear("wait", "continue").state.readings) == left


@pytest.mark.parametrize("name", FAR)
@pytest.mark.parametrize("off_db", [-3, -1, 1, 3])
def test_one_level_misread_is_for_the_whole_set(after_fine_turn, in_words, name, off_db):
    bay, yaw, elevation = after_fine_turn()
    levels = echo_levels_db(yaw, elevation)
    levels[name] = str(Decimal(levels[name]) + off_db)
    assert read_five(bay.spoil(**in_words(levels))).step_id == NEAR[0]


def test_levels_from_before_and_after_a_break_are_no_set_and_teach_nothing(
    after_fine_turn, aim_words
):
    """A radar that points elsewhere behind the break is not confirmed by what the five taught."""
    bay, yaw, elevation = after_fine_turn()
    read_five(bay.spoil(**aim_words(yaw, elevation)))
    assert bay.fact("aim_decided")["confirmed"]
    bay.hear("stop", "continue", "go back")
    assert bay.step_id == FAR[-1]
    bay.spoil(**aim_words(0.30, elevation)).answer_once()
    assert bay.step_id == FAR[0]
    assert aim_round(bay.state).widths == ()
    assert read_five(bay).step_id == NEAR[0]
    for _ in NEAR:
        bay.answer_once()
    assert len(bay.every("move_judged")) == 2
    assert bay.fact("move_judged")["kind"] != "as_planned"
    assert not any(fact["confirmed"] for fact in bay.every("aim_decided")[2:])


def test_a_level_taken_back_leaves_no_second_opinion_of_the_five(after_fine_turn, aim_words):
    bay, yaw, elevation = after_fine_turn()
    before = aim_round(bay.state)
    read_five(bay.spoil(**aim_words(yaw, elevation)))
    assert aim_round(bay.state).foreseen
    bay.hear("go back")
    aim = aim_round(bay.state)
    assert (aim.sets, aim.short, aim.explained, aim.foreseen) == ((), None, False, False)
    assert (aim.response, aim.turned, aim.looks) == (before.response, before.turned, 1)


def test_levels_of_an_earlier_route_say_nothing_of_how_other_sets_scatter(after_fine_turn):
    bay, _, _ = after_fine_turn()
    step = bay.state.plan.step("aim_decision")
    aim = aim_round(bay.state)
    assert aim.before is not None
    pair = aim.before
    assert scatter_seen(bay.state, step, replace(aim, sets=(pair, pair))) == NO_SCATTER
