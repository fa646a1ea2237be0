"""Which tests execute a line, found in a small tree of its own by the benchmark `mutants`."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.benchmarks import without_caches
from tests.benchmarks.executed import Ran, parts_of, ran, rounds_of

MODULE = "companion/thing.py"
SETTINGS = '[tool.pytest.ini_options]\naddopts = "--import-mode=importlib"\n'
SOURCE = """\
from functools import cache

LIMIT = 3

@cache
def kept() -> int:
    return LIMIT

def doubled(value: int) -> int:
    if value > LIMIT:
        return 2 * value
    return value

def unused() -> int:
    return 7
"""
TESTS = """\
import subprocess
import sys

from companion.thing import doubled, kept

def test_small():
    assert doubled(1) == 1

def test_large():
    assert doubled(5) == 10

def test_kept():
    assert kept() == 3

def test_kept_again():
    assert kept() == 3

def test_in_another_process():
    code = "from companion.thing import unused; unused()"
    subprocess.run([sys.executable, "-c", code], check=True)

class TestInAClass:
    def test_large(self):
        assert doubled(6) == 12

def no_test():
    pass
"""


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    tree = tmp_path_factory.mktemp("tree")
    files = {MODULE: SOURCE, "tests/test_thing.py": TESTS, "pyproject.toml": SETTINGS}
    for name, text in {**files, "companion/__init__.py": ""}.items():
        (tree / name).parent.mkdir(exist_ok=True)
        (tree / name).write_text(text)
    (tree / "tests/benchmarks").mkdir()
    shutil.copy(without_caches.__file__ or "", tree / "tests/benchmarks")
    [part] = parts_of(tree, "tests/test_thing.py", 9)
    return ran(tree, part, ["companion"], 120.0)


def met_on(found: Ran, line: int) -> set[str]:
    rounds = rounds_of(MODULE, line, SOURCE, [found])
    return {test.removeprefix("tests/test_thing.py::") for tests, _ in rounds for test in tests}


def line_of(text: str) -> int:
    return next(number for number, line in enumerate(SOURCE.splitlines(), 1) if text in line)


EVERY = {
    "test_small",
    "test_large",
    "test_kept",
    "test_kept_again",
    "test_in_another_process",
    "TestInAClass::test_large",
}


def test_a_line_is_met_by_the_tests_that_execute_it(found: Ran) -> None:
    assert found.failed is None
    large = {"test_large", "TestInAClass::test_large"}
    assert met_on(found, line_of("return 2 * value")) == large
    assert met_on(found, line_of("if value > LIMIT")) == {"test_small", *large}
    assert met_on(found, line_of("    return value")) == {"test_small"}


def test_what_is_kept_from_one_test_to_the_next_is_met_by_both(found: Ran) -> None:
    assert met_on(found, line_of("return LIMIT")) == {"test_kept", "test_kept_again"}


def test_what_runs_at_import_or_in_another_process_is_met_by_all(found: Ran) -> None:
    assert met_on(found, line_of("LIMIT = 3")) == EVERY
    assert met_on(found, line_of("return 7")) == EVERY


def test_tests_that_fail_without_a_fault_are_told(tmp_path: Path) -> None:
    (tmp_path / "tests/benchmarks").mkdir(parents=True)
    shutil.copy(without_caches.__file__ or "", tmp_path / "tests/benchmarks")
    (tmp_path / "tests/test_wrong.py").write_text("def test_it():\n    assert 1 == 2\n")
    [part] = parts_of(tmp_path, "tests/test_wrong.py", 9)
    failed = ran(tmp_path, part, ["companion"], 120.0).failed
    assert failed is not None
    assert "assert 1 == 2" in failed


def test_rounds_grow_and_files_that_import_the_module_come_first(tmp_path: Path) -> None:
    def one(name: str, text: str, seconds: float) -> Ran:
        path = tmp_path / name
        path.write_text(text)
        lines = {(MODULE, 11): frozenset({f"{path}::test"})}
        return Ran(str(path), text, (f"{path}::test",), seconds, None, lines)

    far = one("test_a.py", "", 2.0)
    near = one("test_b.py", "from companion.thing import doubled", 15.0)
    slow = one("test_c.py", "from companion.thing import doubled", 30.0)
    rounds = rounds_of(MODULE, 11, SOURCE, [far, near, slow])
    assert rounds == [([*near.tests], 15.0), ([*slow.tests, *far.tests], 32.0)]
