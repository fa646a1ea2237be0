"""What every report says of its trials: `python -m tests.benchmarks.validation HOSTILE.json`.

HOSTILE.json is what `./tests/bench.sh hostile --json` printed. The figures are taken from it, and
from nowhere else; a run that holds too little to be told is refused.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from companion import __version__
from companion.report.trusted import VALIDATION, Trials
from tests.benchmarks.hostile_bay import DISTURBANCES

LEAST_DECISIONS = 1_000


def main(arguments: list[str]) -> int:
    """Read the run, write the file; 2 where the run is not one that can be told of."""
    if len(arguments) != 1:
        print("python -m tests.benchmarks.validation HOSTILE.json", file=sys.stderr)
        return 2
    lines = Path(arguments[0]).read_text(encoding="utf-8").strip().splitlines()
    told = json.loads(lines[-1])
    try:
        found = trials_of(told, __version__, datetime.now(UTC).date().isoformat())
    except ValueError as error:
        print(error, file=sys.stderr)
        return 2
    VALIDATION.write_text(json.dumps(asdict(found), indent=2) + "\n", encoding="utf-8")
    return 0


def trials_of(told: dict[str, Any], version: str, day: str) -> Trials:
    """The figures of a whole run. Raises ValueError where rows or decisions are missing."""
    rows = [row for row in told.get("rows", ()) if row["size"] == "stated"]
    missing = {*DISTURBANCES, "all"} - {row["disturbance"] for row in rows}
    fewest = min((row["decisions"] for row in rows), default=0)
    if missing or fewest < LEAST_DECISIONS:
        raise ValueError(
            f"found {len(rows)} rows of at least {fewest} decisions, without "
            f"{', '.join(sorted(missing)) or 'nothing'}; wanted: every disturbance at its stated "
            f"size, {LEAST_DECISIONS} decisions each or more"
        )
    worst = max(rows, key=lambda row: row["false_inside"])
    covered = [row["coverage95"] for row in rows]
    return Trials(
        job="front_radar",
        version=version,
        day=day,
        benchmark="hostile",
        command="./tests/bench.sh hostile --json",
        decisions=fewest,
        false_inside_worst_percent=100.0 * worst["false_inside"],
        false_inside_worst_at=worst["disturbance"],
        false_inside_bound_percent=100.0 * max(row["false_inside_upper95"] for row in rows),
        coverage_least_percent=100.0 * min(covered),
        coverage_most_percent=100.0 * max(covered),
        jobs=sum(row["jobs"] for row in rows),
        jobs_false_inside=sum(row["jobs_false_inside"] for row in rows),
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
