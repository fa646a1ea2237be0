"""What hearing takes of a small box: one thread, and so much memory; in a process of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

MOST_MB = 250.0
_ALONE = """
import json, os
from pathlib import Path
import companion
import numpy as np
from companion.dialogue.asking import PAUSED
from companion.recognition.listening import StreamEars
from companion.recognition.port import Listening
from companion.recognition.source import MemorySource
from companion.runtime import assembly

language = assembly.language()
own = assembly.make_recogniser(assembly.EarsChoice("own"), language)
own.load(language.for_step(PAUSED))
loud = np.random.default_rng(1).normal(0.0, 3000.0, 160_000).astype("<i2").tobytes()
own.recognise(loud)
StreamEars(MemorySource(loud), own).hear(Listening("alone", own._grammar, 10.0))
# The heads' own arithmetic is small; this is large enough to be shared out where that is done.
np.ones((600, 600)) @ np.ones((600, 600))
status = Path("/proc/self/status").read_text(encoding="utf-8").splitlines()
print(json.dumps({
    "threads": len(os.listdir("/proc/self/task")),
    "peak_mb": next(int(line.split()[1]) for line in status if line.startswith("VmHWM")) / 976.6,
}))
"""


def hearing_alone(**given: str) -> dict[str, float]:
    """A process that hears ten seconds by the companion's own modules and nothing else."""
    kept = {name: value for name, value in os.environ.items() if not name.endswith("_NUM_THREADS")}
    done = subprocess.run(
        [sys.executable, "-c", _ALONE],
        env={**kept, **given},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return dict(json.loads(done.stdout))


@pytest.fixture(scope="module")
def alone() -> dict[str, float]:
    if not Path("/proc/self/task").is_dir():
        pytest.skip("no /proc here that counts threads")
    return hearing_alone()


def test_the_ears_use_one_thread(alone: dict[str, float]) -> None:
    assert alone["threads"] == 1


def test_the_ears_fit_into_the_memory_of_a_small_box(alone: dict[str, float]) -> None:
    assert alone["peak_mb"] < MOST_MB
