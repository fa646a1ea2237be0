"""The shop's own files: made by questions, found by name, and told of in plain words."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.base.yaml_text import parse, word_at
from companion.cli import main
from companion.commands.own_interview import Unclear, number_of
from companion.commands.own_questions import QUESTIONS
from companion.commands.which_sensors import sensors_of
from companion.errors import FileProblem
from companion.job.loader import EXAMPLES
from companion.job.own_files import SHIPPED_JOBS, NoSuchFile, find, find_job, own_path
from companion.job.setup_files import MountModel, StandFile, Vehicle

VEHICLE = ["Grey hatchback", "y", "n", "n", "n"]
FIGURES = ["2700", "1550", "1545", "800", "", "520", "370 to 400", "375 to 405"]
AIM = ["0.4", "0.4", "", "10", "12", "", "", ""]
MOUNT = ["Two screws", "", "", "n"]
LEFT = ["left screw", "60", "5", "0.8", "", "5", "5", "0.1"]
UPPER = ["upper screw", "-4", "55", "0.8", "", "5", "5", ""]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    return tmp_path


def run(*arguments: str, answers: list[str] | None = None) -> Result:
    typed = "".join(f"{answer}\n" for answer in answers or [])
    return CliRunner().invoke(main, list(arguments), input=typed)


def made(kind: str = "vehicle") -> Vehicle | MountModel:
    path = own_path("vehicle" if kind == "vehicle" else "mount", "grey-one")
    model = Vehicle if kind == "vehicle" else MountModel
    return parse(path.read_text("utf-8"), str(path), model)


def test_a_vehicle_is_made_by_questions_and_used_by_its_name() -> None:
    told = run("vehicle", "new", "grey-one", answers=[*VEHICLE, *FIGURES, *AIM])
    assert told.exit_code == 0, told.output
    assert "1 in the picture" in told.output
    vehicle = made()
    assert (vehicle.name, vehicle.example) == ("Grey hatchback", False)
    assert isinstance(vehicle, Vehicle)
    assert vehicle.rear_track_mm == 1545
    assert run("files", "--vehicle", "grey-one").exit_code == 0
    assert run("files", "--vehicle", "Grey Hatchback").exit_code == 0
    listed = run("vehicle", "list").output.splitlines()
    assert [line.endswith("EXAMPLE") for line in listed] == [False, True]


@pytest.mark.parametrize(
    ("slip", "told"),
    [
        ("270", "is it in centimetres?"),
        ("2.7", "is it in metres?"),
        ("two metres", "wanted: a number in mm"),
        ("2700 kg", "found the unit 'kg'"),
    ],
)
def test_a_slip_is_told_and_asked_again(slip: str, told: str) -> None:
    found = run("vehicle", "new", "grey-one", answers=[*VEHICLE, slip, *FIGURES, *AIM])
    assert found.exit_code == 0, found.output
    assert told in found.output
    vehicle = made()
    assert isinstance(vehicle, Vehicle)
    assert vehicle.wheelbase_mm == 2700


def test_a_length_may_be_told_in_its_own_unit() -> None:
    assert number_of("270 cm", "mm") == 2700
    assert number_of("2,7 m", "mm") == 2700
    assert number_of("106.3in", "mm") == pytest.approx(2700.02)
    with pytest.raises(Unclear):
        number_of("12 cm", "deg")


def test_who_means_it_says_so_and_the_file_keeps_that() -> None:
    figures = ["1500!", *FIGURES[1:]]
    found = run("vehicle", "new", "grey-one", answers=[*VEHICLE, *figures, *AIM])
    assert found.exit_code == 0, found.output
    assert made().unusual == ("wheelbase_mm",)
    assert run("vehicle", "check", "grey-one").exit_code == 0


def test_figures_are_held_against_each_other() -> None:
    figures = [*FIGURES[:2], "1250", *FIGURES[2:]]
    found = run("vehicle", "new", "grey-one", answers=[*VEHICLE, *figures, *AIM])
    assert found.exit_code == 0, found.output
    assert "two that are nearly alike" in found.output


def test_a_left_screw_stands_to_the_left() -> None:
    left = [*LEFT[:1], "-60", *LEFT[1:]]
    found = run("mount", "new", "grey-one", answers=[*MOUNT, *left, *UPPER])
    assert found.exit_code == 0, found.output
    assert "found -60 for the left screw; wanted: above 0" in found.output
    mount = made("mount")
    assert isinstance(mount, MountModel)
    assert [screw.id for screw in mount.screws] == ["left_screw", "upper_screw"]


def test_what_does_not_fit_in_the_end_is_not_lost() -> None:
    upper = ["upper screw", "120", "10", *UPPER[3:]]
    found = run("mount", "new", "grey-one", answers=[*MOUNT, *LEFT, *upper])
    assert found.exit_code == 3
    assert "on one line" in found.output
    assert "unfinished" in found.output
    assert own_path("mount", "grey-one-unfinished").exists()


def test_a_copy_of_the_example_stays_an_example_until_it_says_otherwise() -> None:
    found = run("bay", "copy", "example-bay", "our-bay")
    assert found.exit_code == 0, found.output
    assert "still marked as an example" in found.output
    assert "EXAMPLE" in run("bay", "check", "our-bay").output
    assert run("bay", "copy", "example-bay", "our-bay").exit_code != 0, "is there already"
    assert "6" in run("bay", "show", "our-bay").output


def test_a_name_that_there_is_not_names_those_that_there_are() -> None:
    with pytest.raises(NoSuchFile, match=r"example-vehicle.*companion vehicle new"):
        find("vehicle", "red one")
    assert find("vehicle", "example hatchback") == EXAMPLES / "vehicle.yaml"
    assert find("mount", "some/where.yaml") == Path("some/where.yaml")


@pytest.mark.parametrize("name", SHIPPED_JOBS)
def test_a_job_that_ships_is_found_by_its_name(name: str) -> None:
    file = EXAMPLES / f"{name.replace('-', '_')}.yaml"
    assert file.is_file()
    assert find_job(name) == find_job(name.replace("-", "_").upper()) == file
    assert find_job(f" {name.replace('-', ' ')} ") == file


def test_the_sensors_of_a_visit_are_found_as_jobs_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "front_radar").mkdir()
    told = "Front Radar, forward_camera, surround-mats"
    assert [one.job for one in sensors_of(told, "en")] == [
        word_at(find_job(name).read_text(encoding="utf-8"), "", "id")
        for name in ("front-radar", "forward-camera", "surround-mats")
    ]
    for none in ("visit end", "front-radars", "mine.txt"):
        with pytest.raises(FileProblem, match=f"sensor '{none}': no job sets it; wanted: front_"):
            sensors_of(none, "en")
    # A file of that name where somebody stands is the one that is meant, and it is no job.
    (tmp_path / "forward-camera").write_text("")
    with pytest.raises(FileProblem, match="no job sets it"):
        sensors_of("forward-camera", "en")


def test_the_jobs_by_name_are_all_that_ship() -> None:
    shipped = {path.stem.removesuffix(".rehearsal") for path in EXAMPLES.glob("*.rehearsal.yaml")}
    assert shipped - {"stand_check"} == {name.replace("-", "_") for name in SHIPPED_JOBS}


def test_a_job_that_is_not_there_is_named_with_those_that_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(NoSuchFile, match="no job 'frontradar'; wanted: one of front-radar, "):
        find_job("frontradar")
    assert find_job("./mine") == Path("mine")
    assert find_job("mine.yaml") == Path("mine.yaml")
    # A file of that name where somebody stands is the one that is meant.
    (tmp_path / "front-radar").write_text("")
    assert find_job("front-radar") == Path("front-radar")
    found = run("vehicle", "new", "../elsewhere")
    assert found.exit_code == 3
    assert "a short name" in found.output


def stand_answers() -> list[str]:
    """What the stand that ships would be entered as."""
    file = parse((EXAMPLES / "stand.yaml").read_text("utf-8"), "stand.yaml", StandFile)
    return [f"{getattr(file, asked.field):g}" for asked in QUESTIONS["stand"]]


def test_a_stand_is_made_by_questions_and_a_bay_takes_it_by_name() -> None:
    told = run("stand", "new", "big-one", answers=["Big stand", *stand_answers()])
    assert told.exit_code == 0, told.output
    assert 'write "stand: big-one" in a bay file' in told.output
    floor = ["Our shop", "0 to 0.1", "-0.1 to 0.06", "-1.3 to 1.7", "-4 to 4", "0.006"]
    told = run("bay", "new", "two", answers=["Bay two", "small-one", "big-one", *floor])
    assert told.exit_code == 0, told.output
    assert "stand: big-one" in own_path("bay", "two").read_text("utf-8")
    assert run("bay", "check", "two").exit_code == 0
    assert "1200 mm" in run("bay", "show", "two").output


def test_a_vehicle_with_a_radar_is_asked_for_its_mount_where_there_are_any() -> None:
    run("mount", "new", "grey-mount", answers=[*MOUNT, *LEFT, *UPPER])
    told = run("vehicle", "new", "grey-one", answers=[*VEHICLE, *FIGURES, *AIM, "grey-mount"])
    assert told.exit_code == 0, told.output
    vehicle = made()
    assert isinstance(vehicle, Vehicle)
    assert vehicle.mount == "grey-mount"
    told = run("vehicle", "new", "grey-two", answers=[*VEHICLE, *FIGURES, *AIM, ""])
    assert told.exit_code == 0, told.output


@pytest.mark.parametrize(
    ("told", "kept"),
    [("echo levels", {"aim_route": "echo_levels"}), ("asked each time", {}), ("", {})],
)
def test_how_the_aim_is_read_is_asked_and_shown(told: str, kept: dict[str, str]) -> None:
    made_so = run("vehicle", "new", "grey-one", answers=[*VEHICLE, *FIGURES, *AIM[:-1], told])
    assert made_so.exit_code == 0, made_so.output
    vehicle = made()
    assert isinstance(vehicle, Vehicle)
    assert vehicle.usual_answers == kept
    shown = run("vehicle", "show", "grey-one").output
    assert ("echo levels" in shown) == bool(kept)


def test_an_angle_is_never_offered_as_the_usual_way() -> None:
    answers = [*VEHICLE, *FIGURES, *AIM[:-1], "tool angle", "echo levels"]
    told = run("vehicle", "new", "grey-one", answers=answers).output
    assert "wanted: echo levels or asked each time" in told


def test_a_usual_answer_to_a_question_that_no_job_has_is_noticed() -> None:
    run("vehicle", "new", "grey-one", answers=[*VEHICLE, *FIGURES, *AIM[:-1], "echo levels"])
    assert "usual_answers" not in run("vehicle", "check", "grey-one").output
    path = own_path("vehicle", "grey-one")
    path.write_text(path.read_text("utf-8").replace("aim_route", "aim_rout"), "utf-8")
    told = run("vehicle", "check", "grey-one")
    assert told.exit_code == 0
    assert "'aim_rout', only to aim_route" in told.output


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("aim_route: tool_angle", "wanted: echo_levels"),
        ("aim_route: echo_level", "wanted: echo_levels"),
        ("consent: keep_sound", "always asked in full"),
    ],
)
def test_a_usual_answer_that_no_job_takes_is_refused(written: str, wanted: str) -> None:
    run("vehicle", "new", "grey-one", answers=[*VEHICLE, *FIGURES, *AIM[:-1], "echo levels"])
    path = own_path("vehicle", "grey-one")
    path.write_text(path.read_text("utf-8").replace("aim_route: echo_levels", written), "utf-8")
    told = run("vehicle", "check", "grey-one")
    assert told.exit_code != 0
    assert f"found {written}; " in told.output
    assert wanted in told.output
