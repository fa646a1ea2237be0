"""The faults that the benchmark `mutants` plants: real ones, the same for the same seed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.benchmarks.mutants import PACKAGE, ROOMS, ROOT
from tests.benchmarks.mutations import DeleteStatement, Mutation, operators, places_in

SOURCE = """\
from dataclasses import dataclass
Told = int | str

@dataclass(frozen=True)
class Kept:
    held: int | None

def put(path: str | None, count: int = 3) -> bytes | None:
    sync(path)
    if count > 2 and path:
        raise ValueError(path)
    return b"" * count
"""


FOR_DEVELOPERS = """\
if TYPE_CHECKING:
    register(1)
class Held:
    shown: int = field(repr=False, compare=False)
    model_config = ConfigDict(frozen=True)
    def read(self, *, at):
        raise NotImplementedError
def told(which, *, pairs):
    _log.warning("odd")
    assert_never(which)
    assert which > 1
    return which - zip(pairs, pairs, strict=True)
"""


def sampled(module: Path, seed: int) -> list[Mutation]:
    return list(places_in([module], module.parent).sampled(str(seed)))


@pytest.fixture
def module(tmp_path: Path) -> Path:
    path = tmp_path / "kept.py"
    path.write_text(SOURCE)
    return path


def test_every_place_gets_one_fault_that_can_be_compiled(module: Path) -> None:
    for seed in range(20):
        found = sampled(module, seed)
        assert len({mutation.line for mutation in found}) == 5
        for mutation in found:
            mutated = mutation.planted_in(SOURCE)
            assert mutated != SOURCE
            compile(mutated, "kept.py", "exec")
            assert mutation.shown(SOURCE)[0].startswith("-")


def test_annotations_type_aliases_and_options_of_dataclasses_are_left_alone(module: Path) -> None:
    for seed in range(20):
        lines = {mutation.line for mutation in sampled(module, seed)}
        assert lines == {8, 9, 10, 11, 12}


def test_what_only_developers_and_their_tools_see_is_left_alone(module: Path) -> None:
    module.write_text(FOR_DEVELOPERS)
    for seed in range(20):
        [only] = sampled(module, seed)
        assert only.shown(FOR_DEVELOPERS)[1].startswith("+    return which + zip(")


def test_the_same_seed_gives_the_same_faults_and_another_one_others(module: Path) -> None:
    runs = [sampled(module, seed) for seed in (1, 1, 2)]
    assert runs[0] == runs[1]
    assert runs[0] != runs[2]


def test_a_statement_is_deleted_with_its_place_kept() -> None:
    assert "DeleteStatement" in operators()
    for example in DeleteStatement.examples():
        planted = Mutation("f.py", "DeleteStatement", 0, 2).planted_in(example.pre_mutation_code)
        assert planted == example.post_mutation_code


def test_a_place_that_is_not_there_is_told() -> None:
    with pytest.raises(ValueError, match="no place 7"):
        Mutation("f.py", "DeleteStatement", 7, 1).planted_in("f(1)\n")


@pytest.mark.parametrize("name", ROOMS)
def test_the_folders_and_the_tests_of_every_room_are_there(name: str) -> None:
    for folder in ROOMS[name].folders:
        assert list((ROOT / PACKAGE / folder).rglob("*.py")), folder
    for test in ROOMS[name].tests:
        assert (ROOT / test).exists(), test


def test_every_outside_check_of_the_arithmetic_counts_as_a_test_of_it() -> None:
    tests = ROOMS["calibration"].tests
    assert {"tests/outside/test_conformity.py", "tests/outside/test_mats.py"} <= set(tests)
    assert "tests/outside/test_merkle_vectors.py" not in tests
