"""Commands take their defaults from the settings; what the command line says goes before."""

from __future__ import annotations

import json
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.commands.settings import settings_now, take_defaults_from_settings


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> CliRunner:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return CliRunner()


def test_a_file_is_written_once_and_never_over(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "config" / "bay-companion" / "settings.yaml"
    assert run.invoke(main, ["settings", "--init"]).exit_code == 0
    written = file.read_bytes()
    again = run.invoke(main, ["settings", "--init"])
    assert again.exit_code == 3
    assert "not overwritten" in again.output
    assert file.read_bytes() == written


def test_the_explanation_comes_from_the_file(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nears: own\n")
    shown = run.invoke(main, ["settings", "--explain", "--settings", str(file)])
    assert f'ears = "own"   ({file} line 2)' in shown.output
    data = run.invoke(main, ["settings", "--explain", "--json", "--settings", str(file)])
    assert {"own"} == {row["value"] for row in json.loads(data.output) if row["name"] == "ears"}


def test_a_wrong_file_stops_the_command_and_says_where(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nears: best\n")
    told = run.invoke(main, ["start", "--settings", str(file)])
    assert told.exit_code == 3
    assert f"{file} line 2, ears: found 'best'" in told.output


def test_help_is_there_even_with_a_wrong_file(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "config" / "bay-companion" / "settings.yaml"
    file.parent.mkdir(parents=True)
    file.write_text("nonsense")
    assert run.invoke(main, ["start", "--help"]).exit_code == 0


def test_files_of_the_settings_are_those_of_the_job(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nbay_file: no_such_bay.yaml\n")
    told = run.invoke(main, ["files", "--settings", str(file)])
    assert told.exit_code == 3
    assert f"{tmp_path / 'no_such_bay.yaml'}: No such file" in told.output


def test_the_record_of_the_settings_is_read_by_the_report(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nrecord: elsewhere.sqlite\n")
    told = run.invoke(main, ["sessions", "--settings", str(file)])
    assert str(tmp_path / "elsewhere.sqlite") in told.output


def _probe(arguments: list[str], run: CliRunner) -> tuple[str, int, float]:
    """What a command with two options sees as its settings."""
    seen: list[tuple[str, int, float]] = []

    @click.command()
    @click.option("--ears", type=click.Choice(["typed", "own", "sphinx"]), default="typed")
    @click.option("--port", type=int, default=8170)
    def probe(ears: str, port: int) -> None:
        now = settings_now()
        assert (now.ears, now.display_port) == (ears, port)
        seen.append((now.ears, now.display_port, now.deaf_after_speaking_s))

    take_defaults_from_settings(probe)
    done = run.invoke(probe, arguments, catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return seen[0]


def test_the_command_line_goes_before_the_file_and_the_file_before_the_default(
    run: CliRunner, tmp_path: Path
) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nears: own\ndeaf_after_speaking_s: 0.8\n")
    assert _probe([], run) == ("typed", 8170, 0.2)
    assert _probe(["--settings", str(file)], run) == ("own", 8170, 0.8)
    assert _probe(["--ears", "sphinx", "--settings", str(file)], run) == ("sphinx", 8170, 0.8)


def test_a_rehearsal_keeps_its_own_record_and_ears(run: CliRunner, tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text("kind: settings\nrecord: jobs.sqlite\nears: typed\n")
    done = run.invoke(main, ["rehearse", "--settings", str(file)])
    assert done.exit_code == 0, done.output
    assert not (tmp_path / "jobs.sqlite").exists()
