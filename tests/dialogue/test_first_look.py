"""The first look: five levels turn the screws of a radar plainly off, and never say more."""

from __future__ import annotations

import pytest

from companion.steps.aim.state import aim_round
from companion.steps.first_look.run import PLAINLY_OFF

FAR = (
    "echo_lean_towards_db",
    "echo_lean_upright_db",
    "echo_lean_away_db",
    "echo_swing_left_db",
    "echo_swing_right_db",
)
NEAR = (
    "echo_swing_left_near_db",
    "echo_swing_right_near_db",
    "echo_lean_towards_near_db",
    "echo_lean_away_near_db",
)


@pytest.fixture
def after_five(bay, aim_words):
    """The far levels of a radar that points there, read and confirmed."""

    def make(yaw_deg, elevation_deg, **other):
        bay.spoil(**aim_words(yaw_deg, elevation_deg) | other).go_on_to(FAR[0])
        for _ in FAR:
            bay.answer_once()
        return bay

    return make


@pytest.mark.parametrize(("yaw", "elevation"), [(1.2, 0.0), (0.0, -0.9), (-1.0, 1.5)])
def test_plainly_off_has_the_screws_turned_by_five_levels(after_five, yaw, elevation):
    bay = after_five(yaw, elevation)
    assert bay.state.tasks
    seen = bay.fact("aim_decided")
    assert (seen["answer"], seen["levels"], seen["confirmed"]) == ("outside", 5, False)
    assert seen["probability_inside"] <= PLAINLY_OFF
    assert "look" not in seen
    assert seen["yaw"]["value"] == pytest.approx(yaw, abs=4 * seen["yaw"]["u"])
    assert seen["elevation"]["value"] == pytest.approx(elevation, abs=4 * seen["elevation"]["u"])
    # All nine are read anew at the new position.
    assert not set(FAR) & set(bay.state.readings)
    assert aim_round(bay.state).round == 1


@pytest.mark.parametrize("yaw", [0.0, 0.3, 0.4, 0.42])
def test_what_is_not_plainly_off_is_for_the_whole_set_to_say(after_five, yaw):
    bay = after_five(yaw, 0.0)
    assert bay.step_id == NEAR[0]
    # No figure of the five is an aim.
    assert bay.every("aim_decided") == bay.every("screw_plan") == []
    assert not any("aim_yaw_deg" in fact["outputs"] for fact in bay.every("computed"))
    for _ in NEAR:
        bay.answer_once()
    decided = bay.fact("aim_decided")
    assert (decided["look"], "levels" in decided) == (1, False)


def test_five_levels_that_contradict_the_beam_turn_nothing(after_five, in_words):
    """One far notch taken for the near one: with five levels alone the aim would be far out."""
    bay = after_five(0.0, 0.0, **in_words({FAR[2]: "59.0"}))
    assert bay.step_id == NEAR[0]
    for _ in NEAR:
        bay.answer_once()
    # The whole set names the level.
    assert bay.every("aim_decided") == bay.every("screw_plan") == []
    assert bay.fact("suspected")["asked_again"] == ["top away"]


def test_five_levels_without_a_peak_turn_nothing(after_five, in_words):
    bay = after_five(0.0, 0.0, **in_words({FAR[0]: "60.0", FAR[1]: "50.0", FAR[2]: "60.0"}))
    assert bay.step_id == NEAR[0]
    assert bay.every("misfit") == []


def test_a_level_read_again_after_the_answer_fell_spends_a_look(after_five, aim_words):
    bay = after_five(0.3, 0.0)
    assert (aim_round(bay.state).looks, aim_round(bay.state).first_look) == (0, 0)
    bay.hear("go back").spoil(**aim_words(0.3, 0.0)).go_on_to(NEAR[0])
    assert aim_round(bay.state).looks == 1
    for _ in NEAR:
        bay.answer_once()
    assert bay.fact("aim_decided")["look"] == 2


def test_a_level_read_again_never_has_the_screws_turned_by_five(after_five, aim_words):
    """Reading the five again until they look off does not get round the whole set."""
    bay = after_five(0.3, 0.0)
    bay.hear("go back").spoil(**aim_words(2.0, 0.0)).answer_once()
    assert bay.step_id == NEAR[0]
    assert not bay.state.tasks


def test_a_move_that_did_not_come_out_as_planned_is_for_the_whole_set(after_five, aim_words):
    bay = after_five(1.2, -0.8)
    while bay.state.tasks:
        bay.hear("done")
    # Turned the wrong way: twice as far off as before.
    bay.spoil(**aim_words(2.4, -1.6))
    for _ in FAR:
        bay.answer_once()
    assert bay.step_id == NEAR[0]
    assert bay.every("move_judged") == []
    for _ in NEAR:
        bay.answer_once()
    assert bay.fact("move_judged")["kind"] == "wrong_way"


def test_a_move_as_planned_that_leaves_it_plainly_off_is_learned_from(after_five, aim_words):
    bay = after_five(2.4, 0.0)
    planned = bay.fact("screw_plan")["predicted"]
    while bay.state.tasks:
        bay.hear("done")
    bay.spoil(**aim_words(planned["yaw_deg"] + 0.6, planned["elevation_deg"]))
    for _ in FAR:
        bay.answer_once()
    assert bay.fact("move_judged")["kind"] == "as_planned"
    assert aim_round(bay.state).round == 2
    assert len(bay.every("screw_plan")) == 2


@pytest.mark.parametrize("pause", ["wait", "stop", "resumed"])
def test_a_break_between_the_five_and_the_four_has_all_nine_read_anew(after_five, aim_words, pause):
    """Levels drift while nobody reads: two halves of a set would look like another width."""
    bay = after_five(0.3, 0.0)
    if pause == "resumed":
        bay.resume().hear("not touched", "yes")
    else:
        bay.hear(pause, "continue")
    assert bay.step_id == FAR[0]
    assert not {*FAR, *NEAR} & set(bay.state.readings)
    assert any("read anew" in text for text in bay.spoken)
    bay.spoil(**aim_words(0.3, 0.0)).go_on_to(NEAR[0])
    # The answer of the five had fallen: the whole set is the second look.
    assert aim_round(bay.state).looks == 1
    for _ in NEAR:
        bay.answer_once()
    assert bay.fact("aim_decided")["look"] == 2


def test_a_break_before_the_five_or_behind_the_nine_reads_nothing_anew(after_five):
    bay = after_five(0.3, 0.0).hear("go back")
    left = set(bay.state.readings)
    assert set(bay.hear("wait", "continue").state.readings) == left
