"""Reads the four files of a job and checks them before any work starts. The room's one edge."""

from __future__ import annotations

import hashlib
import re
import stat
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files as package_files
from pathlib import Path

from companion.errors import FileProblem
from companion.procedure.check import Vocabulary, check_job
from companion.procedure.each_screw import for_each_screw
from companion.procedure.job import Job
from companion.procedure.models import Bay, MountModel, Vehicle
from companion.procedure.plan import JobFiles, Plan, make_plan
from companion.yaml_text import LONGEST_TEXT, parse

EXAMPLES = Path(str(package_files("companion.procedure"))) / "examples"


@dataclass(frozen=True)
class JobPaths:
    """Where the four files stand; by default the examples that ship with the companion."""

    job: Path = EXAMPLES / "front_radar.yaml"
    vehicle: Path = EXAMPLES / "vehicle.yaml"
    mount: Path = EXAMPLES / "mount.yaml"
    bay: Path = EXAMPLES / "bay.yaml"


@dataclass(frozen=True)
class LoadedJob:
    """A plan with the SHA-256 of each file that it was read from, and where its job file stands."""

    plan: Plan
    file_hashes: Mapping[str, str]
    job_path: Path | None = None


def load_job(paths: JobPaths, vocabulary: Vocabulary) -> LoadedJob:
    """The checked plan of four files.

    Raises FileProblem naming file, line, field, what was found and what is wanted.
    """
    contents = {
        name: _read(path)
        for name, path in (
            ("job", paths.job),
            ("vehicle", paths.vehicle),
            ("mount", paths.mount),
            ("bay", paths.bay),
        )
    }
    texts = {name: content.decode("utf-8") for name, content in contents.items()}
    job = parse(texts["job"], str(paths.job), Job)
    vehicle = parse(texts["vehicle"], str(paths.vehicle), Vehicle)
    mount = parse(texts["mount"], str(paths.mount), MountModel)
    files = JobFiles(
        job=for_each_screw(job, mount),
        vehicle=vehicle,
        mount=mount,
        bay=parse(texts["bay"], str(paths.bay), Bay),
    )
    faults = check_job(files, vocabulary)
    if faults:
        raise FileProblem(
            "\n".join(
                f"{paths.job} line {_line_of(texts['job'], f.step_id, mount)}, step {f.step_id}: "
                f"found {f.found}; wanted: {f.wanted}"
                for f in faults[:10]
            )
        )
    hashes = {name: hashlib.sha256(content).hexdigest() for name, content in contents.items()}
    return LoadedJob(make_plan(files), hashes, paths.job)


def read_text(path: Path) -> str:
    """The text of one YAML file; raises FileProblem where it is none that could be read."""
    return _read(path).decode("utf-8")


def _read(path: Path) -> bytes:
    """The file's bytes, which are sure to be UTF-8 text."""
    try:
        about = path.stat()
        if not stat.S_ISREG(about.st_mode):
            # A pipe or a device would never end.
            raise FileProblem(f"{path}: a folder, a pipe or a device; wanted: a readable YAML file")
        if about.st_size > LONGEST_TEXT:
            raise FileProblem(f"{path}: larger than {LONGEST_TEXT} bytes; wanted: a YAML file")
        content = path.read_bytes()
        content.decode("utf-8")
        return content
    except UnicodeDecodeError as error:
        raise FileProblem(f"{path}: not text in UTF-8; wanted: a YAML file") from error
    except OSError as error:
        reason = error.strerror or "cannot be read"
        raise FileProblem(f"{path}: {reason}; wanted: a readable YAML file") from error


def _line_of(text: str, step_id: str, mount: MountModel) -> int:
    """The line of a step's id; a step that is there for each screw has the screw's id behind."""
    for name in (step_id, *(step_id.removesuffix(f"_{screw.id}") for screw in mount.screws)):
        found = re.search(rf"^[ \-]*id:\s*{re.escape(name)}\s*$", text, re.MULTILINE)
        if found:
            return text.count("\n", 0, found.start()) + 1
    return 1
