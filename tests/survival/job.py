"""A process that does one rehearsed job into a record, and tells each fact that it has kept.

`python -m tests.survival.job RECORD SEED [PAUSE_S]`: one JSON line for each accepted reading, after
it was kept; the last line says how it ended. Its caller cuts its power or its disk: with
libfiu preloaded, FAIL_WRITES="POINT CHANCE" makes that system call fail at random from the moment
that the record is open.
"""

from __future__ import annotations

import ctypes
import json
import os
import sys
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from companion.errors import CompanionError
from companion.facts.answers import Accepted
from companion.facts.kinds import Fact, body_of
from companion.facts.talking import Heard
from companion.job.loader import JobPaths
from companion.record import SqliteLog, open_record
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice


class Teller:
    """Tells what was accepted, and takes the breath that a person would."""

    def __init__(self, pause_s: float) -> None:
        self._pause_s = pause_s

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Accepted):
            tell("accepted", body_of(fact))
        if isinstance(fact, Heard):
            time.sleep(self._pause_s)


def tell(kind: str, body: Mapping[str, Any]) -> None:
    """One line, out at once."""
    sys.stdout.write(json.dumps([kind, body]) + "\n")
    sys.stdout.flush()


def fail_writes() -> None:
    """Switch on the fault that the environment asks for, if it asks for one."""
    wanted = os.environ.get("FAIL_WRITES")
    if wanted is not None:
        point, chance = wanted.split()
        fiu = ctypes.CDLL("libfiu.so.0")
        fiu.fiu_enable_random(point.encode(), 1, None, 0, ctypes.c_float(float(chance)))


def main(record: Path, seed: int, pause_s: float) -> int:
    """The job; how it ended goes to the last line."""
    loaded = assembly.load(JobPaths())
    try:
        with open_record(record) as database:
            log = SqliteLog(database, database.create_session())
            tell("opened", {"session": log.session_id})
            fail_writes()
            rehearsal = make_rehearsal(loaded, seed)
            watcher = Teller(pause_s)
            run_rehearsal(
                loaded, assembly.language(), rehearsal, SilentVoice(), log, watcher=watcher
            )
    except CompanionError as error:
        tell("refused", {"message": str(error), "code": error.exit_code})
        return error.exit_code
    tell("finished", {})
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]), float((sys.argv[3:] or ["0"])[0])))
