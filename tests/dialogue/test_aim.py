"""The radar's aim: judged, corrected by its screws, and only called inside when it is sure."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import atan, degrees, hypot, radians, sqrt, tan

import numpy as np
import pytest

from companion.calibration.hypothesis_test import explain_move
from companion.calibration.response import Response, as_matrix
from companion.dialogue.effects import Record
from companion.dialogue.machine import begin
from companion.dialogue.state import Mode
from companion.facts.opening import Opened
from companion.facts.talking import Said
from companion.job.plan import make_plan
from companion.language.expectation import Expectation, NumberForm
from companion.steps.aim.figures import mount_of
from companion.steps.aim.sets import final_aim
from companion.steps.aim.state import aim_round
from companion.steps.aim.uncertainty import sets_to_settle
from companion.uncertainty.conformity import decide
from companion.uncertainty.measured import Measured
from tests.spoken import said

QUARTER_TURNS = Expectation(
    NumberForm("quarters", 2, directions=("clockwise", "anticlockwise"), units=("turns",))
)
SCREW_TASK = re.compile(r"(Left|Upper) screw, (clockwise|anticlockwise), (.+)\.")
TURNED_BACK = re.compile(r"(Left|Upper) screw again, back (.+), (clockwise|anticlockwise)\.")
LOCK = "Lock the screws without turning them. Covers on."


def told_turn(task: str) -> tuple[str, str, str]:
    """Screw, way and amount as they are said: a turn, or the same screw turned back at once."""
    back = TURNED_BACK.fullmatch(task)
    if back is None:
        name, way, amount = SCREW_TASK.fullmatch(task).groups()
    else:
        name, amount, way = back.groups()
    return name, way, amount


@dataclass
class Radar:
    """A radar on its mount, moved by a hand that turns its screws, rightly or not.

    The corner at a screw moves rearward by pitch times clockwise turns, as on the shipped mount.
    """

    yaw_deg: float
    elevation_deg: float
    hand: Callable[[str, float], tuple[str, float]] = lambda name, turns: (name, turns)
    turned: dict[str, float] = field(default_factory=lambda: {"left": 0.0, "upper": 0.0})

    def turn(self, name: str, clockwise_turns: float) -> None:
        name, clockwise_turns = self.hand(name, clockwise_turns)
        self.turned[name] += clockwise_turns
        positions = np.array([[60.0, 5.0], [-4.0, 55.0]])
        pushed = 0.8 * np.array([clockwise_turns if n == name else 0.0 for n in ("left", "upper")])
        slopes = np.linalg.solve(positions, pushed)
        self.yaw_deg = degrees(atan(tan(radians(self.yaw_deg)) + slopes[0]))
        self.elevation_deg = degrees(atan(tan(radians(self.elevation_deg)) + slopes[1]))


def _by_sets(talk):
    """The same job where no misfits are told: sets alone can confirm one another."""
    files = talk.state.plan.files
    stages = tuple(
        stage.model_copy(
            update={
                "steps": tuple(
                    step.model_copy(update={"noise": None}) if step.id == "aim_decision" else step
                    for step in stage.steps
                )
            }
        )
        for stage in files.job.stages
    )
    changed = replace(files, job=files.job.model_copy(update={"stages": stages}))
    state = begin(make_plan(changed), talk.grammar)
    return type(talk)(talk.grammar, state, talk.answers).do(Opened())


@pytest.fixture
def measure(bay, aim_words):
    """Measure the radar once at the plate: nine levels, or the five that show it plainly off."""

    def make(radar: Radar, talk=bay):
        talk.spoil(**aim_words(radar.yaw_deg, radar.elevation_deg))
        if talk.step_id == "consent":
            talk.go_on_to("echo_lean_towards_db")
        assert talk.step_id == "echo_lean_towards_db"
        for at in range(9):
            if at and (talk.state.tasks or talk.step_id == "echo_lean_towards_db"):
                break
            talk.answer_once()
        return talk

    return make


@pytest.fixture
def turn_screws(bay, grammar):
    """Turn the screws as they are asked for, one task after the other."""

    def make(radar: Radar, talk=bay):
        while talk.state.tasks:
            task = said(talk.state.tasks[0].text)
            if task == LOCK:
                talk.hear("done")
                continue
            name, way, amount = told_turn(task)
            number = grammar.for_step(QUARTER_TURNS).parse(f"{amount} {way}")
            # What is said and what the record tells of it are two things; hands go by the words.
            told = talk.state.tasks[0].instruction
            assert (told.sense, told.turns) == (way, number.value)
            assert told.screw_id == f"{name.lower()}_screw"
            turns = float(number.value)
            radar.turn(name.lower(), turns if way == "clockwise" else -turns)
            talk.hear("done")
        return talk

    return make


def _offset(talk, **change):
    """The same job with something of the mount file changed."""
    files = talk.state.plan.files
    screws = tuple(s.model_copy(update=change) for s in files.mount.screws)
    changed = replace(files, mount=files.mount.model_copy(update={"screws": screws}))
    state = begin(make_plan(changed), talk.grammar)
    return type(talk)(talk.grammar, state, talk.answers).do(Opened())


@pytest.mark.parametrize(
    ("yaw", "elevation", "said"),
    [
        (1.2, 0.0, "Not inside yet: one point two zero left"),
        (-1.2, 0.0, "Not inside yet: one point two zero right"),
        (0.0, 1.0, ", one point zero three"),
        (0.0, -1.0, ", one point zero three"),
    ],
)
def test_outside_is_shown_with_how_far_and_which_way(bay, measure, yaw, elevation, said):
    measure(Radar(yaw, elevation))
    # By ear that is all; how far and which way stands on the screen.
    assert "Not inside." in bay.spoken
    facts = [e.fact for e in bay.effects if isinstance(e, Record) and isinstance(e.fact, Said)]
    [message] = [f.messages["text"] for f in facts if f.text == "Not inside."]
    explained = bay.state.lexicon.say(message)
    assert said in explained
    way = "left" if yaw > 0 else "right" if yaw < 0 else "up" if elevation > 0 else "down"
    assert f" {way}" in explained
    assert bay.fact("aim_decided")["answer"] == "outside"


def test_the_turns_of_each_screw_are_asked_for_one_at_a_time(bay, measure):
    measure(Radar(1.2, -0.8))
    assert len(bay.state.tasks) >= 2
    first, second = bay.state.tasks[:2]
    assert bay.asked == f"{said(first.text)} Say done."
    assert SCREW_TASK.fullmatch(said(first.text))
    assert bay.hear("done").asked == f"{said(second.text)} Say done."
    assert not bay.can_hear("six zero point one")


@pytest.mark.parametrize(("yaw", "elevation"), [(1.2, -0.8), (-1.5, 0.9), (0.9, 1.4), (-1.0, -1.0)])
def test_the_spoken_turns_bring_the_radar_inside(bay, measure, turn_screws, yaw, elevation):
    radar = Radar(yaw, elevation)
    measure(radar)
    plan = bay.fact("screw_plan")
    turn_screws(radar)
    assert abs(radar.yaw_deg) < 0.4
    assert abs(radar.elevation_deg) < 0.4
    assert plan["reachable"] is True
    for name in ("left", "upper"):
        assert radar.turned[name] == float(sum_of(plan["turns"][f"{name}_screw"]))
    assert plan["predicted"]["yaw_deg"] == pytest.approx(radar.yaw_deg, abs=0.1)
    assert plan["predicted"]["elevation_deg"] == pytest.approx(radar.elevation_deg, abs=0.1)
    # Turning takes nothing from the doubt of where it began; what a turn does is doubtful itself.
    for doubt in ("u_yaw", "u_elevation"):
        assert plan["aim"][doubt] < plan["predicted"][doubt] < 0.4


def sum_of(text: str) -> float:
    top, _, bottom = text.partition("/")
    return int(top) / int(bottom or 1)


def test_each_screws_last_movement_goes_the_approach_way(bay, measure):
    measure(Radar(1.2, 1.0))
    last: dict[str, str] = {}
    *turns, locking = bay.state.tasks
    assert said(locking.text) == LOCK
    for task in turns:
        name, way, _ = told_turn(said(task.text))
        last[name] = way
    assert set(last.values()) == {"clockwise"}


def test_a_set_that_is_inside_without_any_one_level_needs_no_second(bay, measure):
    measure(Radar(0.05, -0.05))
    decided = bay.fact("aim_decided")
    assert (decided["answer"], decided["sets"], decided["confirmed"]) == ("inside", 1, True)
    assert bay.step_id == "faults_after"


def test_a_set_that_one_level_may_have_brought_inside_is_measured_again(bay, measure):
    """0.31 to the left is inside; without the level that says so it might be beyond."""
    measure(Radar(0.31, 0.0))
    decided = bay.fact("aim_decided")
    assert (decided["answer"], decided["confirmed"]) == ("inside", False)
    assert bay.said[-2] == "Inside. Once more, to be sure."


def test_the_levels_of_two_sets_tell_how_far_they_scatter(bay, measure, aim_words, in_words):
    """Nine levels twice: what is left of their differences without the sets' own shift."""
    # A beam that bends otherwise: each set by itself fits a parabola.
    steps = np.array([3, 1, 0, 1, 3, 3, 1, 1, 3]) * 0.1 + 0.4
    measure(Radar(0.31, 0.0))
    levels = bay.state.plan.step("aim_decision").noise.levels
    first = np.array([float(bay.state.last_values[name].value) for name in levels])
    second = {name: f"{x:.1f}" for name, x in zip(levels, first + steps, strict=True)}
    bay.spoil(**in_words(second))
    for _ in levels:
        bay.answer_once()
    apart = np.array([float(second[name]) for name in levels]) - first
    # What is wrong with the scale is alike in both: only rounding and scatter part them.
    taken = bay.state.last_values[levels[0]]
    u_level = hypot(taken.resolution / sqrt(12), taken.scatters)
    expected = ((apart - apart.mean()) ** 2).sum() / 2 / u_level**2 / (len(levels) - 1)
    assert bay.fact("aim_decided")["scatter_ratio"] == pytest.approx(expected**0.5, rel=1e-6)


def test_inside_bears_the_unchecked_doubt_that_matters_most_three_times_as_large(bay, measure):
    measure(Radar(0.05, -0.05))
    decided = bay.fact("aim_decided")
    assert decided["wrong"]
    assert 0.95 < decided["if_wrong"] <= 1.0


def test_a_doubt_from_few_repeats_makes_inside_harder(bay, measure):
    """What a doubt is worth that was found by three trials is widened by Student's t."""
    measure(Radar(0.05, 0.0))
    sure = bay.fact("aim_decided")["probability_inside"]
    files = bay.state.plan.files
    stand = files.bay.stand.model_copy(
        update={"plate_to_bar_doubt_deg": 0.12, "from_repeats": {"plate_to_bar_doubt_deg": 3}}
    )
    known = stand.model_copy(update={"from_repeats": {}})

    def chance(of_stand):
        changed = replace(files, bay=files.bay.model_copy(update={"stand": of_stand}))
        state = begin(make_plan(changed), bay.grammar)
        talk = type(bay)(bay.grammar, state, bay.answers).do(Opened())
        measure(Radar(0.05, 0.0), talk)
        return talk.fact("aim_decided")["probability_inside"]

    assert chance(stand) < chance(known) < sure


def test_one_set_inside_is_not_enough(bay, measure):
    bay = _by_sets(bay)
    measure(Radar(0.05, -0.05), bay)
    assert bay.said[-2:] == [
        "Inside. Once more, to be sure.",
        "Plate in the middle, top towards the car, far notch, then upright.",
    ]
    assert bay.fact("aim_decided")["answer"] == "inside"
    assert bay.fact("aim_decided")["confirmed"] is False
    assert "aim_decision" not in bay.state.done
    measure(Radar(0.05, -0.05), bay)
    assert bay.fact("aim_decided")["confirmed"] is True
    assert bay.fact("aim_decided")["sets"] == 2
    assert bay.step_id == "faults_after"


def test_an_aim_that_is_not_confirmed_is_never_the_result(bay, measure):
    bay = _by_sets(bay)
    measure(Radar(0.05, -0.05), bay)
    assert len(aim_round(bay.state).sets) == 1
    step = bay.state.plan.step("aim_decision")
    assert final_aim(bay.state, step) is None
    measure(Radar(0.05, -0.05), bay)
    yaw, elevation = final_aim(bay.state, step)
    assert yaw.value == pytest.approx(0.05, abs=0.03)
    assert elevation.value == pytest.approx(-0.05, abs=0.05)


def test_after_the_turning_a_second_set_confirms_where_the_prediction_is_not_sharp(
    bay, measure, turn_screws
):
    bay = _by_sets(bay)
    radar = Radar(1.2, -0.8)
    turn_screws(measure(radar, bay) and radar, bay)
    measure(radar, bay)
    assert bay.fact("move_judged")["kind"] == "as_planned"
    assert bay.said[-2] == "Inside. Once more, to be sure."
    measure(radar, bay)
    assert "aim_decision" in bay.state.done


def test_a_mount_that_was_learned_predicts_sharply_and_needs_no_second_set(
    bay, measure, turn_screws
):
    """The first turning moves a third more than drawn; the second is foreseen from that."""
    stiff = [1.3]
    radar = Radar(2.0, 0.0, lambda name, turns: (name, turns * stiff[0]))
    turn_screws(measure(radar) and radar)
    assert abs(radar.yaw_deg) > 0.4
    turn_screws(measure(radar) and radar)
    measure(radar)
    assert [b["kind"] for b in bay.every("move_judged")] == ["as_planned", "as_planned"]
    last = bay.fact("aim_decided")
    assert (last["answer"], last["sets"], last["confirmed"]) == ("inside", 1, True)
    assert bay.step_id == "faults_after"
    assert abs(radar.yaw_deg) < 0.4
    assert abs(radar.elevation_deg) < 0.4
    # Levels are kept with the position of the screws that they were read at: the first two sets
    # were plainly off, and told it by fewer readings.
    assert [len(sets) for sets in aim_round(bay.state).levels] == [0, 0, 1]


def test_sets_that_disagree_are_measured_again_and_the_first_is_dropped(bay, measure):
    bay = _by_sets(bay)
    measure(Radar(0.05, 0.0), bay)
    measure(Radar(0.55, 0.0), bay)
    assert bay.said[0] == "The two sets do not agree. We measure them again."
    assert bay.step_id == "echo_lean_towards_db"
    measure(Radar(0.05, 0.0), bay)
    assert bay.said[0] == "The two sets do not agree. We measure them again."
    measure(Radar(0.05, 0.0), bay)
    assert bay.fact("aim_decided")["sets"] == 2
    assert "aim_decision" in bay.state.done


def test_sets_that_never_agree_end_in_a_stop(bay, measure):
    bay = _by_sets(bay)
    measure(Radar(0.0, 0.0), bay)
    for count in range(20):
        measure(Radar(0.5 if count % 2 == 0 else 0.0, 0.0), bay)
        if bay.state.mode is Mode.STOPPED:
            break
    assert bay.asked.startswith("The readings do not settle.")
    assert "aim_decision" not in bay.state.done
    bay.hear("carry on")
    assert bay.step_id == "echo_lean_towards_db"
    # The risk of this position is spent: not even two sets that agree are called inside now.
    measure(Radar(0.0, 0.0), bay)
    measure(Radar(0.0, 0.0), bay.hear("carry on"))
    assert bay.fact("aim_decided")["look"] > bay.fact("aim_decided")["most_looks"]
    assert (bay.fact("aim_decided")["sets"], bay.fact("aim_decided")["answer"]) == (2, "too_close")
    assert "aim_decision" not in bay.state.done


@pytest.mark.parametrize("screw", ["left", "upper"])
def test_a_screw_turned_the_wrong_way_is_said_by_its_name(bay, measure, turn_screws, screw):
    def hand(name: str, turns: float) -> tuple[str, float]:
        return name, -turns if name == screw else turns

    radar = Radar(1.2, -1.2, hand)
    measure(radar)
    turn_screws(radar)
    measure(radar)
    assert f"Stop. It looks as if the {screw} screw went the wrong way." in bay.said
    assert bay.fact("move_judged")["kind"] == "wrong_way"
    assert bay.fact("move_judged")["screw_ids"] == [f"{screw}_screw"]


def test_both_screws_the_wrong_way_are_both_named(bay, measure, turn_screws):
    radar = Radar(1.6, -0.6, lambda name, turns: (name, -turns))
    turn_screws(measure(radar) and radar)
    measure(radar)
    assert "Stop. It looks as if the left screw and the upper screw went the wrong way." in bay.said


def test_the_other_screw_turned_is_said(bay, measure, turn_screws):
    other = {"left": "upper", "upper": "left"}
    radar = Radar(1.6, 0.0, lambda name, turns: (other[name], turns))
    turn_screws(measure(radar) and radar)
    measure(radar)
    assert bay.fact("move_judged")["kind"] == "wrong_screw"
    assert next(text for text in bay.said if text.startswith("Stop.")) in (
        "Stop. It looks as if the left screw and the upper screw were taken for each other.",
        "Stop. It looks as if the upper screw was turned in place of the left screw.",
    )


def test_a_screw_that_was_forgotten_is_said_by_its_name(bay, measure, turn_screws):
    radar = Radar(1.6, -1.4, lambda name, turns: (name, 0.0 if name == "upper" else turns))
    turn_screws(measure(radar) and radar)
    measure(radar)
    assert bay.fact("move_judged")["screw_ids"] == ["upper_screw"]
    said = next(text for text in bay.said if text.startswith("Stop. It looks as if the upper"))
    assert "did not get all of its turns" in said or "was not turned as far as I said" in said


def test_a_screw_turned_twice_as_far_is_said_by_its_name(bay, measure, turn_screws):
    def hand(name: str, turns: float) -> tuple[str, float]:
        return name, 2 * turns if name == "left" and abs(turns) > 1 else turns

    radar = Radar(1.2, -1.2, hand)
    turn_screws(measure(radar) and radar)
    measure(radar)
    assert bay.fact("move_judged")["kind"] == "twice_as_far"
    assert bay.fact("move_judged")["screw_ids"] == ["left_screw"]
    assert "Stop. It looks as if the left screw was turned twice as far as I said." in bay.said


class Mirrored(Radar):
    """A radar whose plate was leaned the wrong way round: its levels are those of another aim."""

    def seen(self, yaw: float, elevation: float) -> Radar:
        return Radar(yaw * self.yaw_deg, elevation * self.elevation_deg)


@pytest.mark.parametrize(
    ("ways", "kind", "told"),
    [
        ((-1, 1), "sides_swapped_before", "left and right were swapped in the readings before"),
        ((1, -1), "ends_swapped_before", "up and down were swapped in the readings before"),
    ],
)
def test_an_earlier_set_the_wrong_way_round_is_said_and_the_aim_comes_right(
    bay, measure, turn_screws, ways, kind, told
):
    """What the screws did is as planned; only the readings before them were mirrored."""
    radar = Mirrored(0.9, -0.7)
    measure(radar.seen(*ways))
    turn_screws(radar)
    measure(radar)
    assert bay.fact("move_judged")["kind"] == kind
    assert f"Stop. It looks as if {told}." in bay.said
    turn_screws(radar)
    assert radar.yaw_deg == pytest.approx(0, abs=0.2)
    assert radar.elevation_deg == pytest.approx(0, abs=0.2)
    while bay.step_id != "faults_after":
        measure(radar)
        turn_screws(radar)
    assert bay.fact("aim_decided")["answer"] == "inside"


def test_two_slips_that_the_readings_do_not_part_are_both_said(bay, measure, turn_screws):
    """As much anticlockwise on one as clockwise on the other: the wrong way, or swapped."""
    radar = Radar(1.2, -1.2, lambda name, turns: (name, -turns))
    turn_screws(measure(radar) and radar)
    measure(radar)
    judged = bay.fact("move_judged")
    assert judged["kind"] == "ambiguous"
    # Both foretell the same to the last digit: which is named first is not what is asked here.
    assert {name["kind"] for name in judged["names"]} == {"wrong_way", "wrong_screw"}
    (said,) = (text for text in bay.said if text.startswith("Stop. It looks as if either "))
    assert "the left screw and the upper screw went the wrong way" in said
    assert "the left screw and the upper screw were taken for each other" in said


def test_what_a_judged_move_rests_on_is_kept_so_that_it_can_be_judged_again(
    bay, measure, turn_screws
):
    radar = Radar(1.2, -1.2, lambda name, turns: (name, -turns if name == "left" else turns))
    turn_screws(measure(radar) and radar)
    measure(radar)
    judged = bay.fact("move_judged")
    again = explain_move(
        mount_of(bay.state.plan.files.mount),
        Response(*(as_matrix(judged["response"][part]) for part in ("mean", "covariance"))),
        [Fraction(turns) for turns in judged["turns"]],
        (judged["moved"]["yaw_deg"], judged["moved"]["elevation_deg"]),
        judged["move_covariance"],
        judged["setting_u_turns"],
        settled=judged["settled"],
        turned_before=[Fraction(turns) for turns in judged["turned_before"]],
        before_deg=(judged["before"]["yaw_deg"], judged["before"]["elevation_deg"]),
    )
    assert (again.kind, list(again.screw_ids)) == (judged["kind"], judged["screw_ids"])
    assert again.probability == pytest.approx(judged["probability"], abs=1e-12)


def test_after_a_slip_the_next_turns_start_from_where_the_screws_really_are(
    bay, measure, turn_screws
):
    slipped = [True]

    def hand(name: str, turns: float) -> tuple[str, float]:
        return name, -turns if slipped[0] and name == "left" else turns

    radar = Radar(1.2, -0.9, hand)
    turn_screws(measure(radar) and radar)
    slipped[0] = False
    measure(radar)
    aim = aim_round(bay.state)
    screws = bay.state.plan.files.mount.screws
    real = {s.id: float(t) for s, t in zip(screws, aim.turned, strict=True)}
    planned = bay.fact("screw_plan")["turns"]
    for name in ("left", "upper"):
        wanted = radar.turned[name] + sum_of(planned[f"{name}_screw"])
        assert real[f"{name}_screw"] == pytest.approx(wanted)
    turn_screws(radar)
    assert abs(radar.yaw_deg) < 0.4
    assert abs(radar.elevation_deg) < 0.4


def test_a_move_that_nothing_explains_is_looked_at_again_before_anything_is_turned(
    bay, measure, turn_screws
):
    radar = Radar(1.2, 0.0)
    turn_screws(measure(radar) and radar)
    radar.elevation_deg += 2.5
    measure(radar)
    assert "Stop. The aim moved in a way that the screws do not explain." in bay.said
    assert bay.state.tasks == ()
    assert bay.step_id == "echo_lean_towards_db"
    assert "aim_decision" not in bay.state.done
    # Seen a second time it is taken as it is, and put right from there.
    measure(radar)
    assert [body["kind"] for body in bay.every("move_judged")] == ["unexplained"] * 2
    assert bay.fact("aim_decided")["answer"] == "outside"
    assert bay.state.tasks


def test_screws_that_no_lock_moves_are_not_asked_to_be_locked(bay, measure):
    files = bay.state.plan.files
    mount = files.mount.model_copy(update={"lock_doubt_turns": 0.0})
    state = begin(make_plan(replace(files, mount=mount)), bay.grammar)
    talk = type(bay)(bay.grammar, state, bay.answers).do(Opened())
    measure(Radar(1.2, 0.0), talk)
    assert talk.state.tasks
    assert all(told_turn(said(task.text)) for task in talk.state.tasks)


@pytest.mark.parametrize("sets", [1, 2, 4])
@pytest.mark.parametrize("value", [0.30, 0.33, -0.33])
def test_how_many_more_sets_would_settle_it_is_what_averaging_brings(bay, sets, value):
    """What scatters in the mean of so many sets; a scale's own error that no set takes away."""
    step = bay.state.plan.step("aim_decision")
    parts = (("echo_lean_towards_db #1", 0.06), ("plumb_mm_per_m scale and method", 0.01))
    close, certain = Measured(value, parts), Measured(0.0, parts[1:])
    more = sets_to_settle((close, certain), step, sets, (0.4, 0.4), 0.99)
    assert more is not None

    def answer(count):
        u = hypot(0.01, 0.06 * sqrt(sets / count))
        return decide(value, u, -0.4, 0.4, 0.99).answer

    assert answer(sets + more) == "inside"
    assert more == 1 or answer(sets + more - 1) == "too_close"
    assert sets_to_settle((certain, close), step, sets, (0.4, 0.4), 0.99) == more


def test_too_close_to_call_is_measured_once_more_where_turning_would_not_help(
    bay, measure, aim_words
):
    """With whole turns only, the next position of the screw would be as far off on the other side.

    One turn is about 0.76 degrees: from 0.38 to the left it would lead to 0.38 to the right.
    """
    talk = _offset(bay, smallest_turn=1.0)
    measure(Radar(0.38, 0.0), talk)
    assert talk.said[-2:] == [
        "Too close to call, and more sets would hardly settle it.",
        "Plate in the middle, top towards the car, far notch, then upright.",
    ]
    assert talk.fact("aim_decided")["answer"] == "too_close"
    assert not talk.every("screw_plan")


def test_too_close_to_call_turns_the_screws_where_that_promises_more(bay, measure):
    measure(Radar(0.39, 0.0))
    assert bay.fact("aim_decided")["answer"] == "too_close"
    assert SCREW_TASK.fullmatch(bay.asked)


def test_out_of_the_screws_reach_stops_and_says_what_would_be_left(bay, measure):
    talk = _offset(bay, travel_clockwise_turns=1.0, travel_anticlockwise_turns=1.0)
    measure(Radar(3.0, 0.0), talk)
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith("The screws cannot bring it inside.")
    assert "Check the bracket." in talk.asked
    assert talk.fact("screw_plan")["reachable"] is False
    assert "aim_decision" not in talk.state.done


def test_screws_that_move_nothing_never_end_inside(bay, measure, turn_screws):
    radar = Radar(1.5, 0.0, lambda name, turns: (name, 0.0))
    for _ in range(60):
        measure(radar)
        turn_screws(radar)
        if bay.state.mode is Mode.STOPPED:
            break
    assert bay.state.mode is Mode.STOPPED
    assert "aim_decision" not in bay.state.done
    assert len(bay.every("screw_plan")) <= 7


def test_a_tolerance_below_the_doubt_is_refused_before_anything_is_turned(bay, measure):
    files = bay.state.plan.files
    aim = files.vehicle.aim.model_copy(update={"yaw_tolerance_deg": 0.02})
    changed = replace(files, vehicle=files.vehicle.model_copy(update={"aim": aim}))
    talk = type(bay)(bay.grammar, begin(make_plan(changed), bay.grammar), bay.answers)
    talk.do(Opened())
    assert talk.state.mode is Mode.STOPPED
    assert talk.asked.startswith(
        "These files cannot give a result at aim inside the vehicle's tolerance."
    )
    warned = talk.fact("cannot_pass")
    assert warned["result"] == "aim_yaw_deg"
    assert warned["u"] * 1.9 > warned["half_width"] == 0.02
    assert not talk.state.readings
    # Who knows better goes on, and is told again before a screw is turned.
    measure(Radar(0.0, 0.0), talk.hear("carry on"))
    assert "nothing could pass. The uncertainty is" in talk.asked
    assert not talk.every("screw_plan")


def test_a_level_taken_back_takes_its_set_out_of_the_aim(bay, measure, aim_words):
    """The aim was called inside on a level that the technician then takes back."""
    bay = _by_sets(bay)
    measure(Radar(0.0, 0.0), bay)
    measure(Radar(0.0, 0.0), bay)
    assert bay.step_id == "faults_after"
    assert len(aim_round(bay.state).sets) == 2
    bay.hear("go back")
    assert bay.step_id == "echo_lean_away_near_db"
    assert len(aim_round(bay.state).sets) == 1
    assert "aim_decision" not in bay.state.done
    bay.hear(aim_words(0.0, 0.0)["echo_lean_away_near_db"], "yes")
    assert bay.step_id == "faults_after"
    # What the set taken back has had of the stated risk stays spent.
    assert (bay.fact("aim_decided")["sets"], bay.fact("aim_decided")["look"]) == (2, 3)


def test_plumb_taken_back_takes_out_every_set_that_rests_on_it(bay, measure, in_words):
    bay = _by_sets(bay)
    measure(Radar(0.0, 0.0), bay)
    assert bay.step_id == "echo_lean_towards_db"
    bay.hear("go back", "go back", "go back")
    assert bay.step_id == "plumb_mm_per_m"
    assert aim_round(bay.state).sets == ()
    bay.spoil(**in_words({"plumb_mm_per_m": "0.5"})).go_on_to("echo_lean_towards_db")
    measure(Radar(0.0, 0.0), bay)
    assert (bay.fact("aim_decided")["sets"], bay.fact("aim_decided")["look"]) == (1, 2)
    assert bay.said[-2] == "Inside. Once more, to be sure."


def test_the_levels_of_a_set_that_counts_no_more_are_no_repeats_of_the_next(bay, measure):
    """Their scatter is held against the entered doubt: one set's levels for each set."""
    measure(Radar(0.30, 0.0), bay)
    aim = aim_round(bay.state)
    assert (len(aim.sets), [len(rows) for rows in aim.levels]) == (1, [1])
    bay.hear("go back")
    aim = aim_round(bay.state)
    assert (aim.sets, aim.levels) == ((), ((),))


def test_a_route_taken_back_never_leaves_its_aim_as_the_result(bay, measure):
    """Too close by echo levels, then the technician goes by the scan tool's turns instead."""
    bay = _by_sets(bay)
    measure(Radar(0.05, 0.0), bay)
    bay.hear("go back", "screw turns", "yes")
    bay.go_on_to("finish")
    assert "The scan tool says inside. I did not measure the aim myself" in bay.said[-2]
    bay.hear("done")
    assert bay.fact("finished")["result"] == "tool_inside"
    assert bay.fact("finished")["yaw"] is None


def test_the_scan_tools_own_angle_takes_two_agreeing_readings_as_well(bay, in_words):
    bay.spoil(aim_route="tool angle", **in_words({"tool_yaw_deg": "0.10"}))
    bay.go_on_to("tool_elevation_deg").answer_once()
    assert bay.said[0].endswith("Once more, to be sure.")
    assert bay.step_id == "tool_yaw_deg"
    bay.go_on_to("faults_after")
    aim = bay.fact("aim_decided")
    assert aim["confirmed"] is True
    assert aim["yaw"]["value"] == pytest.approx(0.10)


def test_a_plate_off_plumb_and_a_turned_stand_are_taken_out_of_the_aim(bay, measure, in_words):
    """0.5 mm per metre away is 0.029 degrees of lean, and 8 mm of spot 0.049 degrees of turn."""
    bay.spoil(**in_words({"plumb_mm_per_m": "0.5", "spot_left_mm": "8", "spot_right_mm": "8"}))
    measure(Radar(0.0, 0.0))
    aim = bay.fact("aim_decided")
    assert aim["elevation"]["value"] == pytest.approx(-degrees(atan(0.0005)), abs=0.002)
    assert aim["yaw"]["value"] == pytest.approx(-degrees(atan(8 / 4700)) / 2, abs=0.002)


def test_the_lock_is_said_in_full_once_and_is_short_from_then_on(bay, measure, turn_screws):
    radar = Radar(1.2, -0.8, hand=lambda name, turns: (name, 0.7 * turns))
    measure(radar)
    locks = []
    for _ in range(2):
        while bay.state.tasks:
            bay.hear("done")
            if bay.state.tasks and said(bay.state.tasks[0].text) == LOCK:
                locks.append((bay.spoken[-1], bay.asked))
        measure(radar)
    assert [spoken for spoken, _ in locks] == [LOCK, "Lock the screws. Covers on."]
    # The screen has all of it each time.
    assert all(asked.startswith(LOCK) for _, asked in locks)
