"""What earlier versions recorded: two rehearsed jobs each, one done, one broken off by a power cut.

`earlier/` holds the files as those versions left them: the one from before boxes had keys, kinds of
step were plug-ins and facts carried what they say, and the one before this.
"""

from __future__ import annotations

import lzma
import sqlite3
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.record import open_for_reading

EARLIER = Path(__file__).parent / "earlier"
OLDEST, LAST = "without_a_box", "with_a_box"


def companion(*arguments: str | Path, code: int | None = 0) -> Result:
    result = CliRunner().invoke(main, [str(a) for a in arguments], input="")
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert code is None or result.exit_code == code, result.output
    return result


@pytest.fixture
def of(tmp_path: Path) -> dict[str, Path]:
    paths = {name: tmp_path / name / "record.sqlite" for name in (OLDEST, LAST)}
    for name, path in paths.items():
        path.parent.mkdir()
        path.write_bytes(lzma.decompress((EARLIER / f"{name}.sqlite.xz").read_bytes()))
    return paths


@pytest.mark.parametrize("version", [OLDEST, LAST])
def test_they_are_listed_shown_reported_and_verified(
    of: dict[str, Path], version: str, tmp_path: Path
) -> None:
    record = of[version]
    listed = companion("review", "list", "--record", record).output
    assert "inside" in listed
    assert "broken off" in listed
    with open_for_reading(record) as database:
        done, broken_off = (one.session_id for one in database.sessions())
    for session in (done, broken_off):
        shown = companion("review", "show", session, "--record", record).output
        assert "millimetres" in shown
        report = tmp_path / f"{session}.html"
        companion("report", session, "--record", record, "--out", report)
        assert "Example hatchback" in report.read_text(encoding="utf-8")
    assert "Unbroken" in companion("verify", "--record", record).output


@pytest.mark.parametrize("version", [OLDEST, LAST])
def test_a_byte_changed_in_them_is_still_found(of: dict[str, Path], version: str) -> None:
    record = of[version]
    with sqlite3.connect(record) as connection:
        for [name] in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f'DROP TRIGGER "{name}"')
        connection.execute("UPDATE event SET body = replace(body, 'left', 'right')")
    connection.close()
    assert "Unbroken" not in companion("verify", "--record", record, code=None).output


def test_a_job_that_the_oldest_broke_off_is_refused_and_says_what_to_do(
    of: dict[str, Path],
) -> None:
    before = companion("review", "show", "--record", of[OLDEST]).output
    refused = companion("resume", "--record", of[OLDEST], code=None)
    assert refused.exit_code != 0
    assert "These files have changed since the session began: job, vehicle" in refused.output
    assert "wanted: the same files and the same version, or a new job." in refused.output
    # Nothing is lost by trying.
    assert companion("review", "show", "--record", of[OLDEST]).output == before
    assert "Unbroken" in companion("verify", "--record", of[OLDEST]).output


def test_one_that_the_last_version_broke_off_goes_on_or_is_refused_with_words(
    of: dict[str, Path],
) -> None:
    told = companion("resume", "--record", of[LAST], code=None).output
    refused = "This job cannot be continued; wanted: the same files and the same version" in told
    assert refused or "I am back. We were at stance." in told
    assert "Unbroken" in companion("verify", "--record", of[LAST]).output
