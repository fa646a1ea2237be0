"""At a real terminal a line sent twice at once is one answer; from a pipe it is two."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from companion.runtime.keyboard import DOUBLED_WITHIN_S
from tests.runtime.running import ROOT

AS_THEY_COME = "lines_as_they_come(language)"
MARKED = "marked_lines(language)"
PROGRAM = """
import time
from companion.language.loader import load_language
from companion.runtime.keyboard import lines_as_they_come, marked_lines
language = load_language()
print("ready", flush=True)
for line in {lines}:
    print("took", line.strip(), flush=True)
    time.sleep(0.7)  # So long the next prompt is spoken.
"""


@pytest.fixture
def ends() -> Iterator[tuple[int, int]]:
    """A terminal: where it is typed into, and the keyboard that a program reads from."""
    terminal, keyboard = pty.openpty()
    yield terminal, keyboard
    os.close(terminal)
    os.close(keyboard)


@contextmanager
def taking(lines: str, stdin: int) -> Iterator[subprocess.Popen[str]]:
    program = subprocess.Popen(
        [sys.executable, "-c", PROGRAM.format(lines=lines)],
        cwd=ROOT,
        stdin=stdin,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        assert program.stdout is not None
        assert program.stdout.readline() == "ready\n"
        yield program
    finally:
        program.kill()
        program.wait()
        assert program.stdout is not None
        program.stdout.close()


def taken(program: subprocess.Popen[str], until: str) -> list[str]:
    """What was taken, and what was told, up to that."""
    assert program.stdout is not None
    found: list[str] = []
    while not found or found[-1] != f"took {until}":
        line = program.stdout.readline()
        assert line, found
        found.append(line.strip().removeprefix("you").strip())
    return found


@pytest.mark.parametrize("lines", [AS_THEY_COME, MARKED])
def test_at_a_terminal_a_line_sent_twice_at_once_is_taken_once(
    lines: str, ends: tuple[int, int]
) -> None:
    terminal, keyboard = ends
    with taking(lines, keyboard) as program:
        os.write(terminal, b"yes\nyes\nyes\n")
        os.write(terminal, b"420\n")
        told = "note   Typed twice at once: yes is taken once."
        assert taken(program, "420") == ["took yes", told, told, "took 420"]
        # What is said again a while later answers what was asked meanwhile.
        os.write(terminal, b"yes\n")
        assert taken(program, "yes") == ["took yes"]
        time.sleep(DOUBLED_WITHIN_S + 0.1)
        os.write(terminal, b"yes\n")
        assert taken(program, "yes") == ["took yes"]


def test_a_doubled_line_that_waited_for_its_turn_is_taken_once(ends: tuple[int, int]) -> None:
    terminal, keyboard = ends
    with taking(MARKED, keyboard) as program:
        os.write(terminal, b"420\n")
        assert taken(program, "420") == ["took 420"]
        # While the next prompt is spoken.
        time.sleep(0.1)
        os.write(terminal, b"yes\nyes\n418\n")
        told = "note   Typed twice at once: yes is taken once."
        assert taken(program, "418") == ["took yes", told, "took 418"]


def test_what_runs_behind_it_finds_its_own_lines(ends: tuple[int, int]) -> None:
    terminal, keyboard = ends
    with taking(MARKED, keyboard) as program:
        os.write(terminal, b"yes\nno\nls\npwd\n")
        assert taken(program, "no") == ["took yes", "took no"]
        time.sleep(0.3)
    # What it read ahead is the next line alone.
    assert os.read(keyboard, 100) == b"pwd\n"


@pytest.mark.parametrize("lines", [AS_THEY_COME, MARKED])
def test_from_a_pipe_every_line_is_taken(lines: str) -> None:
    reading, writing = os.pipe()
    try:
        with taking(lines, reading) as program:
            os.write(writing, b"yes\nyes\n420\n")
            assert taken(program, "420") == ["took yes", "took yes", "took 420"]
    finally:
        os.close(reading)
        os.close(writing)
