"""The display without a browser: letters of blocks, as large as the terminal allows."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
from pathlib import Path

import pytest
from rich.console import Console

from companion.display import letters
from companion.display.moment import Moment, ScrewRound, StandMove
from companion.display.terminal import drawn

from .conftest import play


def shown(moment: Moment, columns: int = 100, rows: int = 40) -> str:
    console = Console(width=columns, height=rows, color_system=None)
    with console.capture() as capture:
        console.print(drawn(moment, columns, rows))
    return capture.get()


def test_every_letter_has_five_rows_of_one_width() -> None:
    for sign in "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789.,?!'-/:°±¼½¾ ":
        rows = letters.large(sign)
        assert len(rows) == letters.ROWS
        assert max(map(len, rows), default=0) <= letters.width(sign)
        assert (sign == " ") == (not any(row.strip() for row in rows))


def test_no_two_signs_look_alike() -> None:
    signs = "ABCDEFGHIJKLMNPQRSTUVWXYZ0123456789O"
    drawn_signs = {sign: tuple(letters.large(sign)) for sign in signs}
    assert len(set(drawn_signs.values())) == len(signs)


def test_a_line_is_broken_where_it_gets_too_wide() -> None:
    lines = letters.wrapped("Move the stand 21 mm to the left.", 80)
    assert len(lines) == 2
    assert all(letters.width(line) <= 80 for line in lines)
    assert " ".join(lines) == "Move the stand 21 mm to the left."


def test_a_read_back_stands_there_in_large_letters(moments: list[Moment]) -> None:
    moment = next(
        m
        for m in moments
        if m.instruction.reply == "yes or no" and m.instruction.text.endswith("mm")
    )
    screen = shown(moment)
    for row in letters.large(moment.instruction.text):
        assert row in screen
    assert "yes or no" in screen
    assert "Not taken before your yes" in screen


def test_moves_and_screws_are_told_in_words(moments: list[Moment]) -> None:
    move = next(m for m in moments if isinstance(m.picture, StandMove))
    assert isinstance(move.picture, StandMove)
    assert move.picture.amount in shown(move)
    screws = next(m for m in moments if isinstance(m.picture, ScrewRound))
    assert "clockwise" in shown(screws)
    assert "▸ left screw" in shown(screws)


@pytest.mark.parametrize(("columns", "rows"), [(80, 24), (40, 20), (200, 60)])
def test_no_line_is_wider_than_the_terminal(columns: int, rows: int, moments: list[Moment]) -> None:
    for moment in moments[::7]:
        for line in shown(moment, columns, rows).splitlines():
            assert len(line) <= columns


def test_the_command_follows_a_record_in_a_real_terminal(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite"
    play(record, seed=1, harder=False)
    ours, theirs = pty.openpty()
    code = "from companion.cli import main; main()"
    command = [sys.executable, "-c", code, "display", "text", "--record", str(record)]
    with subprocess.Popen(
        command,
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "TERM": "xterm-256color", "COLUMNS": "100", "LINES": "40"},
    ) as running:
        os.close(theirs)
        seen = ""
        try:
            while "Finished" not in seen or "height" not in seen:
                assert select.select([ours], [], [], 20)[0], "nothing more comes"
                seen += os.read(ours, 4096).decode("utf-8", "replace")
        finally:
            running.kill()
            os.close(ours)
    assert letters.large("Inside.")[0] in seen
