"""The technician's ear: every text of the shipped job, and the fixed sentences around it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal
from fractions import Fraction

import pytest

from companion.dialogue import prompts
from companion.procedure.job import Job, Step
from companion.procedure.models import MountModel
from companion.rehearsal.acts import (
    LevelStand,
    LiftPlate,
    MoveStand,
    PlaceShim,
    SeatClamp,
    SetLean,
    SetLineLaser,
    SetSwing,
    TiltPlate,
    TurnScrew,
    TurnStand,
    TurnWheel,
    ZeroPlate,
)
from companion.rehearsal.prompts_heard import (
    Unclear,
    Wanted,
    WantsCarryOn,
    WantsChoice,
    WantsDone,
    WantsNote,
    WantsReading,
    WantsYes,
)
from companion.rehearsal.scales import SCALES
from companion.rehearsal.understanding import Understanding
from companion.steps.aim.prompts import turn_screw
from companion.steps.checklist.model import Checklist
from companion.steps.decision.model import Decision
from companion.steps.finish.model import Finish
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from companion.steps.stand_moves.model import Moves, Part
from companion.words.expectation import NumberForm
from companion.words.speaking import say_number


@pytest.fixture(scope="module")
def ear(mount: MountModel) -> Understanding:
    return Understanding([screw.name for screw in mount.screws])


def spoken(text: str) -> str:
    """The text with its sources spoken: detents as angles, the scan tool's turns as turns."""
    text = re.sub(r"\{bay\.stand\.\w+_deg\}", say_number(3, "deg"), text)
    return re.sub(r"\{tool_turns_\w+\}", say_number(Fraction(5, 4), "turns", "anticlockwise"), text)


def steps(job: Job) -> Iterator[Step]:
    for stage in job.stages:
        yield from stage.steps


def test_every_reading_leads_to_its_own_scale(job: Job, ear: Understanding) -> None:
    seen: dict[WantsReading, str] = {}
    for step in steps(job):
        if not isinstance(step, Reading):
            continue
        wanted = ear.prompt(spoken(step.ask)).wanted
        assert isinstance(wanted, WantsReading), step.ask
        assert wanted not in seen, f"{step.id} and {seen.get(wanted)} are heard alike"
        seen[wanted] = step.id
        ruler = SCALES[wanted.scale]
        assert ruler.unit == step.unit, step.id
        assert (ruler.directions or ()) == step.number.directions, step.id
        assert float(ruler.resolution) == step.resolution, step.id
        if "left" in wanted.where or "right" in wanted.where:
            assert wanted.where.split()[-1] in step.id or "screw" in wanted.where, step.id


def test_every_question_is_known(job: Job, ear: Understanding) -> None:
    for step in steps(job):
        if isinstance(step, Question):
            assert ear.prompt(step.ask).wanted == WantsChoice(step.id), step.ask


def test_every_instruction_wants_done(job: Job, ear: Understanding) -> None:
    for step in steps(job):
        texts: tuple[str, ...] = ()
        match step:
            case Instruction():
                texts = (step.say,)
            case Checklist():
                texts = step.items
            case Finish():
                texts = (step.say_signed,)
            case Decision() if step.again.wait:
                texts = (step.again.say,)
            case _:
                pass
        for text in texts:
            assert isinstance(ear.prompt(spoken(text)).wanted, WantsDone), text


def moves(job: Job) -> Iterator[tuple[str, str, str]]:
    """Each correction of the job, both ways: the decision, the direction, the spoken text."""
    amounts = {"mm": Decimal(12), "deg": Decimal("0.12"), "mm_per_m": Decimal("0.8")}
    for step in steps(job):
        parts = step.parts if isinstance(step, Moves) else (step,)
        for part in parts:
            move = part.move if isinstance(part, Decision | Part) else None
            if move is None:
                continue
            for way in (move.direction_when_positive, move.direction_when_negative):
                amount = say_number(amounts[move.amount], move.amount)
                text = move.say.replace("{amount}", amount)
                yield part.id, way, text.replace("{direction}", way.replace("_", " "))


def test_every_correction_is_done_the_way_that_was_said(job: Job, ear: Understanding) -> None:
    done = {
        ("level_decision", "down"): LevelStand(-0.8),
        ("level_decision", "up"): LevelStand(0.8),
        ("turn_decision", "right"): TurnStand(-0.12),
        ("turn_decision", "left"): TurnStand(0.12),
        ("sideways_decision", "right"): MoveStand(left_mm=-12.0),
        ("sideways_decision", "left"): MoveStand(left_mm=12.0),
        ("distance_decision", "towards"): MoveStand(ahead_mm=-12.0),
        ("distance_decision", "away_from"): MoveStand(ahead_mm=12.0),
        ("height_decision", "down"): LiftPlate(-12.0),
        ("height_decision", "up"): LiftPlate(12.0),
        ("plumb_decision", "towards"): TiltPlate(-0.8),
        ("plumb_decision", "away_from"): TiltPlate(0.8),
    }
    heard = {(name, way): ear.prompt(text).wanted for name, way, text in moves(job)}
    assert heard == {place: WantsDone(act) for place, act in done.items()}


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("Set the line laser level. Say done.", WantsDone(SetLineLaser())),
        ("Brake on and wheels chocked. Say done.", WantsDone(None)),
        ("Plate back upright and in the middle. Say done.", WantsDone(ZeroPlate())),
        (
            "Two millimetres under the rear left wheel. Say done.",
            WantsDone(PlaceShim("rear left", 2.0)),
        ),
        (
            "Turn the left wheel on to start, and lower it. Say done.",
            WantsDone(TurnWheel("left", 0)),
        ),
        (
            "The right clamp's run-out is too large. Seat the clamp again. Say done.",
            WantsDone(SeatClamp("right")),
        ),
        (
            "Left screw, one and a quarter turns anticlockwise. Say done.",
            WantsDone(TurnScrew("left screw", "anticlockwise", 1.25)),
        ),
        (
            "Move the stand fifteen millimetres away from the car. Say done.",
            WantsDone(MoveStand(ahead_mm=15.0)),
        ),
        (
            "Wheel three quarters round. Left arm scale, three quarters.",
            WantsReading("arm", "left", (TurnWheel("left", 3),)),
        ),
        (
            "Wheel a quarter on. Right arm scale, quarter.",
            WantsReading("arm", "right", (TurnWheel("right", 1),)),
        ),
        (
            "Plate in the middle, top towards, three degrees. Echo level.",
            WantsReading("echo", "", (SetSwing(0), SetLean(1))),
        ),
        (
            "Plate upright, left edge towards, three degrees. Echo level.",
            WantsReading("echo", "", (SetLean(0), SetSwing(1))),
        ),
        (
            "Now both spots again. Left spot, millimetres, left or right.",
            WantsReading("spot", "left"),
        ),
    ],
)
def test_what_a_text_wants(ear: Understanding, text: str, wanted: Wanted) -> None:
    assert ear.prompt(text).wanted == wanted


@pytest.mark.parametrize("way", ["clockwise", "anticlockwise"])
@pytest.mark.parametrize("quarters", [1, 2, 3, 4, 6, 11])
def test_screw_turns_as_the_companion_says_them(
    ear: Understanding, mount: MountModel, way: str, quarters: int
) -> None:
    for screw in mount.screws:
        text = turn_screw(screw.name, way, Fraction(quarters, 4))
        wanted = ear.prompt(f"Outside. Sideways zero point one degrees left. {text}").wanted
        assert wanted == WantsDone(TurnScrew(screw.name, way, quarters / 4))  # type: ignore[arg-type]


SPOT = "Left spot, millimetres, left or right."
THREE_DIGITS = NumberForm("whole", 3, directions=("left", "right"), units=("mm",))


@pytest.mark.parametrize(
    ("text", "wanted", "repeated", "by_digits"),
    [
        (f"{prompts.SORRY} {SPOT}", WantsReading("spot", "left"), True, False),
        (
            prompts.digit_by_digit(prompts.SORRY, THREE_DIGITS, SPOT),
            WantsReading("spot", "left"),
            True,
            True,
        ),
        (prompts.use_the_keyboard(SPOT), WantsReading("spot", "left"), True, False),
        (f"{prompts.NOT_TAKEN} {SPOT}", WantsReading("spot", "left"), True, False),
        (f"{prompts.STILL_WAITING} {SPOT}", WantsReading("spot", "left"), True, False),
        (f"{prompts.NOT_NOW} {SPOT}", WantsReading("spot", "left"), True, False),
        (f"{prompts.CARRYING_ON} {SPOT}", WantsReading("spot", "left"), True, False),
        (
            f"{prompts.implausible('nine degrees left', 'zero', 'six')} {SPOT}",
            WantsReading("spot", "left"),
            False,
            False,
        ),
        (prompts.PAUSED, WantsCarryOn(), False, False),
        (prompts.PAUSED_BY_SILENCE, WantsCarryOn(), False, False),
        (prompts.STOPPED, WantsCarryOn(), False, False),
        (prompts.SPEAK_NOTE, WantsNote(), False, False),
        (prompts.END_THE_JOB, WantsYes("end the job, without a result"), False, False),
        (
            prompts.read_back("seven seven five millimetres"),
            WantsYes("seven seven five millimetres"),
            False,
            False,
        ),
        (prompts.resumed("Stand sideways"), WantsChoice("moved"), False, False),
        (prompts.NOTE_KEPT, Unclear(), False, False),
    ],
)
def test_the_fixed_sentences(
    ear: Understanding, text: str, wanted: Wanted, repeated: bool, by_digits: bool
) -> None:
    prompt = ear.prompt(text)
    assert (prompt.wanted, prompt.repeated, prompt.digit_by_digit) == (
        wanted,
        repeated,
        by_digits,
    )
