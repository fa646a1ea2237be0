"""Which tests execute a line of the package: only those can notice a fault in it.

`coverage` names with each line the test function that was running. What runs while no test function
does (imports, fixtures, another process) counts as executed by every test that was run with it.
"""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from coverage import CoverageData
from coverage.exceptions import DataError

# A header ends where its body begins; what has no body ends where it ends.
_BODIES = ("body", "orelse", "finalbody", "handlers", "cases")

# The first of a fault's rounds of tests, and how the others grow.
_FIRST_ROUND_S = 20.0
_TIMES_AS_LONG = 4.0


@dataclass(frozen=True)
class Ran:
    """Some tests of one file, run without any fault."""

    file: str
    text: str
    tests: tuple[str, ...]
    seconds: float
    # What it told at its end, where it failed or took too long.
    failed: str | None = None
    # Module and line -> those of the tests that execute it.
    lines: Mapping[tuple[str, int], frozenset[str]] = field(default_factory=dict)


def parts_of(tree: Path, file: str, at_a_time: int) -> list[tuple[str, ...]]:
    """The tests of a file of this tree as pytest takes them, some at a time."""
    names = [f"{file}::{name}" for name in _tests_in(tree / file)]
    return [tuple(names[at : at + at_a_time]) for at in range(0, len(names), at_a_time)]


def ran(tree: Path, tests: tuple[str, ...], folders: Collection[str], limit_s: float) -> Ran:
    """Some tests of one file of this tree, and which lines of these folders they execute."""
    began_s = time.monotonic()
    file = tests[0].partition("::")[0]
    text = (tree / file).read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory(prefix="executed-") as folder:
        settings = Path(folder) / "settings"
        included = "\n    ".join(f"{tree}/{one}/*" for one in folders)
        settings.write_text(
            f"[run]\ninclude =\n    {included}\ndata_file = {folder}/found\nparallel = true\n"
            "dynamic_context = test_function\npatch = subprocess\nsigterm = true\n"
            "disable_warnings = no-data-collected,module-not-measured\n",
            encoding="utf-8",
        )
        command = [sys.executable, "-m", "coverage", "run", f"--rcfile={settings}", "-m", "pytest"]
        plugins = ["-p", "no:cacheprovider", "-p", "tests.benchmarks.without_caches"]
        try:
            done = subprocess.run(
                [*command, "-x", "-q", "--no-header", *plugins, *tests],
                cwd=tree,
                env=environment_of(tree),
                capture_output=True,
                text=True,
                errors="replace",
                timeout=limit_s,
                check=False,
            )
        except subprocess.TimeoutExpired:
            late_s = time.monotonic() - began_s
            return Ran(file, text, tests, late_s, f"more than {limit_s:.0f} s")
        took_s = time.monotonic() - began_s
        if done.returncode != 0:
            return Ran(file, text, tests, took_s, (done.stdout + done.stderr)[-300:])
        found = sorted(Path(folder).glob("found.*"))
        return Ran(file, text, tests, took_s, None, _lines(tree, file, tests, found))


def _lines(
    tree: Path, file: str, tests: tuple[str, ...], found: Collection[Path]
) -> dict[tuple[str, int], frozenset[str]]:
    module = file.removesuffix(".py").replace("/", ".")
    lines: dict[tuple[str, int], set[str]] = defaultdict(set)
    for path in found:
        data = CoverageData(str(path))
        try:
            data.read()
        except DataError:
            # Of a process that its test killed; the others tell what is executed.
            continue
        for measured in data.measured_files():
            name = str(Path(measured).relative_to(tree))
            for line, contexts in data.contexts_by_lineno(measured).items():
                for context in contexts:
                    test = f"{file}::{context.removeprefix(f'{module}.').replace('.', '::')}"
                    # A helper that is called like a test, or a test of another file, is none.
                    lines[name, line].update([test] if test in tests else tests)
    return {place: frozenset(told) for place, told in lines.items()}


def _tests_in(path: Path) -> list[str]:
    found = []
    for node in ast.parse(path.read_text(encoding="utf-8")).body:
        match node:
            case ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name):
                found.append(name)
            case ast.ClassDef(name=name, body=body):
                found += [f"{name}::{one.name}" for one in body if isinstance(one, ast.FunctionDef)]
            case _:
                pass
    return [name for name in found if name.rpartition("::")[2].startswith("test")]


def rounds_of(
    module: str, line: int, source: str, runs: Collection[Ran]
) -> list[tuple[list[str], float]]:
    """The tests that execute the statement on this line, and how long they took at the most.

    In rounds, each far longer than the one before: what is noticed is noticed in the first. Quick
    tests come first, and before all others those of files that import the module. Where no test is
    known to execute the line, all are told: some may in a way that was not seen.
    """
    lines = _statement(source, line)
    name = module.removesuffix(".py").replace("/", ".")
    found = {
        one.tests: {test for number in lines for test in one.lines.get((module, number), ())}
        for one in runs
    }
    if not any(found.values()):
        found = {one.tests: set(one.tests) for one in runs}
    ordered = sorted(runs, key=lambda one: (name not in one.text, one.seconds, one.tests))
    rounds: list[tuple[list[str], float]] = []
    tests, seconds, longest_s = list[str](), 0.0, _FIRST_ROUND_S
    for one in ordered:
        if told := [test for test in one.tests if test in found[one.tests]]:
            if tests and seconds + one.seconds > longest_s:
                rounds.append((tests, seconds))
                tests, seconds, longest_s = [], 0.0, _TIMES_AS_LONG * longest_s
            tests = tests + told
            seconds += one.seconds
    return [*rounds, (tests, seconds)] if tests else rounds


def _statement(source: str, line: int) -> range:
    """The lines of the innermost statement there; of one with a body, its header's."""
    found = range(line, line + 1)
    size = sys.maxsize
    for lines in _statements(source):
        if line in lines and len(lines) <= size:
            found, size = lines, len(lines)
    return found


@cache
def _statements(source: str) -> tuple[range, ...]:
    return tuple(_ranges(ast.parse(source)))


def _ranges(tree: ast.Module) -> Iterator[range]:
    for node in ast.walk(tree):
        if isinstance(node, ast.stmt | ast.ExceptHandler | ast.match_case):
            yield _header(node)


def _header(node: ast.stmt | ast.ExceptHandler | ast.match_case) -> range:
    first = node.pattern.lineno if isinstance(node, ast.match_case) else node.lineno
    inner = [one for name in _BODIES for one in getattr(node, name, ()) if hasattr(one, "lineno")]
    inner += [case.pattern for case in getattr(node, "cases", ())]
    if inner:
        return range(first, max(first + 1, min(one.lineno for one in inner)))
    last = node.end_lineno if isinstance(node, ast.stmt) else None
    return range(first, (last or first) + 1)


def environment_of(tree: Path) -> dict[str, str]:
    """What tests of a copied tree run in: its own modules, one thread, nothing compiled kept."""
    # Compiled files are told by their length and second; two faults may agree in both.
    told = {"PYTHONPATH": str(tree), "PYTHONDONTWRITEBYTECODE": "1"}
    return {**os.environ, **told, "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
