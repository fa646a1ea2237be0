"""Wrong files as a technician meets them: by the commands, in words that he understands."""
# ruff: noqa: E501

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.job.loader import EXAMPLES
from companion.job.own_folder import Kind, own_folder
from tests.job.test_wrong_files import LIBRARY_WORDS, TIRED, WRONG

OWN: tuple[tuple[Kind, str, str, str, str], ...] = (
    # file, what stands there, what is written instead, the field as the file writes it, a part of
    # the sentence
    ("vehicle", "{low: 375, high: 405}", "390", "ride_height_rear_mm", "fields with their values"),
    ("vehicle", "yaw_tolerance_deg: 0.40", "yaw_tolerance_deg: -0.40", "aim.yaw_tolerance_deg", "more than 0"),
    ("vehicle", "kind: vehicle", "kind: mount", "kind", "'vehicle'"),
    ("vehicle", "sensor_height_mm: 520", "sensor_height_mm:", "sensor_height_mm", "a number"),
    ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 27000", "wheelbase_mm", "less than 20000"),
    ("mount", "name: upper screw", "name: left screw", "the file", "different ids and names"),
    ("mount", "hand: right", "hand: clockwise", "screws[1].hand", "'right' or 'left'"),
    ("mount", "pitch_mm: 0.8", "pitch_mm: 8", "screws[1].pitch_mm", "at most 5"),
    ("mount", "smallest_turn: 0.25", "smallest_turn: 0.3", "screws[1].smallest_turn", "a hand counts it"),
    ("mount", "travel_clockwise_turns: 5", "travel_clockwise_turns: 45", "screws[1].travel_clockwise_turns", "is it 4.5?"),
    ("stand", "plate_distance_mm: 1200", "plate_distance_mm: 120", "plate_distance_mm", "is it in centimetres?"),
    ("stand", "plate_distance_mm: 1200", "plate_distance_mm: 1200\nlaser_path_mm: 470", "laser_path_mm", "is it in centimetres?"),
    ("stand", "turn_tolerance_deg: 0.10", "turn_tolerance_deg: 10", "turn_tolerance_deg", "is it 1?"),
    ("stand", "detent_doubt_deg: 0.01", "detent_doubt_deg: -0.01", "detent_doubt_deg", "at least 0"),
    ("stand", "mat_mm: 2400", "mat_mm: 2400 mm", "mat_mm", "a number"),
    ("stand", "largest_run_out_deg: 0.50", "largest_runout_deg: 0.50", "largest_run_out_deg", "which is not there"),
    ("bay", "due: 2030-12-31", "due: 31.12.2030", "instruments[1].due", "a date such as 2030-12-31"),
    ("bay", "shop: Example Workshop", "shop: ''", "shop", "at least 1 characters"),
)  # fmt: skip
BY_THE_FILE_ALONE = ("laser_path_mm: 5300",)
"""What only stands out beside the vehicle; `companion files` looks at them together."""


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, list(arguments))


def wrong(kind: Kind, right: str, instead: str, name: str = "ours") -> Path:
    text = (EXAMPLES / f"{kind}.yaml").read_text("utf-8")
    assert right in text
    path = own_folder(kind) / f"{name}.yaml"
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace(right, instead, 1), "utf-8")
    return path


ALL = [row for row in WRONG if not any(part in row[2] for part in BY_THE_FILE_ALONE)] + list(OWN)


def test_there_are_more_than_twenty_of_each_sort_of_list() -> None:
    assert len(ALL) >= 40
    assert {kind for kind, *_ in ALL} == {"vehicle", "bay", "stand", "mount"}


@pytest.mark.parametrize(("kind", "right", "instead", "field", "told"), ALL)
def test_check_refuses_it_and_names_the_field_as_the_file_writes_it(
    kind: Kind, right: str, instead: str, field: str, told: str
) -> None:
    path = wrong(kind, right, instead)
    said = run(kind, "check", "ours")
    assert said.exit_code == 3, said.output
    assert str(path) in said.output
    assert re.search(rf", {re.escape(field)}: ", said.output), said.output
    assert told in said.output
    assert not LIBRARY_WORDS.search(said.output.replace(str(path), "")), said.output
    assert not re.search(r"[a-z]\.\d", said.output.replace(str(path), "")), "a place from 1, in []"
    assert "ours" in run(kind, "list").output, "one that cannot be read is still listed"


@pytest.mark.parametrize(("kind", "right", "instead", "told"), TIRED)
def test_check_refuses_what_a_tired_person_writes(
    kind: Kind, right: str, instead: str, told: str
) -> None:
    wrong(kind, right, instead)
    said = run(kind, "check", "ours")
    assert said.exit_code == 3, said.output
    assert told in said.output


@pytest.mark.parametrize(
    ("kind", "right", "instead", "field"),
    [
        ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 1500", "wheelbase_mm"),
        ("vehicle", "yaw_tolerance_deg: 0.40", "yaw_tolerance_deg: 4.0", "aim.yaw_tolerance_deg"),
        ("bay", "plate_distance_mm: 1200", "plate_distance_mm: 200", "stand.plate_distance_mm"),
        ("stand", "plate_distance_mm: 1200", "plate_distance_mm: 200", "plate_distance_mm"),
        ("mount", "z_mm: 55", "z_mm: 550", "screws[2].z_mm"),
    ],
)
def test_who_means_it_says_so_in_the_file(kind: Kind, right: str, instead: str, field: str) -> None:
    path = wrong(kind, right, instead)
    said = run(kind, "check", "ours").output
    assert f"'unusual: [{field}]'" in said, said
    path.write_text(f"{path.read_text('utf-8')}unusual: ['{field}']\n", "utf-8")
    assert run(kind, "check", "ours").exit_code == 0


@pytest.mark.parametrize("kind", ["vehicle", "bay", "stand", "mount"])
def test_every_sort_is_copied_listed_shown_and_checked(kind: Kind) -> None:
    assert run(kind, "copy", f"example-{kind}", "ours").exit_code == 0
    assert "EXAMPLE" in run(kind, "check", "ours").output
    listed = run(kind, "list").output
    assert "ours" in listed
    assert f"example-{kind}" in listed
    assert "EXAMPLE" in run(kind, "show", "ours").output
    assert run(kind, "copy", f"example-{kind}", "ours").exit_code != 0, "is there already"
    none = run(kind, "show", "nothing-of-that-name")
    assert none.exit_code == 3
    assert "wanted: one of ours" in none.output


def test_a_bay_takes_its_stand_by_name() -> None:
    stand = wrong("stand", "plate_distance_mm: 1200", "plate_distance_mm: 1250", "big-one")
    bay = wrong("bay", "name: Bay one", "name: Bay two")
    text = bay.read_text("utf-8")
    bay.write_text(text[: text.index("stand:\n")] + "stand: big-one\n", "utf-8")
    shown = run("bay", "show", "ours").output
    assert "1250 mm" in shown
    assert run("files", "--bay", "ours").exit_code == 0, run("files", "--bay", "ours").output
    stand.write_text(stand.read_text("utf-8").replace("1250", "125"), "utf-8")
    said = run("files", "--bay", "ours")
    assert said.exit_code == 3
    assert f"{stand}, plate_distance_mm: found 125" in said.output
    stand.write_text(f"{stand.read_text('utf-8')}unusual: [plate_distance_mm]\n", "utf-8")
    assert run("bay", "check", "ours").exit_code == 0
    bay.write_text(bay.read_text("utf-8").replace("big-one", "small-one"), "utf-8")
    said = run("bay", "check", "ours")
    assert "companion stand list" in said.output


def test_the_stand_that_ships_is_that_of_the_bay_that_ships() -> None:
    bay = wrong("bay", "name: Bay one", "name: Bay two")
    whole = run("bay", "show", "ours").output
    text = bay.read_text("utf-8")
    bay.write_text(text[: text.index("stand:\n")] + "stand: example-stand\n", "utf-8")
    assert run("bay", "show", "ours").output == whole


def test_it_says_which_of_the_files_are_examples() -> None:
    run("vehicle", "copy", "example-vehicle", "ours")
    path = own_folder("vehicle") / "ours.yaml"
    path.write_text(path.read_text("utf-8").replace("example: true", "example: false"), "utf-8")
    told = run("files", "--vehicle", "ours").output.splitlines()[0]
    assert "These are examples: " in told
    assert "ehicle" not in told.partition("These are examples: ")[2]
