"""The settings file: found, read with care, and told back with where each value came from."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.errors import FileProblem
from companion.language.words import Words
from companion.settings.describing import as_json, commented_file, described, explain, origin
from companion.settings.model import Settings
from companion.settings.reading import find_settings, read_settings, with_options


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The usual folder of the settings, still without a file."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "bay-companion").mkdir()
    return tmp_path / "bay-companion"


def _written(folder: Path, text: str) -> Path:
    file = folder / "settings.yaml"
    file.write_text(text, encoding="utf-8")
    return file


def test_without_a_file_the_defaults_hold(folder: Path) -> None:
    read = find_settings()
    assert read.settings == Settings()
    assert read.file is None
    assert origin(read, "ears", Words()) == "default"


def test_the_file_of_the_usual_place_is_found(folder: Path) -> None:
    _written(folder, "kind: settings\nears: own\n")
    assert find_settings().settings.ears == "own"


def test_a_file_that_is_asked_for_goes_before_the_usual_one(folder: Path, tmp_path: Path) -> None:
    _written(folder, "kind: settings\nears: own\n")
    other = tmp_path / "other.yaml"
    other.write_text("kind: settings\nears: sphinx\n")
    assert find_settings(other).settings.ears == "sphinx"


def test_a_file_that_is_asked_for_has_to_be_there(tmp_path: Path) -> None:
    with pytest.raises(FileProblem, match=r"none\.yaml: No such file.*wanted"):
        find_settings(tmp_path / "none.yaml")


def test_each_value_knows_its_line(folder: Path) -> None:
    file = _written(folder, "kind: settings\n\ntechnician: A. Example\n")
    read = read_settings(file)
    assert origin(read, "technician", Words()) == f"{file} line 3"
    assert read.given() == {"technician": "A. Example"}


def test_a_relative_path_counts_from_the_file(folder: Path) -> None:
    read = read_settings(_written(folder, "kind: settings\nbay_file: bays/two.yaml\n"))
    assert read.settings.bay_file == folder / "bays" / "two.yaml"
    assert read.settings.job_file == Settings().job_file


def test_a_home_is_found(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/somebody")
    read = read_settings(_written(folder, "kind: settings\nrecord: ~/jobs.sqlite\n"))
    assert read.settings.record == Path("/home/somebody/jobs.sqlite")


@pytest.mark.parametrize(
    ("line", "field", "wanted"),
    [
        ("microfone: USB", "microfone", "no field of this name"),
        ("ears: best", "ears", "'typed', 'own'"),
        ("deaf_after_speaking_s: 9", "deaf_after_speaking_s", "at most 3"),
        ("deaf_after_speaking_s: '0.5'", "deaf_after_speaking_s", "number"),
        ("keep_sound: 1", "keep_sound", "true or false"),
        ("keep_sound_days: 0", "keep_sound_days", "at least 1"),
        ("pedal_key: f13", "pedal_key", "pattern"),
        ("display_port: 80.5", "display_port", "a whole number"),
        ("microphone: ''", "microphone", "at least 1 character"),
        ("loudness_limit_db: -30", "the file", "must not be below"),
    ],
)
def test_what_is_not_right_is_named_with_its_line(
    folder: Path, line: str, field: str, wanted: str
) -> None:
    file = _written(folder, f"kind: settings\n{line}\n")
    with pytest.raises(FileProblem) as caught:
        read_settings(file)
    message = str(caught.value)
    assert str(file) in message
    assert field in message
    assert wanted in message
    if field != "the file":
        assert "line 2" in message


@pytest.mark.parametrize("text", ["", "# nothing\n", "- a list\n", "kind: job\n", "a: 1\na: 2\n"])
def test_a_file_of_another_kind_is_refused(folder: Path, text: str) -> None:
    with pytest.raises(FileProblem, match="wanted"):
        read_settings(_written(folder, text))


def test_the_file_to_start_from_sets_nothing(folder: Path) -> None:
    read = read_settings(_written(folder, commented_file()))
    assert read.given() == {}
    assert read.settings == Settings()


def test_every_line_of_the_file_to_start_from_may_be_used(folder: Path) -> None:
    text = "\n".join(
        line.removeprefix("#") if line.startswith("#") and not line.startswith("# ") else line
        for line in commented_file().splitlines()
    )
    read = read_settings(_written(folder, text))
    assert set(read.given()) == {item.name for item in described()}


def test_options_go_over_the_file(folder: Path) -> None:
    read = read_settings(_written(folder, "kind: settings\nears: own\nearcons: false\n"))
    now = with_options(read.settings, {"ears": "sphinx"})
    assert (now.ears, now.earcons) == ("sphinx", False)


def test_an_option_that_cannot_be_is_told_as_a_files_line_would_be() -> None:
    with pytest.raises(FileProblem) as refused:
        with_options(Settings(), {"technician": "A. Example " * 40})
    told = str(refused.value)
    assert told.startswith("technician: found 'A. Example ")
    assert told.endswith("; wanted: at most 200 characters")
    assert len(told) < 200


def test_an_explanation_names_meaning_range_default_value_and_origin(folder: Path) -> None:
    file = _written(folder, "kind: settings\nkeep_sound_days: 30\n")
    read = read_settings(file)
    told = explain(read)
    assert f"keep_sound_days = 30   ({file} line 2)" in told
    assert "how long recorded voices are kept" in told
    assert "wanted: 1 to 3650 days; default: 365" in told
    data = {row["name"]: row for row in as_json(read)}
    assert data["keep_sound_days"]["value"] == 30
    assert data["ears"]["from"] == "default"


def test_every_setting_says_what_it_means_and_what_is_wanted() -> None:
    for item in described():
        assert len(item.meaning) > 10, item.name
        assert item.wanted, item.name


def test_out_of_the_box_nothing_leaves_the_machine_and_nobody_else_may_look() -> None:
    settings = Settings()
    assert (settings.store, settings.ship_sound, settings.sound_goes) == (None, False, False)
    assert settings.published_by is None
    assert settings.display_host == "127.0.0.1"
    assert settings.keep_sound_days == 365


@pytest.mark.parametrize(
    ("told", "goes"),
    [
        ("", True),
        ("ship_sound: false", False),
        ("keep_sound: false", False),
        ("store:", False),
    ],
)
def test_sound_goes_only_where_it_is_kept_and_sent_and_there_is_a_store(
    folder: Path, told: str, goes: bool
) -> None:
    given = {"ship_sound": "true", "keep_sound": "true", "store": "dbname=companion"}
    name, _, value = told.partition(":")
    given |= {name: value.strip()} if name else {}
    lines = [f"{key}: {it}" for key, it in given.items() if it]
    read = read_settings(_written(folder, "\n".join(["kind: settings", *lines])))
    assert read.settings.sound_goes is goes
