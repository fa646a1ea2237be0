"""A recorded job's texts in another language, where it is a job that ships."""

from __future__ import annotations

from dataclasses import replace
from hashlib import sha256

from companion.facts.opening import Opened
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.own_files import SHIPPED_JOBS
from companion.runtime import assembly


def in_language(opened: Opened, code: str) -> Opened:
    """The same with the job's texts in the language of this code ("" for its own).

    Only of a job whose file is the one that ships with this version: the hash that was recorded
    tells. Any other keeps the texts that it was done with.
    """
    if code in ("", opened.language):
        return opened
    for name in SHIPPED_JOBS:
        path = EXAMPLES / f"{name.replace('-', '_')}.yaml"
        if sha256(path.read_bytes()).hexdigest() == opened.file_hashes.get("job"):
            job = assembly.load(JobPaths(job=path), assembly.language(code)).plan.files.job
            return replace(opened, job=job.model_dump(mode="json"))
    return opened
