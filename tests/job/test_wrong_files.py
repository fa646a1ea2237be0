"""Twenty wrong files: each refused with a sentence that a technician understands."""
# ruff: noqa: E501

from __future__ import annotations

import re
from pathlib import Path

import pytest

from companion.errors import FileProblem
from companion.job.loader import EXAMPLES, JobPaths
from companion.runtime import assembly

LIBRARY_WORDS = re.compile(
    r"\b(str|int|float|bool|dict|tuple|list_type|NoneType|pydantic|ValidationError|Input|"
    r"instance|parse|parsable|ValueError|valid (?:string|number|integer))\b"
)
WRONG = (
    # file, what stands there, what is written instead, the field as the file writes it, a part of
    # the sentence
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 270", "wheelbase_mm", "is it in centimetres?"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2.7", "wheelbase_mm", "is it in metres?"),
    ("vehicle", "sensor_height_mm: 520", "sensor_height_mm: 52", "sensor_height_mm", "centimetres"),
    ("vehicle", "yaw_tolerance_deg: 0.40", "yaw_tolerance_deg: 4.0", "aim.yaw_tolerance_deg", "0.4"),
    ("vehicle", "front_track_mm: 1550", "front_track_mm: 61", "front_track_mm", "is it in inches?"),
    ("vehicle", "rear_track_mm: 1550", "rear_track_mm: 1250", "rear_track_mm", "nearly alike"),
    ("vehicle", "{low: 370, high: 400}", "{low: 37, high: 40}", "ride_height_front_mm.low", "centim"),
    ("vehicle", "{low: 370, high: 400}", "{low: 400, high: 370}", "ride_height_front_mm", "low must"),
    ("vehicle", "frequency_ghz: 76.5", "frequency_ghz: 7.65", "aim.frequency_ghz", "20"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2,700", "wheelbase_mm", "a number"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase: 2700", "wheelbase_mm", "which is not there"),
    ("vehicle", "sensor_left_of_centre_mm: 0", "sensor_left_of_centre_mm: 1050",
     "sensor_left_of_centre_mm", "beside the car"),
    ("mount", "y_mm: 60", "y_mm: -60", "the file", "left screws with y above 0"),
    ("mount", "z_mm: 55", "z_mm: 550", "screws[2].z_mm", "is it 55?"),
    ("mount", "z_mm: 55", "z_mm: fifty five", "screws[2].z_mm", "a number"),
    ("mount", "approach: clockwise", "approach: right", "approach", "'clockwise' or 'anticlockwise'"),
    ("mount", "y_mm: -4\n    z_mm: 55", "y_mm: 120\n    z_mm: 10", "the file", "on one line"),
    ("bay", "plate_distance_mm: 1200", "plate_distance_mm: 120", "stand.plate_distance_mm", "centi"),
    ("bay", "plate_distance_mm: 1200", "plate_distance_mm: 1200\n  laser_path_mm: 470",
     "stand.laser_path_mm", "is it in centimetres?"),
    ("bay", "plate_distance_mm: 1200", "plate_distance_mm: 1200\n  laser_path_mm: 5300",
     "stand.laser_path_mm", "which follows from"),
    ("bay", "turn_tolerance_deg: 0.10", "turn_tolerance_deg: 10", "stand.turn_tolerance_deg", "is it 1?"),
    ("bay", "{low: -1.3, high: 1.7}", "{low: -1.3, high: 170}", "floor.twist_mm.high", "-40 to 40"),
    ("bay", "stand:\n", "stand: none\nold_stand:\n", "stand", "the name of a stand file"),
    ("bay", "example: true", "example: yes please", "example", "true or false"),
)  # fmt: skip
# What is written late in the day: the unit behind the figure, a comma, an O for a nought, a line
# pasted twice, a space forgotten, a tab, one nought too few or too many.
TIRED = (
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2700 mm", "found '2700 mm'; wanted: a number"),
    ("vehicle", "yaw_tolerance_deg: 0.40", "yaw_tolerance_deg: 0,40", "found '0,40'; wanted: a number"),
    ("vehicle", "sensor_height_mm: 520", "sensor_height_mm: 52O", "found '52O'; wanted: a number"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2700\nwheelbase_mm: 2710", "'wheelbase_mm' stands twice"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm:2700", "a name, a colon, a space and the value"),
    ("vehicle", "  rear_mm: 1100", "\trear_mm: 1100", "spaces, never with a tab"),
    ("vehicle", "reflector_angle_deg: 38", "reflector_angle_deg: 380", "wanted: at most 90"),
    ("vehicle", "board_height_mm: 1300", "board_height_mm: 130", "is it in centimetres?"),
    ("bay", "reflector_bar_mm: 800", "reflector_bar_mm: 80", "is it in centimetres?"),
)  # fmt: skip


@pytest.mark.parametrize(("name", "right", "wrong", "told"), TIRED)
def test_what_a_tired_person_writes_is_refused_and_the_line_named(
    tmp_path: Path, name: str, right: str, wrong: str, told: str
) -> None:
    said = refused(tmp_path, name, right, wrong)
    assert told in said
    assert not LIBRARY_WORDS.search(said), said
    assert " line " in said or ", camera." in said or ", stand." in said


@pytest.mark.parametrize(("name", "right", "wrong", "field", "told"), WRONG)
def test_a_wrong_file_is_refused_in_plain_words(
    tmp_path: Path, name: str, right: str, wrong: str, field: str, told: str
) -> None:
    said = refused(tmp_path, name, right, wrong)
    assert str(tmp_path / f"{name}.yaml") in said
    assert re.search(rf"(line \d+)?, {re.escape(field)}: ", said), said
    assert told in said
    assert not LIBRARY_WORDS.search(said), said
    assert ".0." not in said
    assert ".1." not in said


def test_there_are_twenty_of_them() -> None:
    assert len(WRONG) >= 20


def test_an_odd_figure_is_taken_where_the_file_insists(tmp_path: Path) -> None:
    text = (EXAMPLES / "vehicle.yaml").read_text("utf-8")
    wide = text.replace("yaw_tolerance_deg: 0.40", "yaw_tolerance_deg: 4.0")
    path = tmp_path / "vehicle.yaml"
    path.write_text(f"{wide}unusual: [aim.yaw_tolerance_deg]\n", "utf-8")
    loaded = assembly.load(JobPaths(vehicle=path))
    assert loaded.plan.files.vehicle.aim.yaw_tolerance_deg == 4.0


def refused(folder: Path, name: str, right: str, wrong: str) -> str:
    text = (EXAMPLES / f"{name}.yaml").read_text("utf-8")
    assert right in text
    path = folder / f"{name}.yaml"
    path.write_text(text.replace(right, wrong, 1), "utf-8")
    paths = {n: EXAMPLES / f"{n}.yaml" for n in ("vehicle", "mount", "bay")} | {name: path}
    with pytest.raises(FileProblem) as problem:
        assembly.load(JobPaths(**paths))
    return str(problem.value)
