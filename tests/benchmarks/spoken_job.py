"""The job that is spoken: the shipped one, or its readings alone, one after the other."""

from __future__ import annotations

import tempfile
from functools import lru_cache
from pathlib import Path
from typing import Any

import yaml

from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.runtime import assembly
from tests.benchmarks.rehearse import loaded_job

_OF_OTHER_STEPS = ("allowed", "when")


@lru_cache(maxsize=2)
def spoken_job(*, readings_alone: bool) -> LoadedJob:
    """The job, read once a process.

    With the readings alone nothing is computed and nothing corrected: most of what is heard are
    readings, their read-backs and "yes", which a whole job has a fifth of.
    """
    if not readings_alone:
        return loaded_job()
    shipped = yaml.safe_load((EXAMPLES / "front_radar.yaml").read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.yaml"
        path.write_text(yaml.safe_dump(_readings_of(shipped), sort_keys=False), encoding="utf-8")
        return assembly.load(JobPaths(job=path))


def _readings_of(job: dict[str, Any]) -> dict[str, Any]:
    """The job with its readings, its question about the sound and its end; no step else."""
    steps = [step for stage in job["stages"] for step in stage["steps"]]
    consent = next(step for step in steps if "sound_is_kept_when" in step)
    finish = next(step for step in steps if step["step"] == "finish")
    readings = [
        {name: value for name, value in step.items() if name not in _OF_OTHER_STEPS}
        for step in steps
        if step["step"] == "reading" and not step.get("each_screw")
    ]
    ids = {step["id"] for step in readings}
    for step in readings:
        if step.get("short_after") not in ids:
            step.pop("short_after", None)
    stage = {"id": "readings", "title": "Readings", "steps": [consent, *readings, finish]}
    kept = {name: value for name, value in job.items() if name != "if_touched"}
    return {**kept, "stages": [stage]}
