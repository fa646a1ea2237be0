"""Which small faults, planted one at a time, the tests of their own room do not notice.

A copy of the tree is made, so that the faults never stand in the tree itself. Rooms take turns, and
the places of a room come in a random order that follows from the seed: a run that was bounded is a
fair sample. First all tests are run without any fault, to see which of them execute which line
(`executed`): only those are run with a fault on that line. Tests that fail without any fault are
left out, and named. A fault that makes the tests run far longer than they do counts as noticed.
What is not planted, and why, stands in `mutations`.
"""

from __future__ import annotations

import argparse
import contextlib
import math
import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path
from queue import SimpleQueue
from shutil import copyfile
from typing import IO, Literal

from tests.benchmarks.common import Results, cores
from tests.benchmarks.executed import Ran, environment_of, parts_of, ran, rounds_of
from tests.benchmarks.mutations import Mutation, places_in

NAME = "mutants"
WHAT = "faults planted in the code one at a time: how many the tests of the room notice"

ROOT = Path(__file__).resolve().parent.parent.parent
PACKAGE = "companion"


@dataclass(frozen=True)
class Room:
    """Folders of the package, and the tests that have to notice what goes wrong in them."""

    folders: tuple[str, ...]
    tests: tuple[str, ...]


def _outside(*names: str) -> tuple[str, ...]:
    return tuple(f"tests/outside/test_{name}.py" for name in names)


def _outside_of(*folders: str) -> tuple[str, ...]:
    """Every outside check that imports one of these folders itself."""
    imports = tuple(f"from {PACKAGE}.{folder}." for folder in folders)
    return tuple(
        str(test.relative_to(ROOT))
        for test in sorted((ROOT / "tests" / "outside").glob("test_*.py"))
        if any(line.startswith(imports) for line in test.read_text("utf-8").splitlines())
    )


# The one place that says whose tests are whose.
ROOMS = {
    "dialogue": Room(("dialogue",), ("tests/dialogue", "tests/runtime/test_loop.py")),
    # What a job file may say of a step, the room `job` tests: its models stand with the kinds.
    "steps": Room(
        ("steps",), ("tests/job", "tests/steps", "tests/dialogue", "tests/runtime/test_loop.py")
    ),
    "job": Room(("job",), ("tests/job",)),
    "calibration": Room(
        ("calibration", "uncertainty"),
        (
            "tests/calibration",
            *_outside_of("calibration", "uncertainty"),
        ),
    ),
    "record": Room(
        ("record",),
        (
            "tests/record",
            "tests/insiders",
            *_outside("record_vectors", "merkle_vectors", "signatures"),
        ),
    ),
    "language": Room(("language",), ("tests/language", *_outside("speech_numbers"))),
    "facts": Room(("facts",), ("tests/facts",)),
    "pictures": Room(
        ("display/pictures", "report/pictures"),
        ("tests/display/test_pictures.py", "tests/review/test_pictures.py"),
    ),
}
USUAL = ("dialogue", "steps", "calibration", "record")

Outcome = Literal["killed", "timeout", "survived"]
# Tests that notice nothing take as long as they always do; on a busy machine, longer.
_TIMES_AS_LONG = 3.0
_SECONDS_MORE = 30.0
# Run without a fault so many of a file's tests go together, for so long at the most.
_TESTS_AT_A_TIME = 6
_LIMIT_WITHOUT_FAULT_S = 600.0


@dataclass
class Tally:
    """What came of one room's faults."""

    places: int = 0
    shown: dict[Mutation, list[str]] = field(default_factory=dict)
    outcomes: list[Outcome] = field(default_factory=list)
    survivors: list[Results] = field(default_factory=list)

    def told(self) -> Results:
        """As the last line has it."""
        tried, survived = len(self.outcomes), self.outcomes.count("survived")
        return {
            "places": self.places,
            "tried": tried,
            "killed": self.outcomes.count("killed"),
            "timeouts": self.outcomes.count("timeout"),
            "survived": survived,
            "noticed_percent": round(100.0 * (1 - survived / tried), 1) if tried else None,
        }


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument(
        "--rooms", default=",".join(USUAL), help=f"of {', '.join(ROOMS)}, with commas"
    )
    parser.add_argument("--mutants", type=int, default=150, help="faults at the most, in each room")
    parser.add_argument(
        "--minutes",
        type=float,
        default=60.0,
        help="begin none after so long; 0: no end but --mutants",
    )
    parser.add_argument(
        "--workers", type=int, default=1, help="faults tried at the same time; 0: one for each core"
    )
    parser.add_argument("--module", default="", help="only modules whose path holds this")


def run(options: argparse.Namespace) -> Results:
    """Plant, test and count until the time is over or enough were planted."""
    chosen = options.rooms.split(",")
    if unknown := sorted(set(chosen) - set(ROOMS)):
        return {"benchmark": NAME, "errors": [f"no such room: {', '.join(unknown)}"]}
    tallies = {name: Tally() for name in chosen}
    workers = options.workers or cores()
    began_s = time.monotonic()
    with contextlib.ExitStack() as stack:
        trees: SimpleQueue[Path] = SimpleQueue()
        for _ in range(workers):
            trees.put(stack.enter_context(copied_tree()))
        # Read now: somebody may work on the tree while the faults are tried in a copy of it.
        queues = {name: _queue(name, options, tallies[name]) for name in chosen}
        pool = stack.enter_context(ThreadPoolExecutor(workers))
        runs = _ran_without_fault([ROOMS[name] for name in chosen], trees, pool)
        rooms = {
            name: [one for one in runs if one.file in _files(ROOMS[name]) and not one.failed]
            for name in chosen
        }

        def tried(room: str, mutation: Mutation) -> tuple[str, Mutation, Outcome]:
            with _one_of(trees) as tree:
                return room, mutation, outcome_of(tree, rooms[room], mutation)

        running: set[Future[tuple[str, Mutation, Outcome]]] = set()
        until_s = began_s + 60.0 * (options.minutes or math.inf)
        for room, mutation in _in_turns(queues):
            if time.monotonic() > until_s:
                break
            running.add(pool.submit(tried, room, mutation))
            if len(running) == workers:
                done, running = wait(running, return_when=FIRST_COMPLETED)
                _count(done, tallies)
        _count(wait(running).done, tallies)
        took_s = time.monotonic() - began_s
    return {
        "benchmark": NAME,
        "minutes": round(took_s / 60.0, 1),
        "rooms": {name: tally.told() for name, tally in tallies.items()},
        "survivors": [one for tally in tallies.values() for one in tally.survivors],
        "left_out": {", ".join(one.tests): one.failed for one in runs if one.failed},
    }


def _files(room: Room) -> list[str]:
    return sorted(
        str(file.relative_to(ROOT))
        for test in room.tests
        for file in ([ROOT / test] if test.endswith(".py") else (ROOT / test).rglob("test_*.py"))
    )


def _ran_without_fault(
    rooms: Sequence[Room], trees: SimpleQueue[Path], pool: ThreadPoolExecutor
) -> list[Ran]:
    folders = [f"{PACKAGE}/{folder}" for room in rooms for folder in room.folders]

    def ran_in_one(tests: tuple[str, ...]) -> Ran:
        with _one_of(trees) as tree:
            one = ran(tree, tests, folders, _LIMIT_WITHOUT_FAULT_S)
        if one.failed:
            print(f"left out  {', '.join(one.tests)}: {one.failed!r}", flush=True)
        return one

    files = sorted({file for room in rooms for file in _files(room)})
    parts = [part for file in files for part in parts_of(ROOT, file, _TESTS_AT_A_TIME)]
    return list(pool.map(ran_in_one, parts))


@contextlib.contextmanager
def _one_of(trees: SimpleQueue[Path]) -> Iterator[Path]:
    tree = trees.get()
    try:
        yield tree
    finally:
        trees.put(tree)


def _queue(name: str, options: argparse.Namespace, tally: Tally) -> list[Mutation]:
    modules = [
        path
        for folder in ROOMS[name].folders
        for path in (ROOT / PACKAGE / folder).rglob("*.py")
        if options.module in str(path.relative_to(ROOT))
    ]
    places = places_in(modules, ROOT)
    tally.places = len(places.faults)
    tried = list(islice(places.sampled(f"{options.seed}/{name}"), options.mutants))
    for mutation in tried:
        source = (ROOT / mutation.module).read_text(encoding="utf-8")
        tally.shown[mutation] = mutation.shown(source)
    return tried


def _in_turns(queues: dict[str, list[Mutation]]) -> Iterator[tuple[str, Mutation]]:
    for place in range(max(map(len, queues.values()), default=0)):
        for room, mutations in queues.items():
            if place < len(mutations):
                yield room, mutations[place]


def _count(done: set[Future[tuple[str, Mutation, Outcome]]], tallies: dict[str, Tally]) -> None:
    for future in done:
        room, mutation, outcome = future.result()
        tally = tallies[room]
        tally.outcomes.append(outcome)
        print(f"{outcome:9s} {mutation.module}:{mutation.line} {mutation.operator}", flush=True)
        if outcome == "survived":
            shown = tally.shown[mutation]
            print("\n".join(f"          {line}" for line in shown), flush=True)
            tally.survivors.append(
                {
                    "where": f"{mutation.module}:{mutation.line}",
                    "operator": mutation.operator,
                    "diff": shown,
                }
            )


@contextlib.contextmanager
def copied_tree() -> Iterator[Path]:
    """The tree as git knows it, with what is changed or new, somewhere else."""
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    ).stdout.decode()
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        copy = Path(folder) / "tree"
        for name in filter(None, listed.split("\0")):
            if (ROOT / name).is_file():
                (copy / name).parent.mkdir(parents=True, exist_ok=True)
                copyfile(ROOT / name, copy / name)
        # Tests that need them find the environment and the shared files where they always are.
        (copy / ".venv").symlink_to((ROOT / ".venv").resolve())
        if (ROOT.parent / "shared").is_dir():
            (copy.parent / "shared").symlink_to((ROOT.parent / "shared").resolve())
        yield copy


def outcome_of(tree: Path, runs: Sequence[Ran], mutation: Mutation) -> Outcome:
    """What the tests that execute it say with this fault in the tree, which is then as before."""
    path = tree / mutation.module
    source = path.read_text(encoding="utf-8")
    path.write_text(mutation.planted_in(source), encoding="utf-8")
    try:
        for tests, took_s in rounds_of(mutation.module, mutation.line, source, runs):
            code = _tested(tree, tests, _TIMES_AS_LONG * took_s + _SECONDS_MORE)
            if code != 0:
                return "timeout" if code is None else "killed"
    finally:
        path.write_text(source, encoding="utf-8")
    return "survived"


def _tested(tree: Path, tests: Sequence[str], limit_s: float) -> int | None:
    """Exit code of pytest, which stops at the first failure; None when it took too long."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "-p", "no:cacheprovider"]
    with (
        tempfile.NamedTemporaryFile("w", encoding="utf-8", prefix="tests-") as listed,
        subprocess.Popen(
            [*command, f"@{_written(listed, tests)}"],
            cwd=tree,
            env=environment_of(tree),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        ) as testing,
    ):
        try:
            return testing.wait(limit_s)
        except subprocess.TimeoutExpired:
            return None
        finally:
            # What a test started and a fault kept from ending goes with it.
            with contextlib.suppress(ProcessLookupError):
                os.killpg(testing.pid, signal.SIGKILL)


def _written(listed: IO[str], tests: Sequence[str]) -> str:
    # So many tests are more than a command line holds.
    listed.write("\n".join(tests))
    listed.flush()
    return listed.name
