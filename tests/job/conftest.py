"""The shipped files, and copies of them in which one thing is spoiled."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from companion.errors import FileProblem
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.job.plan import Plan
from companion.runtime import assembly


@pytest.fixture(scope="session")
def loaded() -> LoadedJob:
    return assembly.load(JobPaths())


@pytest.fixture(scope="session")
def plan(loaded: LoadedJob) -> Plan:
    return loaded.plan


@pytest.fixture
def load_with(tmp_path: Path) -> Callable[[str, str | bytes], LoadedJob]:
    """The shipped job with one of its four files in other words."""

    def make(which: str, text: str | bytes) -> LoadedJob:
        path = tmp_path / f"{which}.yaml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return assembly.load(replace(JobPaths(), **{which: path}))

    return make


@pytest.fixture
def refused(load_with: Callable[[str, str | bytes], LoadedJob]) -> Callable[..., str]:
    """What is said of a file that is not as it should be; always with its name."""

    def make(which: str, text: str | bytes) -> str:
        with pytest.raises(FileProblem) as problem:
            load_with(which, text)
        message = str(problem.value)
        assert f"{which}.yaml" in message.splitlines()[0]
        assert "wanted" in message
        return message

    return make


@pytest.fixture
def spoil(refused: Callable[..., str]) -> Callable[..., str]:
    """The message about a shipped file with one place changed, and the line of that place."""

    def make(which: str, old: str, new: str) -> str:
        name = "front_radar.yaml" if which == "job" else f"{which}.yaml"
        text = (EXAMPLES / name).read_text(encoding="utf-8")
        assert text.count(old) >= 1, f"{old!r} does not stand in {name}"
        message = refused(which, text.replace(old, new, 1))
        line = text[: text.index(old)].count("\n") + 1
        return message.replace(f"line {line},", "line HERE,").replace(
            f"line {line + 1},", "line HERE+1,"
        )

    return make


@pytest.fixture
def small_job(refused: Callable[..., str], load_with: Callable[..., LoadedJob]):
    """A job of a few steps: `refused` says why it is not taken, `load` takes it."""
    head = (
        "kind: job\nid: small\nname: A small job\nexample: true\n"
        "cautions: [{say: Brakes on., write: Brakes on.}]\n"
    )

    class Small:
        def text(self, *steps: str, also: str = "", end: bool = True) -> str:
            finish = "{step: finish, id: finish, ranges_m: [100], say_signed: Sign off.}"
            lines = [f"      - {step}" for step in (*steps, *([finish] if end else []))]
            stage = "stages:\n  - id: first\n    title: First\n    steps:\n"
            return head + also + stage + "\n".join(lines) + "\n"

        def refused(self, *steps: str, **how: object) -> str:
            return refused("job", self.text(*steps, **how))

        def load(self, *steps: str, **how: object) -> Plan:
            return load_with("job", self.text(*steps, **how)).plan

    return Small()
