"""What every report says of its trials: `python -m tests.benchmarks.validation HOSTILE.json ...`.

HOSTILE.json is what `./tests/bench.sh hostile --json` printed: of all rows, or several files of
some rows each (`--rows`) or of several seeds, which are put together. The figures are taken from
them, and from nowhere else; runs that hold too little to be told are refused, and so is a row that
two of them drew from the same seed.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from companion import __version__
from companion.report.trusted import VALIDATION, Trials
from tests.benchmarks.common import rate_at_most
from tests.benchmarks.hostile_bay import DISTURBANCES

LEAST_DECISIONS = 1_000


def main(arguments: list[str]) -> int:
    """Read the runs, write the file; 2 where they are not ones that can be told of."""
    if not arguments:
        print("python -m tests.benchmarks.validation HOSTILE.json ...", file=sys.stderr)
        return 2
    runs = [
        json.loads(Path(path).read_text(encoding="utf-8").strip().splitlines()[-1])
        for path in arguments
    ]
    try:
        found = trials_of(pooled(runs), __version__, datetime.now(UTC).date().isoformat())
    except ValueError as error:
        print(error, file=sys.stderr)
        return 2
    VALIDATION.write_text(json.dumps(asdict(found), indent=2) + "\n", encoding="utf-8")
    return 0


def pooled(runs: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """One run of several: rows of one disturbance and size become one row.

    Raises ValueError where a row was drawn twice from one seed: its second half would be no news.
    """
    rows: dict[tuple[str, str], list[dict[str, Any]]] = {}
    drawn: set[tuple[str, str, int]] = set()
    for run in runs:
        for row in run.get("rows", ()):
            name = row["disturbance"], row["size"]
            if (*name, run["seed"]) in drawn:
                raise ValueError(f"found {' '.join(name)} twice with seed {run['seed']}")
            drawn.add((*name, run["seed"]))
            rows.setdefault(name, []).append(row)
    return {"rows": [together(items) for items in rows.values()]}


def together(rows: Sequence[dict[str, Any]]) -> dict[str, Any]:
    """One row of several of the same disturbance and size: counts add, rates are weighed."""
    decisions = sum(row["decisions"] for row in rows)
    kept = {key: rows[0][key] for key in ("disturbance", "size")} | {
        key: sum(row[key] for row in rows) for key in ("decisions", "jobs", "jobs_false_inside")
    }
    if not decisions:
        return kept
    false = sum(round(row["decisions"] * row["false_inside"]) for row in rows if row["decisions"])
    return kept | {
        "false_inside": false / decisions,
        "false_inside_upper95": rate_at_most(false, decisions),
        **{
            key: sum(row["decisions"] * row[key] for row in rows if row["decisions"]) / decisions
            for key in ("coverage95", "refused_or_noticed")
        },
    }


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
        false_inside_bound_percent=round(
            100.0 * max(row["false_inside_upper95"] for row in rows), 4
        ),
        coverage_least_percent=100.0 * min(covered),
        coverage_most_percent=100.0 * max(covered),
        jobs=sum(row["jobs"] for row in rows),
        jobs_false_inside=sum(row["jobs_false_inside"] for row in rows),
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
