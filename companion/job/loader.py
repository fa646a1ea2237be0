"""Reads the files of a job and checks them before any work starts. The room's one edge."""

from __future__ import annotations

import hashlib
import re
import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from importlib.resources import files as package_files
from pathlib import Path

from companion.base.yaml_text import LONGEST_TEXT, parse, word_at
from companion.errors import FileProblem
from companion.job.check import check_job
from companion.job.distances import with_distances
from companion.job.each_screw import for_each_screw
from companion.job.job_file import Job
from companion.job.kind import MOUNT, JobFiles, Kinds, Vocabulary, job_model
from companion.job.own_folder import own_folder
from companion.job.plan import Plan, make_plan, sources
from companion.job.plausible import implausible
from companion.job.setup_files import (
    Bay,
    BayNamingStand,
    Header,
    MountModel,
    StandFile,
    Vehicle,
)
from companion.job.translation import (
    Translation,
    path_in,
    translated_job,
    translated_mount,
)
from companion.job.whereabouts import told_of

EXAMPLES = Path(str(package_files("companion.job"))) / "examples"
STAND_CHECK = EXAMPLES / "stand_check.yaml"
"""The monthly check of a stand."""
VISIT_END = EXAMPLES / "visit_end.yaml"
"""What is asked once for a car, where no job of a sensor asked it."""


@dataclass(frozen=True)
class JobPaths:
    """Where the files stand; by default the examples that ship with the companion.

    `mount` is only read where the job needs it. `step_kinds`: a folder with kinds of step beside
    those of the companion (`steps/registry.py`), None for none.
    """

    job: Path = EXAMPLES / "front_radar.yaml"
    vehicle: Path = EXAMPLES / "vehicle.yaml"
    mount: Path | None = EXAMPLES / "mount.yaml"
    bay: Path = EXAMPLES / "bay.yaml"
    step_kinds: Path | None = None


@dataclass(frozen=True)
class LoadedJob:
    """A plan with the SHA-256 of each file that it was read from.

    `published`: the version of those of the files that were published to this box; 0: none was.
    `file_paths`: where each lay that does not ship with the companion (`whereabouts.told_of`).
    """

    plan: Plan
    file_hashes: Mapping[str, str]
    job_path: Path | None = None
    published: int = 0
    file_paths: Mapping[str, str] = field(default_factory=dict)


def load_job(
    paths: JobPaths, vocabulary: Vocabulary, kinds: Kinds, language: str | None = None
) -> LoadedJob:
    """The checked plan of these files, of steps of these kinds.

    `language`: what its sentences are to be in; None: what the job is written in. Another one is
    read from the file beside it (`job/translation.py`).

    Raises FileProblem naming file, line, field, what was found and what is wanted.
    """
    hashes: dict[str, str] = {}

    def text_of(name: str, path: Path) -> str:
        content = _read(path)
        hashes[name] = hashlib.sha256(content).hexdigest()
        return content.decode("utf-8")

    text = text_of("job", paths.job)
    job = parse(text, str(paths.job), job_model(kinds))
    other = language if language not in (None, job.language) else None
    if other is not None:
        told, where = _translation(text_of, "job_translation", paths.job, other)
        job = translated_job(job, told, where)
    vehicle = parse(text_of("vehicle", paths.vehicle), str(paths.vehicle), Vehicle)
    refuse_implausible(vehicle, "vehicle", paths.vehicle)
    mount = None
    if paths.mount is not None and _needs_mount(job, kinds):
        mount = parse(text_of("mount", paths.mount), str(paths.mount), MountModel)
        refuse_implausible(mount, "mount", paths.mount)
        if other is not None:
            told, where = _translation(text_of, "mount_translation", paths.mount, other)
            mount = translated_mount(mount, told, where)
        job = for_each_screw(job, mount)
    bay = _bay(paths.bay, text_of)
    refuse_implausible(bay, "bay", paths.bay)
    bay = with_distances(bay, vehicle, str(paths.bay))
    files = JobFiles(job=job, vehicle=vehicle, mount=mount, bay=bay, kinds=kinds)
    faults = check_job(files, vocabulary)
    if faults:
        raise FileProblem(
            "\n".join(
                f"{paths.job} line {_line_of(text, f.step_id, mount)}, step {f.step_id}: "
                f"found {f.found}; wanted: {f.wanted}{_looked_for_in(f.found, paths)}"
                for f in faults[:10]
            )
        )
    read = {name: getattr(paths, name) for name in ("job", "vehicle", "mount", "bay")}
    own = {
        name: told_of(path)
        for name, path in read.items()
        if name in hashes and path.parent != EXAMPLES
    }
    return LoadedJob(make_plan(files), hashes, paths.job, file_paths=own)


def read_setup(kind: str, path: Path, model: type[Header]) -> Header:
    """A vehicle, bay, stand or mount file by itself; a bay with the stand that it names.

    Raises FileProblem naming file, line, field, what was found and what is wanted.
    """
    if kind == "bay":
        return _bay(path, lambda _, file: read_text(file))
    return parse(read_text(path), str(path), model)


def _bay(path: Path, text_of: Callable[[str, Path], str]) -> Bay:
    """The bay, with the stand that stands in its file or in the file that it names."""
    text = text_of("bay", path)
    named = word_at(text, str(path), "stand")
    if named is None:
        return parse(text, str(path), Bay)
    file = _stand_file(path, named)
    bay = parse(text, str(path), BayNamingStand)
    stand = parse(text_of("stand", file), str(file), StandFile)
    refuse_implausible(stand, "stand", file)
    return bay.with_stand(stand)


def _stand_file(bay: Path, name: str) -> Path:
    """Where the stand of this name is: beside the bay file, among the shop's own, an example.

    A bay that was published with others has its stand in the folder beside its own.
    """
    file = name if name.endswith(".yaml") else f"{name}.yaml"
    example = EXAMPLES / file.removeprefix("example-")
    places = [bay.parent / file, own_folder("stand") / file]
    if bay.parent.name == "bays":
        places.insert(1, bay.parent.parent / "stands" / file)
    places += [example] if file.startswith("example-") else []
    found = next((place for place in places if place.is_file()), None)
    if found is None:
        raise FileProblem(
            f"{bay}, stand: found {name!r}; wanted: the name of a stand file "
            "(companion stand list, companion stand new), or the stand's figures"
        )
    return found


def refuse_implausible(file: Header, kind: str, path: Path) -> None:
    """Refuse figures that can only be a slip. Raises FileProblem naming each, and the way out."""
    found = implausible(file, kind)
    if found:
        raise FileProblem(
            "\n".join(
                f"{path}, {item.field}: {item.told} (where it is right all the same, write "
                f"'unusual: [{item.field}]' into that file)"
                for item in found[:10]
            )
        )


def _looked_for_in(found: str, paths: JobPaths) -> str:
    """Which file a source names, so that a figure missing there is looked for there."""
    names = ("vehicle", "mount", "bay")
    path = next((getattr(paths, n) for n in names if found.startswith(f"'{n}.")), None)
    if path is None:
        return ""
    shipped = ", which is the example that ships" if path.parent == EXAMPLES else ""
    return f" (looked for in {path}{shipped})"


def _translation(
    text_of: Callable[[str, Path], str], name: str, path: Path, language: str
) -> tuple[Translation, str]:
    """The translation that stands beside a file, and where that is."""
    beside = path_in(path, language)
    if not beside.exists():
        raise FileProblem(
            f"{path}: not written in the language {language!r}; wanted: a file {beside.name} "
            "beside it, with its texts in that language"
        )
    told = parse(text_of(name, beside), str(beside), Translation)
    if told.language != language:
        raise FileProblem(f"{beside}: found the language {told.language!r}; wanted: {language!r}")
    return told, str(beside)


def _needs_mount(job: Job, kinds: Kinds) -> bool:
    """Whether any step wants the mount file, or a number of it."""
    return any(
        source == MOUNT or source.startswith(f"{MOUNT}.")
        for stage in job.stages
        for step in stage.steps
        for source in (*kinds[step.step].needs(step), *sources(kinds, step))
    )


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


def _line_of(text: str, step_id: str, mount: MountModel | None) -> int:
    """The line of a step's id; a step that is there for each screw has the screw's id behind."""
    screws = mount.screws if mount is not None else ()
    for name in (step_id, *(step_id.removesuffix(f"_{screw.id}") for screw in screws)):
        found = re.search(rf"^[ \-]*id:\s*{re.escape(name)}\s*$", text, re.MULTILINE)
        if found:
            return text.count("\n", 0, found.start()) + 1
    return 1
