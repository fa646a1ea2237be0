"""Whether a job could be done with files that are to be published, or were published to a box."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import islice, product
from pathlib import Path

from companion.base.yaml_text import word_at
from companion.errors import FileProblem
from companion.job.loader import JobPaths, read_setup, read_text, refuse_implausible
from companion.job.own_files import MODELS
from companion.job.own_folder import Kind
from companion.language.language import Language
from companion.language.loader import language_codes
from companion.published.manifest import FOLDERS
from companion.runtime import assembly
from companion.settings.published import FILES, published_settings

MOST_TRIED = 60
KINDS: tuple[Kind, ...] = ("vehicle", "mount", "stand", "bay")
_SHIPPED = re.compile(r"example-[a-z0-9_]+(\.yaml)?")
_OTHER_LANGUAGE = re.compile(r"\.[a-z]{2,3}\.yaml$")


@dataclass(frozen=True)
class Place:
    """Where the files are to be used: a box's own files and language, or any box.

    `own`: the files that its own settings name, by kind; "" for `language`: every one that is
    there.
    """

    own: Mapping[str, Path] = field(default_factory=dict)
    language: str = ""


def check_published(folder: Path, names: Iterable[str], place: Place) -> None:
    """Look at every file as `companion check` does, and at every job with what it is done with.

    A job has to fit at least one vehicle, mount and bay of those published, or of the box's own
    where none is published; and what a job begins with by the settings has to fit. Raises
    FileProblem naming file, line, field, what was found and what is wanted.
    """
    of_kind = {kind: tuple(_of_kind(folder, names, kind)) for kind in FOLDERS}
    for path in of_kind["bay"]:
        _brings_its_stand(names, path)
    for kind in KINDS:
        for path in of_kind[kind]:
            refuse_implausible(read_setup(kind, path, MODELS[kind]), kind, path)
    said = published_settings(folder, names)
    shared = {kind: said[name] for name, kind in FILES.items() if name in said}
    begins = replace(JobPaths(), **{**shared, **place.own})
    for job in of_kind["job"]:
        _fits_something(job, of_kind, begins, place.language)
    language = place.language or said.get("language", "")
    if shared or place.own:
        assembly.load(begins, assembly.language(language) if language else None)


def _brings_its_stand(names: Iterable[str], bay: Path) -> None:
    """Raises FileProblem for a bay that names a stand which is not published with it.

    A stand of the same name on a box may be another one.
    """
    named = word_at(read_text(bay), str(bay), "stand")
    if named is None or _SHIPPED.fullmatch(named):
        return
    wanted = f"{FOLDERS['stand']}/{named.removesuffix('.yaml')}.yaml"
    if wanted not in set(names):
        raise FileProblem(
            f"{bay}, stand: found {named!r}, which is not published; wanted: {wanted} beside it, "
            "or the stand's figures in the bay file"
        )


def _of_kind(folder: Path, names: Iterable[str], kind: str) -> Iterator[Path]:
    for name in sorted(names):
        if name.startswith(f"{FOLDERS[kind]}/") and not _OTHER_LANGUAGE.search(name):
            yield folder / name


def _fits_something(
    job: Path, of_kind: Mapping[str, tuple[Path, ...]], begins: JobPaths, language: str
) -> None:
    """Raises what is wrong with the first combination where none fits."""
    wrong: FileProblem | None = None
    choices = ((getattr(begins, kind), *of_kind[kind]) for kind in ("vehicle", "mount", "bay"))
    for vehicle, mount, bay in islice(product(*choices), MOST_TRIED):
        paths = replace(begins, job=job, vehicle=vehicle, mount=mount, bay=bay)
        try:
            for spoken in _languages(job, language):
                assembly.load(paths, spoken)
        except FileProblem as error:
            wrong = wrong or error
        else:
            return
    if wrong is not None:
        raise wrong


def _languages(job: Path, language: str) -> Iterator[Language | None]:
    """The box's language; or, for any box, the job's own and each that it is translated into."""
    if language:
        yield assembly.language(language)
        return
    yield None
    for code in language_codes():
        if job.with_name(f"{job.stem}.{code}.yaml").exists():
            yield assembly.language(code)
