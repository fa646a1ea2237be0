"""Jobs whose steps do not fit each other: refused before any work, with the step and its line."""

from __future__ import annotations

import pytest

from companion.errors import FileProblem
from companion.job.loader import EXAMPLES

LEFT = (
    "{step: reading, id: left_mm, title: Left arm, ask: Left., unit: mm, resolution: 1,"
    " number: {style: whole, whole_digits: 3}, plausible: [650, 900]}"
)
RIGHT = LEFT.replace("left_mm", "right_mm").replace("Left", "Right")
SIDEWAYS = (
    "{step: computation, id: sideways, formula: stand_sideways,"
    " inputs: {left_mm: left_mm, right_mm: right_mm}, outputs: {stand_offset_left_mm: offset_mm}}"
)
CHECK = (
    "{step: decision, id: check, title: In the middle, result: offset_mm, within: 5, rule: plain,"
    " again: {say: Again., steps: [left_mm], at_most: 3, then_stop: Enough.}}"
)
MOVE = (
    "rule: plain, move: {{say: Move it., amount: mm, resolution: 1, direction_when_positive: {}}}"
)
ROUTE = (
    "{step: question, id: route, title: Route, ask: Degrees or millimetres,"
    " choices: [degrees, millimetres]}"
)
IN_MM = "when: {question: route, answered: millimetres}, "


def _when(step: str, condition: str = IN_MM) -> str:
    return step.replace("{step:", f"{{{condition}step:", 1)


def test_a_job_that_hangs_together_is_taken(small_job):
    plan = small_job.load(LEFT, RIGHT, SIDEWAYS, CHECK)
    assert [step.id for step in plan.steps] == [
        "left_mm",
        "right_mm",
        "sideways",
        "check",
        "finish",
    ]


@pytest.mark.parametrize(
    ("step", "old", "new", "found", "wanted"),
    [
        (SIDEWAYS, "formula: stand_sideways", "formula: stand_inside_out",
         "formula 'stand_inside_out'", "aim_error"),
        (SIDEWAYS, "right_mm: right_mm", "rihgt_mm: right_mm",
         "inputs: missing right_mm; unknown rihgt_mm", "left_mm, right_mm"),
        (SIDEWAYS, ", right_mm: right_mm", "", "inputs: missing right_mm", "left_mm, right_mm"),
        (SIDEWAYS, "stand_offset_left_mm:", "stand_offset_mm:",
         "output 'stand_offset_mm'", "stand_offset_left_mm"),
        (SIDEWAYS, "left_mm: left_mm", "left_mm: middle_mm",
         "'middle_mm'", "a reading or result from before this step"),
        (SIDEWAYS, "left_mm: left_mm", "left_mm: bay.stand.width_mm",
         "'bay.stand.width_mm'", "a number in the vehicle, mount or bay file"),
        (SIDEWAYS, "left_mm: left_mm", "left_mm: bay.stand",
         "'bay.stand'", "a number in the vehicle, mount or bay file"),
        (SIDEWAYS, "left_mm: left_mm", "left_mm: minus vehicle.weight",
         "'vehicle.weight'", "a number in the vehicle, mount or bay file"),
        (SIDEWAYS, "outputs:", "input_doubts: {middle_mm: 1}, outputs:",
         "a doubt of 'middle_mm'", "one of this step's inputs"),
        (CHECK, "steps: [left_mm]", "steps: [left_mm, middle_mm]",
         "goes back to 'middle_mm'", "the id of a step of this job"),
        (CHECK, "result: offset_mm", "result: offset_deg",
         "'offset_deg'", "a reading or result from before this step"),
        (CHECK, "within: 5", "low: 5, high: 5", "low 5.0 and high 5.0", "a low that is less"),
        (CHECK, "within: 5", "low: bay.floor.twist_mm.high, high: bay.floor.twist_mm.low",
         "low bay.floor.twist_mm.high and high", "a low that is less"),
        (CHECK, "within: 5", "low: 5, high: minus bay.stand.plate_distance_mm",
         "low 5.0 and high minus bay.stand.plate_distance_mm", "a low that is less"),
        (LEFT, "unit: mm", "unit: inch", "unit 'inch'", "celsius"),
        (LEFT, "unit: mm, resolution: 1, number: {style: whole, whole_digits: 3}",
         "unit: turns, resolution: 1, number: {style: quarters, whole_digits: 1}",
         "turns of no screw of the mount",
         "each_screw: true with {screw}, or one of left screw, upper screw"),
        (LEFT, "ask: Left.", "ask: 'Left, {screw}.'", "'{screw}'", "a reading from before"),
        (LEFT, "whole_digits: 3}", "whole_digits: 3, directions: [fore, aft]}",
         "direction 'fore'", "anticlockwise"),
        (LEFT, "ask: Left.", "ask: 'Left, {offset_mm}.'",
         "'{offset_mm}'", "a reading from before, or a file's field"),
        (LEFT, "ask: Left.", "ask: 'Left, {}.'", "'{}'", "a reading from before"),
        (LEFT, "ask: Left.", "ask: 'Left, {bay.name}.'", "'{bay.name}'", "a reading from before"),
        (LEFT, "ask: Left.", "ask: 'Left, {bay.floor.twist_mm.low}.'",
         "'{bay.floor.twist_mm.low}'", "a file's field of 0 or more"),
        (LEFT, "resolution: 1", "resolution: 1, allowed: {low: 9, high: 8, otherwise: No.}",
         "low 9.0 and high 8.0", "a low that is less than high"),
        (LEFT, "resolution: 1", "resolution: 1, allowed: {low: 9, high: right_mm, otherwise: No.}",
         "'right_mm' (it comes later in the job)", "from before this step"),
    ],
)  # fmt: skip
def test_a_name_that_fits_nothing_is_told_with_step_found_and_wanted(
    small_job, step, old, new, found, wanted
):
    assert old in step
    steps = [new_step(s, step, old, new) for s in (LEFT, RIGHT, SIDEWAYS, CHECK)]
    said = small_job.refused(*steps)
    step_id = step.split("id: ")[1].split(",")[0]
    line = next(x for x in said.splitlines() if f", step {step_id}: found {found}" in x)
    assert wanted in line.split("; wanted: ")[1]


def test_a_step_for_each_screw_has_to_name_the_screw(small_job):
    said = small_job.refused(LEFT.replace("resolution", "each_screw: true, resolution"))
    assert "left_mm_left_screw: found each_screw without {screw}; wanted: {screw} in the" in said


def test_a_step_for_each_screw_is_there_for_every_screw_of_the_mount(small_job):
    step = LEFT.replace("resolution", "each_screw: true, resolution")
    plan = small_job.load(step.replace("ask: Left.", "ask: 'At the {screw}.'"))
    assert [step.id for step in plan.steps] == [
        "left_mm_left_screw",
        "left_mm_upper_screw",
        "finish",
    ]
    assert plan.steps[1].ask == "At the upper screw."


def new_step(candidate: str, step: str, old: str, new: str) -> str:
    return step.replace(old, new, 1) if candidate == step else candidate


def test_the_line_of_a_faulty_step_is_told(spoil):
    said = spoil("job", "formula: floor_plane", "formula: floor_plain")
    assert "step floor_plane: found formula 'floor_plain'; wanted: aim_error" in said
    text_line = int(said.split(" line ")[1].split(",")[0])
    assert text_line > 100


def test_a_source_that_comes_later(small_job):
    said = small_job.refused(SIDEWAYS, LEFT, RIGHT)
    assert "step sideways: found 'left_mm' (it comes later in the job)" in said


def test_a_step_id_that_stands_twice(small_job):
    assert "found a second step 'left_mm'; wanted: every step's id once" in small_job.refused(
        LEFT, LEFT
    )


def test_an_answer_or_a_thing_done_is_no_number(small_job):
    said = small_job.refused(ROUTE, RIGHT, SIDEWAYS.replace("left_mm: left_mm", "left_mm: route"))
    assert "found 'route'" in said


def test_an_answer_or_a_result_cannot_be_spoken_as_a_reading(small_job):
    assert "found '{route}'" in small_job.refused(ROUTE, LEFT.replace("Left.", "'Left, {route}'"))
    said = small_job.refused(
        LEFT, RIGHT, SIDEWAYS, "{step: instruction, id: show, say: 'It is {offset_mm}.'}"
    )
    assert "step show: found '{offset_mm}'" in said


def test_the_sign_off_speaks_only_what_is_there(small_job):
    finish = "{step: finish, id: finish, ranges_m: [100], say_signed: 'Sign {here}.'}"
    assert "step finish: found '{here}'" in small_job.refused(LEFT, finish, end=False)


@pytest.mark.parametrize("use", [SIDEWAYS, "{step: instruction, id: show, say: 'Set {left_mm}.'}"])
def test_a_reading_of_one_route_is_not_there_for_all(small_job, use):
    said = small_job.refused(ROUTE, _when(LEFT), RIGHT, use)
    assert "which this job may not have; wanted: a source that is there whenever" in said
    small_job.load(ROUTE, _when(LEFT), RIGHT, _when(use))


def test_a_result_that_every_route_brings_is_there_for_all(small_job):
    by_degrees = SIDEWAYS.replace("id: sideways", "id: sideways_too")
    in_degrees = "when: {question: route, answered: degrees}, "
    ways = (_when(SIDEWAYS), _when(by_degrees, in_degrees))
    small_job.load(ROUTE, LEFT, RIGHT, *ways, CHECK)
    assert "'offset_mm', which this job may not have" in small_job.refused(
        ROUTE, LEFT, RIGHT, ways[0], CHECK
    )


@pytest.mark.parametrize(
    ("condition", "found"),
    [
        ("when: {question: rout, answered: degrees}, ", "when 'rout'"),
        ("when: {question: left_mm, answered: degrees}, ", "when 'left_mm'"),
        ("when: {question: route, answered: inches}, ", "when answered 'inches'"),
    ],
)
def test_a_condition_that_no_answer_meets(small_job, condition, found):
    said = small_job.refused(ROUTE, LEFT, _when(RIGHT, condition))
    assert f"step right_mm: found {found}" in said


def test_a_condition_on_a_question_that_comes_later(small_job):
    assert "found when 'route'; wanted: a question from before" in small_job.refused(
        _when(LEFT), ROUTE
    )


@pytest.mark.parametrize(
    ("more", "found"),
    [
        ("choices: [degrees, metres]", "choice 'metres'"),
        ("choices: [degrees, millimetres], blocked_by: {inches: No.}", "'inches'"),
        ("choices: [degrees, millimetres], sound_is_kept_when: keep_sound", "'keep_sound'"),
        ("choices: [degrees, millimetres], may_be_proposed: [inches]", "'inches'"),
        (
            "choices: [degrees, millimetres], may_be_proposed: [degrees], "
            "sound_is_kept_when: degrees",
            "may_be_proposed: 'degrees'",
        ),
        (
            "choices: [degrees, millimetres], "
            "again: {inches: {say: Again., steps: [route], at_most: 1, then_stop: Enough.}}",
            "'inches'",
        ),
        (
            "choices: [degrees, millimetres], "
            "again: {degrees: {say: Again., steps: [elsewhere], at_most: 1, then_stop: Enough.}}",
            "goes back to 'elsewhere'",
        ),
    ],
)
def test_answers_that_cannot_be_given(small_job, more, found):
    said = small_job.refused(ROUTE.replace("choices: [degrees, millimetres]", more))
    assert f"step route: found {found}; wanted: " in said


def test_a_vehicle_proposes_only_what_the_job_lets_be_proposed(load_with):
    """Whether the tool gives an angle or a correction is always chosen from all."""
    vehicle = (EXAMPLES / "vehicle.yaml").read_text(encoding="utf-8")
    with pytest.raises(FileProblem) as problem:
        load_with("vehicle", vehicle.replace("aim_route: echo_levels", "aim_route: tool_angle"))
    said = "found 'tool_angle' among the vehicle's usual_answers; wanted: echo_levels"
    assert said in str(problem.value)


def test_a_job_ends_with_its_one_finish(small_job):
    finish = "{step: finish, id: end, ranges_m: [100], say_signed: Sign.}"
    assert "found a last step 'reading'; wanted: a finish step" in small_job.refused(
        LEFT, end=False
    )
    assert "found a finish step before the end; wanted: one" in small_job.refused(LEFT, finish)


def test_a_step_that_a_touch_makes_stale_must_exist(small_job):
    said = small_job.refused(LEFT, also="if_touched: [left_mm, right_mm]\n")
    assert "found if_touched 'right_mm'; wanted: the id of a step of this job" in said


@pytest.mark.parametrize(
    ("step", "old", "new", "wanted"),
    [
        (LEFT, "plausible: [650, 900]", "plausible: [900, 650]", "plausible must be from low"),
        (LEFT, "whole_digits: 3", "whole_digits: 9", "at most 5"),
        (LEFT, "whole_digits: 3}", "directions: [left]}", "directions must be a pair"),
        (LEFT, "whole_digits: 3}", "directions: [left, left]}", "directions must be a pair"),
        (LEFT, "style: whole", "style: decimal", "style decimal needs decimals"),
        (LEFT, "whole_digits: 3", "decimals: 2", "other styles need none"),
        (LEFT, "style: whole", "style: roman", "'whole', 'decimal' or 'quarters'"),
        (LEFT, "style: whole", "style: quarters", "unit turns goes with style quarters"),
        (LEFT, "unit: mm", "unit: turns", "unit turns goes with style quarters"),
        (LEFT, "resolution: 1", "resolution: 0", "more than 0"),
        (LEFT, "step: reading", "step: guess", "'reading', 'question', 'instruction'"),
        (LEFT, "id: left_mm", "id: Left", "beginning with a letter"),
        (CHECK, "within: 5", "within: 5, low: 1", "either low and high, or within"),
        (CHECK, "within: 5", "low: 5", "either low and high, or within"),
        (CHECK, "at_most: 3", "at_most: 0", "at least 1"),
        (CHECK, "rule: plain", "rule: by_eye", "'consistent' or 'as_known'"),
        (CHECK, "rule: plain", MOVE.format("left, direction_when_negative: left"),
         "the two directions must differ"),
        (CHECK, "rule: plain", MOVE.format("away, direction_when_negative: away_from"),
         "the two directions must differ"),
        (CHECK, "rule: plain", MOVE.format("port, direction_when_negative: left"), "wanted one of"),
        (CHECK, "rule: plain", MOVE.format("up, direction_when_negative: down, quantity: turn"),
         "turn does not go up; wanted left or right"),
        (ROUTE, "[degrees, millimetres]", "[degrees, degrees]", "choices must differ"),
        (ROUTE, "[degrees, millimetres]", "[degrees]", "at least 2 items"),
    ],
)  # fmt: skip
def test_a_step_that_makes_no_sense_in_itself(small_job, step, old, new, wanted):
    assert old in step
    said = small_job.refused(ROUTE, LEFT, RIGHT, SIDEWAYS, CHECK, step.replace(old, new, 1))
    line = next(x for x in said.splitlines() if wanted in x)
    assert "job.yaml line 15, stages[1].steps[6]" in line
    assert "; wanted: " in line


def test_the_faults_of_a_job_are_told_together(small_job):
    said = small_job.refused(
        LEFT.replace("unit: mm", "unit: inch"), RIGHT.replace("unit: mm", "unit: foot")
    )
    assert len(said.splitlines()) == 2


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ("readings: [spot_left_mm], likely", "readings: [spot_up_mm], likely",
         "step beam_check: found goes back to 'spot_up_mm'; wanted: the id of a step"),
        ("also: [left_wheel_up, ", "also: [left_wheel_off, ",
         "step beam_check: found goes back to 'left_wheel_off'"),
        ("reading: echo_lean_upright_db, lean: 0", "reading: echo_lean_down_db, lean: 0",
         "step lean_vertex: found goes back to 'echo_lean_down_db'"),
        ("beam_width_lean: vehicle.aim.beam_width_elevation_deg",
         "beam_width_lean: vehicle.aim.beam_width_deg",
         "step lean_vertex: found 'vehicle.aim.beam_width_deg'; wanted: a number in"),
        ("within: bay.stand.turn_tolerance_deg", "within: bay.stand.turning_deg",
         "step stand_place: found 'bay.stand.turning_deg'; wanted: a number in"),
        ("- id: turn_decision", "- id: plumb_decision",
         "found a second step 'plumb_decision'; wanted: every step's id once"),
        ("settled: [floor_twist_check,", "settled: [floor_bend_check,",
         "step floor_shims: found goes back to 'floor_bend_check'"),
        ("quantity: height", "quantity: distance",
         "wanted: each of turn, sideways, distance, height once at most"),
        ("typical: 60\n", "typical: 120\n", "typical must be plausible"),
    ],
)  # fmt: skip
def test_what_is_put_right_or_suspected_is_there(spoil, old, new, found):
    assert found in spoil("job", old, new)


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ("turns: left_mm", "turns needs a screw, or each_screw: true"),
        ("screw: left_screw", "screw needs turns"),
        (
            "turns: left_mm, screw: left_screw, with_next: true",
            "the turning of a screw is said by itself",
        ),
    ],
)
def test_an_instruction_that_turns_a_screw_says_which_and_how_far(small_job, fields, told):
    step = f"{{step: instruction, id: turn_it, say: Turn it., {fields}}}"
    assert told in small_job.refused(LEFT, step)


PLACED = "{step: placing, id: stand_up, say: 'Stand: {left_mm}.', reads: {left_mm: 700}}"


def test_a_placing_speaks_what_a_reading_of_the_job_will_come_to_and_nothing_else(small_job):
    plan = small_job.load(PLACED, LEFT, RIGHT)
    assert [step.id for step in plan.steps][:2] == ["stand_up", "left_mm"]
    for say in ("Stand: {right_mm}.", "Stand: {left_mm}, {right_mm}.", "Stand: {}."):
        said = small_job.refused(PLACED.replace("Stand: {left_mm}.", say), LEFT, RIGHT)
        name = "{right_mm}" if "right" in say else "{}"
        assert f"step stand_up: found '{name}'; wanted: one of the readings that it names" in said
    wanted = "; wanted: a reading of this job without directions"
    said = small_job.refused(PLACED.replace("left_mm", "middle_mm"), LEFT)
    assert f"step stand_up: found reads 'middle_mm'{wanted}" in said
    sided = LEFT.replace("3}", "3, directions: [left, right]}").replace("[650, 900]", "[-90, 90]")
    assert f"step stand_up: found reads 'left_mm'{wanted}" in small_job.refused(PLACED, sided)
    assert f"step stand_up: found reads 'route'{wanted}" in small_job.refused(
        PLACED.replace("left_mm", "route"), ROUTE
    )
