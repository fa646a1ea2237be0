"""Files that are not what they should be: said by file, line, field, what was found and wanted."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from random import Random

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.base import yaml_text
from companion.base.yaml_text import LONGEST_TEXT, field_lines, parse
from companion.errors import FileProblem
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.setup_files import Bay, Vehicle
from companion.runtime import assembly
from tests.survival.files import mutated

VEHICLE = (EXAMPLES / "vehicle.yaml").read_text(encoding="utf-8")


def test_an_unknown_field(spoil):
    said = spoil("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2700\nweel_base_mm: 2700")
    assert (
        "vehicle.yaml line HERE+1, weel_base_mm: found 2700; wanted: no field of this name here"
        in said
    )


def test_a_missing_field(spoil):
    said = spoil("vehicle", "wheelbase_mm: 2700\n", "")
    assert "wheelbase_mm: wanted: this field, which is not there" in said


def test_a_missing_field_deep_in_a_file_is_told_with_its_path_and_line(spoil):
    said = spoil("mount", "    pitch_mm: 0.8\n", "")
    assert "mount.yaml line " in said
    assert "screws[1].pitch_mm: wanted: this field, which is not there" in said


@pytest.mark.parametrize(
    ("found", "shown"),
    [
        ("long", "found 'long'"),
        ("[2700]", "found [2700]"),
        ("{low: 1}", "found fields such as low"),
        ("yes", "found true"),
        ('"2700"', "found '2700'"),
        ("2031-05-06", "found 2031-05-06"),
        ("", "found nothing"),
    ],
)
def test_a_value_of_the_wrong_type(spoil, found, shown):
    said = spoil("vehicle", "wheelbase_mm: 2700", f"wheelbase_mm: {found}")
    assert f"vehicle.yaml line HERE, wheelbase_mm: {shown}; wanted: a" in said


@pytest.mark.parametrize("found", [".nan", ".inf", "-.inf"])
def test_a_number_that_is_no_number(spoil, found):
    said = spoil("vehicle", "wheelbase_mm: 2700", f"wheelbase_mm: {found}")
    assert "line HERE, wheelbase_mm: found" in said
    assert "finite number" in said


@pytest.mark.parametrize(
    ("place", "field"),
    [
        ("plausible: [200, 800]", "plausible: [.nan, 800]"),
        ("resolution: 1", "resolution: .inf"),
        ("at_most: 5\n", "at_most: .inf\n"),
        ("low: 12.5", "low: .nan"),
        ("ranges_m: [50, 100, 150]", "ranges_m: [50, .nan]"),
        ("path_mm: 35", "path_mm: .nan"),
        ("doubt: 0.05", "doubt: .nan"),
    ],
)
def test_no_number_of_the_job_may_be_endless_or_none(spoil, place, field):
    said = spoil("job", place, field)
    assert "found nan" in said or "found inf" in said


@pytest.mark.parametrize(
    ("which", "old", "new"),
    [
        ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: -2700"),
        ("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 99999"),
        ("vehicle", "confidence: 0.95", "confidence: 0.5"),
        ("mount", "pitch_mm: 0.8", "pitch_mm: 0"),
        ("mount", "hand: right", "hand: both"),
        ("mount", "approach: clockwise", "approach: sideways"),
        ("bay", "rule_resolution_mm: 1", "rule_resolution_mm: 0"),
        ("bay", "kind: bay", "kind: vehicle"),
    ],
)
def test_a_value_outside_its_range(spoil, which, old, new):
    said = spoil(which, old, new)
    field = new.split(":")[0]
    assert f"line HERE, {field}: found" in said or f".{field}: found" in said


def test_a_range_the_wrong_way_round(spoil):
    said = spoil("vehicle", "{low: 370, high: 400}", "{low: 400, high: 370}")
    assert "line HERE, ride_height_front_mm" in said
    assert "low must be less than high" in said


def test_two_screws_on_one_line_through_the_pivot(spoil):
    said = spoil("mount", "y_mm: -4\n    z_mm: 55", "y_mm: 120\n    z_mm: 10")
    assert "the screws lie on one line through the pivot, so they cannot set both axes" in said


def test_two_screws_of_one_name(spoil):
    assert "different ids and names" in spoil("mount", "name: left screw", "name: upper screw")


def test_a_screw_stands_on_the_side_that_it_is_called_after(spoil):
    said = spoil("mount", "y_mm: 60", "y_mm: -60")
    assert "screw left_screw is called 'left screw' and stands at y_mm -60" in said


def test_distances_that_follow_from_the_vehicle_must_agree_with_it(spoil):
    entered = "distance_tolerance_mm: 10\n  laser_path_mm: 5250"
    said = spoil("bay", "distance_tolerance_mm: 10", entered)
    assert "stand.laser_path_mm: found 5250; wanted: 4700" in said


@pytest.mark.parametrize(("count", "wanted"), [(1, "at least 2"), (4, "at most 3")])
def test_a_mount_has_two_screws_or_three(refused, count, wanted):
    text = (EXAMPLES / "mount_three_screws.yaml").read_text(encoding="utf-8")
    head, *screws = text.split("  - id: ")
    screws.append(screws[2].replace("lower", "fourth").replace("z_mm: -40", "z_mm: -50"))
    said = refused("mount", "  - id: ".join((head, *screws[:count])))
    assert "screws" in said
    assert wanted in said


def test_three_screws_on_one_line(refused):
    text = (EXAMPLES / "mount_three_screws.yaml").read_text(encoding="utf-8")
    said = refused("mount", text.replace("z_mm: -40", "z_mm: 35"))
    assert "the screws lie on one line, so they cannot set both axes" in said


def test_a_key_that_stands_twice(spoil):
    said = spoil("vehicle", "wheelbase_mm: 2700", "wheelbase_mm: 2700\nwheelbase_mm: 2800")
    assert "vehicle.yaml line 7: 'wheelbase_mm' stands twice; wanted: once" in said


def test_a_key_that_stands_twice_deep_in_the_job(spoil):
    said = spoil("job", "id: rule_rear_left_mm", "id: rule_rear_left_mm\n        id: other")
    assert "'id' stands twice" in said


def test_a_list_as_a_fields_name(spoil):
    said = spoil("vehicle", "wheelbase_mm: 2700", "[wheelbase, mm]: 2700")
    assert "line 6: a list or fields as a field's name; wanted: a word" in said


def test_an_alias_bomb(refused):
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 9)]
    assert "unfolds too far; wanted: at most" in refused("vehicle", "\n".join(lines))


def test_an_alias_of_itself(refused):
    assert "unfolds too far" in refused("vehicle", "kind: vehicle\nname: &a [*a]\n")


@pytest.mark.parametrize("count", [60, 100_000])
def test_deep_nesting(refused, count):
    said = refused("vehicle", "kind: " + "[" * count + "]" * count)
    assert "unfolds too far" in said or "not readable as YAML" in said


def test_a_file_that_is_too_large(refused):
    said = refused("vehicle", VEHICLE + "#" * LONGEST_TEXT)
    assert f"larger than {LONGEST_TEXT} bytes" in said


def test_a_text_that_is_too_large():
    with pytest.raises(FileProblem, match="characters; wanted: 1000000 at most"):
        parse("#" * (LONGEST_TEXT + 1), "vehicle.yaml", Vehicle)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", "Beschreibung: ä".encode("latin-1")])
def test_a_file_that_is_not_utf_8(refused, content):
    assert "not text in UTF-8" in refused("vehicle", content)


def test_a_file_that_is_not_there(tmp_path):
    with pytest.raises(FileProblem, match=r"gone\.yaml: No such file or directory; wanted"):
        assembly.load(replace(JobPaths(), bay=tmp_path / "gone.yaml"))


def test_a_folder_instead_of_a_file(tmp_path):
    with pytest.raises(FileProblem, match=r"a folder, .*; wanted: a readable YAML file"):
        assembly.load(replace(JobPaths(), bay=tmp_path))


@pytest.mark.parametrize("text", ["", "# nothing but a remark\n", "- kind: vehicle\n", "vehicle"])
def test_an_empty_file_or_a_list(refused, text):
    assert "empty, or a list; wanted: fields such as 'kind: job'" in refused("vehicle", text)


def test_two_documents_in_one_file(refused):
    assert "vehicle.yaml line" in refused("vehicle", VEHICLE + "---\nkind: vehicle\n")


@pytest.mark.parametrize(
    "value",
    [
        "!!python/object:os.system {}",
        "!!python/object/apply:os.system [echo]",
        "!!python/name:os.system ''",
        "!car 2700",
    ],
)
def test_a_tag_that_would_make_something_else_of_a_value(spoil, value):
    said = spoil("vehicle", "wheelbase_mm: 2700", f"wheelbase_mm: {value}")
    assert "vehicle.yaml line 6: could not determine a constructor for the tag" in said


@pytest.mark.parametrize(
    "value", ["!!bool perhaps", "!!timestamp never", "!!int ''", "!!float long", "!!binary ä"]
)
def test_a_tag_that_its_value_does_not_bear(spoil, value):
    spoil("vehicle", "wheelbase_mm: 2700", f"wheelbase_mm: {value}")


@pytest.mark.parametrize(
    ("text", "line"),
    [("kind: [vehicle\nname: x\n", 2), ("kind: vehicle\n\tname: x\n", 2), ('kind: "vehicle\n', 2)],
)
def test_broken_yaml_is_told_with_its_line(refused, text, line):
    assert f"vehicle.yaml line {line}: " in refused("vehicle", text)


def test_no_more_than_ten_faults_are_told_at_once(refused):
    said = refused("vehicle", "kind: vehicle\n" + "".join(f"x{i}: 1\n" for i in range(40)))
    assert len(said.splitlines()) == 10


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_a_file_with_anything_in_it_is_read_or_refused_but_never_breaks(data):
    text = (EXAMPLES / "bay.yaml").read_text(encoding="utf-8")
    at = data.draw(st.integers(0, len(text)))
    cut = data.draw(st.integers(0, 12))
    signs = "&*!|>%@`{}[]:,#?-\"'\\\n\t 0a.~<=\x00\ufeff\u2028é"
    alphabet = st.sampled_from([*signs, "!!", "<<: "])
    put = "".join(data.draw(st.lists(alphabet, max_size=8)))
    problem = None
    try:
        assert parse(text[:at] + put + text[at + cut :], "bay.yaml", Bay).kind == "bay"
    except FileProblem as error:
        problem = str(error)
    assert problem is None or (problem.startswith("bay.yaml") and "wanted" in problem)


@pytest.mark.parametrize("count", [60, 5_000, 100_000])
@pytest.mark.parametrize("line", ["height_mm: {}", "name: [{}]", "{}: 1", "height_mm: 0x{}"])
def test_a_number_that_would_grow_without_end_is_named(
    refused: Callable[..., str], count: int, line: str
) -> None:
    """YAML 1.1 reads 59:59 as 59 * 60 + 59; so many parts make a number of thousands of digits."""
    number = "f" * count if "0x" in line else ":".join(["59"] * count)
    said = refused("vehicle", f"kind: vehicle\n{line.format(number)}\n")
    # A name of more than a thousand signs is none to YAML.
    assert any(told in said for told in ("line 2: a number of", "could not find expected ':'")) or (
        count == 60
    )
    assert len(said) < 2_000


def read(text: str) -> object:
    try:
        return parse(text, "vehicle.yaml", Vehicle), field_lines(text, "vehicle.yaml")
    except FileProblem as problem:
        return str(problem)


def test_a_file_reads_alike_with_libyaml_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    """Taken or refused, field by field, line by line and in the same words."""
    if not yaml.__with_libyaml__:
        pytest.skip("PyYAML was built without libyaml")
    random = Random(3)
    damaged = [mutated(random, VEHICLE.encode()).decode(errors="replace") for _ in range(400)]
    odd = ("\t2700", " !mm 2700", " !!python/object/apply:os.system [x]", " =", "\ufeff 2700")
    otherwise = [VEHICLE.replace("wheelbase_mm: 2700", f"wheelbase_mm:{told}") for told in odd]
    texts = [VEHICLE, *otherwise, *damaged]
    quickly = [read(text) for text in texts]
    monkeypatch.setattr(yaml_text, "_LIBYAML", ())
    assert [read(text) for text in texts] == quickly
    refused = [told for told in quickly if isinstance(told, str)]
    assert len(texts) / 4 < len(refused) < len(texts)


@pytest.mark.parametrize("text", ["a: " + "[" * 100_000, "- " * 100_000, "{a: " * 50_000])
def test_a_text_of_any_depth_is_refused_and_ends_nothing(text: str) -> None:
    """In a process of its own: a reader without a limit would end this one."""
    program = "from tests.job.test_unreadable_files import read; import sys"
    asked = f"{program}; print(read(sys.stdin.read()))"
    ended = subprocess.run(
        [sys.executable, "-c", asked],
        cwd=Path(__file__).parents[2],
        input=text,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr
    assert "wanted: " in ended.stdout
