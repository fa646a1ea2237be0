"""The job, vehicle, mount and bay that ship with the companion."""

from __future__ import annotations

import hashlib
import random
import re

import pytest

from companion.calibration.coupling import STALE_AFTER
from companion.calibration.formulas import FORMULAS
from companion.dialogue.values import unit_of
from companion.facts.meanings import Choice, Done, Number
from companion.job.loader import EXAMPLES
from companion.job.plan import PLACEHOLDER, file_field
from companion.runtime import assembly
from companion.steps.aim.model import AimDecision
from companion.steps.checklist.model import Checklist
from companion.steps.computation.model import Computation
from companion.steps.decision.model import Decision
from companion.steps.finish.model import Finish
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from companion.steps.reading.values import reading_u
from companion.steps.stand_moves.model import Moves
from tests.expecting import confirmation_of, expectation_of
from tests.spoken import say_number


def _of(plan, kind):
    return [step for step in plan.steps if isinstance(step, kind)]


def test_the_shipped_files_load_and_say_that_they_are_examples(loaded):
    assert loaded.plan.files.example is True
    for part in ("job", "vehicle", "mount", "bay"):
        assert getattr(loaded.plan.files, part).example is True


def test_each_files_hash_is_that_of_its_bytes(loaded):
    names = {"job": "front_radar", "vehicle": "vehicle", "mount": "mount", "bay": "bay"}
    assert loaded.file_hashes == {
        part: hashlib.sha256((EXAMPLES / f"{name}.yaml").read_bytes()).hexdigest()
        for part, name in names.items()
    }


def test_the_hash_of_a_file_with_other_line_ends_is_that_of_its_bytes_too(load_with):
    content = (EXAMPLES / "bay.yaml").read_bytes().replace(b"\n", b"\r\n")
    loaded = load_with("bay", content)
    assert loaded.file_hashes["bay"] == hashlib.sha256(content).hexdigest()


def test_the_job_goes_through_its_stages_in_order(plan):
    titles = [stage.title for stage in plan.files.job.stages]
    assert titles[0] == "Job card"
    assert titles.index("Wheel clamps") < titles.index("Rear toe") < titles.index("Stand")
    assert titles.index("Stand") < titles.index("Plate readings") < titles.index("Adjusting screws")
    assert titles[-1] == "Result"
    assert [plan.stage_number(stage) for stage in plan.files.job.stages] == [
        *range(1, len(titles) + 1)
    ]


def test_every_questions_ask_names_a_phrase_of_each_of_its_choices(plan):
    """A technician who says what he was asked is understood."""
    for question in _of(plan, Question):
        grammar = assembly.language().for_step(expectation_of(question))
        words = re.sub(r"[^a-z ]", " ", f"{question.ask} {question.reply}".lower()).split()
        spans = {
            " ".join(words[i:j]) for i in range(len(words)) for j in range(i + 1, len(words) + 1)
        }
        meant = {grammar.parse(span) for span in spans}
        assert {Choice(choice) for choice in question.choices} <= meant, question.ask


def test_every_answer_of_every_step_can_be_said_and_is_said_back(plan):
    generator = random.Random(3)
    for step in _of(plan, Reading | Question):
        for expectation in (
            expectation_of(step),
            expectation_of(step, digits_only=True),
            confirmation_of(step),
        ):
            meanings = {
                type(assembly.language().for_step(expectation).generate(generator)[1])
                for _ in range(80)
            }
            assert (Number if isinstance(step, Reading) else Choice) in meanings


def test_no_text_says_how_to_answer_done_which_the_companion_says_by_itself(plan):
    texts = [i.say for i in _of(plan, Instruction)]
    texts += [item for c in _of(plan, Checklist) for item in c.items]
    texts += [d.move.say for d in _of(plan, Decision) if d.move is not None]
    texts += [d.again.say for d in _of(plan, Decision) if d.again.wait]
    texts += [f.say_signed for f in _of(plan, Finish)]
    grammar = assembly.language().for_step(expectation_of(_of(plan, Instruction)[0]))
    assert grammar.parse("done") == Done()
    for text in texts:
        assert "say done" not in text.lower(), text


def test_every_placeholder_speaks(plan):
    spoken = [
        source for step in _of(plan, Reading | Question) for source in PLACEHOLDER.findall(step.ask)
    ]
    spoken += [s for i in _of(plan, Instruction) for s in PLACEHOLDER.findall(i.say)]
    assert "bay.stand.lean_towards_deg" in spoken
    assert "tool_turns_left_screw" in spoken
    readings = {step.id for step in _of(plan, Reading)}
    for source in spoken:
        value = file_field(plan.files, source)
        assert source in readings or say_number(int(value), unit_of(source)).endswith("degrees")


def test_every_move_speaks_its_amount_and_its_way(plan):
    moves = [step for step in _of(plan, Decision) if step.move is not None]
    moves += [part for step in _of(plan, Moves) for part in step.parts]
    assert len(moves) == 6
    for step in moves:
        assert PLACEHOLDER.findall(step.move.say).count("amount") == 1
        assert PLACEHOLDER.findall(step.move.say).count("direction") == 1
        assert step.move.direction_when_positive != step.move.direction_when_negative
        assert set(PLACEHOLDER.findall(step.move.say)) == {"amount", "direction"}


def test_no_spoken_text_of_the_job_has_a_digit_or_a_sign(plan):
    texts = [caution.say for caution in plan.files.job.cautions]
    for step in plan.steps:
        for key, value in step.model_dump().items():
            if key in (
                "ask",
                "say",
                "items",
                "say_signed",
                "again",
                "blocked_by",
                "allowed",
                "move",
            ):
                texts += [v for v in _texts(value) if " " in v]
    assert len(texts) > 100
    for text in texts:
        assert not re.search(r"[0-9+=°%]|(?<![a-z])-", PLACEHOLDER.sub("", text)), text


def _texts(value):
    if isinstance(value, str):
        return [value]
    if isinstance(value, dict):
        return [t for v in value.values() for t in _texts(v)]
    if isinstance(value, list | tuple):
        return [t for v in value for t in _texts(v)]
    return []


def test_every_reading_has_a_doubt_that_is_positive(plan):
    for reading in _of(plan, Reading):
        assert reading_u(reading) >= reading.resolution / 12**0.5 * 0.999
        assert reading_u(reading) > 0


def test_every_readings_plausible_range_can_be_said_in_its_own_form(plan):
    for reading in _of(plan, Reading):
        low, high = reading.plausible
        assert low < high
        assert max(abs(low), abs(high)) < 10**reading.number.whole_digits
        if low < 0:
            assert len(reading.number.directions) == 2


def test_what_is_allowed_is_also_plausible(plan):
    limited = [reading for reading in _of(plan, Reading) if reading.allowed is not None]
    assert len(limited) == 5
    for reading in limited:
        for source in (reading.allowed.low, reading.allowed.high):
            value = file_field(plan.files, source) if isinstance(source, str) else source
            assert reading.plausible[0] < value < reading.plausible[1]


def test_what_could_have_moved_is_every_reading_from_the_stand_on(plan):
    stand = {
        step.id
        for stage in plan.files.job.stages
        if stage.id in ("stand", "leans")
        for step in stage.steps
        if isinstance(step, Reading)
    }
    assert stand == set(plan.files.job.if_touched)


def test_every_move_of_the_stand_measures_again_what_it_upsets(plan):
    """Turning, shifting or pulling the stand upsets the others; height has a slide of its own."""
    (place,) = _of(plan, Moves)
    read_for = {part.quantity: set(part.readings) for part in place.parts}
    for part in place.parts:
        assert part.result in {
            result
            for step in _of(plan, Computation)
            if step.id in plan.with_dependents(part.readings)
            for result in step.outputs.values()
        }
        for upset in STALE_AFTER[part.quantity]:
            assert place.id in plan.with_dependents(read_for[upset])
    assert read_for["distance"] == {"plate_distance_mm"}
    assert set(STALE_AFTER["turn"]) == {"turn", "sideways", "distance"}


@pytest.mark.parametrize("kind", [Decision, AimDecision])
def test_every_loop_measures_again_what_it_decided_on(plan, kind):
    for step in _of(plan, kind):
        assert step.id in plan.with_dependents(step.again.steps), step.id


def test_every_computation_uses_all_inputs_that_its_formula_wants(plan):
    for step in _of(plan, Computation):
        assert set(step.inputs) == set(FORMULAS[step.formula].inputs)


def test_what_lifting_disturbs_is_settled_before_it_is_read(plan):
    """Lifting and lowering a wheel shifts toe and springs: never read as they then stand."""
    order = [step.id for step in plan.steps]
    settled = order.index("settle")
    assert settled > max(order.index("left_wheel_down"), order.index("right_wheel_down"))
    disturbed = [
        name for name in order if name.startswith(("ride_height_", "toe_left", "toe_right"))
    ]
    assert len(disturbed) >= 8
    assert settled < min(map(order.index, disturbed))
    lifted_again = [
        suspect
        for step in _of(plan, Decision)
        for suspect in step.suspects
        if {"left_wheel_up", "right_wheel_up"} & set(suspect.also)
    ]
    assert len(lifted_again) >= 4
    for suspect in lifted_again:
        assert "settle" in suspect.also, suspect.name


def test_both_heads_out_alike_and_each_for_itself_are_in_doubt(plan):
    """The mean of the heads turns the stand unseen; what parts them shows against the toe."""
    (turn,) = [step for step in _of(plan, Computation) if step.id == "stand_turn"]
    assert "heads_apart_doubt_deg" in str(turn.input_doubts["heads_apart_deg"])
    assert turn.inputs["heads_out_left_deg"] == "heads_out_left_deg"


def test_the_lasers_path_follows_from_the_vehicle(load_with):
    """Another wheelbase or sensor, another path: none that was entered once stays behind."""
    shipped = (EXAMPLES / "vehicle.yaml").read_text(encoding="utf-8")
    wheelbase = re.search(r"^wheelbase_mm: (\d+)$", shipped, re.M)
    ahead = re.search(r"^sensor_ahead_of_front_axle_mm: (\d+)$", shipped, re.M)
    before = load_with("vehicle", shipped).plan.files.bay
    longer = shipped.replace(wheelbase[0], f"wheelbase_mm: {int(wheelbase[1]) + 150}")
    longer = longer.replace(ahead[0], f"sensor_ahead_of_front_axle_mm: {int(ahead[1]) + 40}")
    after = load_with("vehicle", longer).plan.files.bay
    assert after.stand.laser_path_mm - before.stand.laser_path_mm == pytest.approx(190.0)
    spots = [b.floor.stand_spot_ahead_of_front_axle_mm for b in (before, after)]
    assert spots[1] - spots[0] == pytest.approx(40.0)
