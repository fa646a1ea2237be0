"""Which sensors a visit is to set: named as their jobs are, or by a job file of one's own."""

from __future__ import annotations

import re
from collections.abc import Iterable

from companion.base.yaml_text import word_at
from companion.errors import FileProblem
from companion.facts.visit_end import Sensor
from companion.job.loader import VISIT_END, read_text
from companion.job.own_files import SHIPPED_JOBS, NoSuchFile, find_job, shipped_job
from companion.job.translation import path_in

SHIPPED = tuple(path.stem for path in map(shipped_job, SHIPPED_JOBS) if path != VISIT_END)
"""The shipped jobs that set a sensor."""
_ID = re.compile(r"[a-z][a-z0-9_]{0,59}")


def sensors_of(told: str, language: str) -> tuple[Sensor, ...]:
    """The sensors of a list with commas; raises FileProblem for one that no job sets."""
    return tuple(_sensor(name.strip(), language) for name in told.split(",") if name.strip())


def names_of(sensors: Iterable[Sensor]) -> tuple[str, ...]:
    """How they are called."""
    return tuple(sensor.name for sensor in sensors)


def _sensor(told: str, language: str) -> Sensor:
    try:
        path = find_job(told)
    except NoSuchFile as error:
        raise _no_such(told) from error
    if path == VISIT_END or path.suffix not in (".yaml", ".yml"):
        raise _no_such(told)
    text = read_text(path)
    job, name = word_at(text, str(path), "id"), word_at(text, str(path), "name")
    if word_at(text, str(path), "kind") != "job" or not job or not name or not _ID.fullmatch(job):
        raise FileProblem(
            f"{path}: found no job file; wanted: kind, id and name of a job",
            said="no-job-file",
            file=str(path),
        )
    beside = path_in(path, language)
    if beside.is_file():
        name = word_at(read_text(beside), str(beside), "name") or name
    return Sensor(job, name)


def _no_such(told: str) -> FileProblem:
    return FileProblem(
        f"sensor {told!r}: no job sets it; wanted: {', '.join(SHIPPED)}, or a job file such as "
        "my_job.yaml",
        said="no-such-sensor",
        sensor=told,
        there=", ".join(SHIPPED),
    )
