"""All kinds of step: those of the companion, and those of a folder of one's own.

A folder of one's own has a folder for each kind, and in that a `kind.py` with a `KIND`; its other
modules are imported relatively (`from .model import Torque`). It is code that runs as the companion
does: name only a folder that nobody else can write to.
"""

from __future__ import annotations

import hashlib
import importlib
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.machinery import ModuleSpec
from importlib.util import module_from_spec
from pathlib import Path
from typing import Any

from companion.dialogue.kind import DialogueKind
from companion.errors import FileProblem
from companion.steps.aim.kind import KIND as AIM
from companion.steps.checklist.kind import KIND as CHECKLIST
from companion.steps.computation.kind import KIND as COMPUTATION
from companion.steps.correction.kind import KIND as CORRECTION
from companion.steps.decision.kind import KIND as DECISION
from companion.steps.finish.kind import KIND as FINISH
from companion.steps.first_look.kind import KIND as FIRST_LOOK
from companion.steps.instruction.kind import KIND as INSTRUCTION
from companion.steps.kind import Kind
from companion.steps.placing.kind import KIND as PLACING
from companion.steps.question.kind import KIND as QUESTION
from companion.steps.reading.kind import KIND as READING
from companion.steps.shims.kind import KIND as SHIMS
from companion.steps.stand_moves.kind import KIND as STAND_MOVES
from companion.steps.taken_over.kind import KIND as TAKEN_OVER
from companion.steps.verdict.kind import KIND as VERDICT
from companion.steps.visit_end.kind import KIND as VISIT_END

KINDS: Mapping[str, Kind[Any]] = {
    kind.name: kind
    for kind in (
        READING,
        QUESTION,
        INSTRUCTION,
        CHECKLIST,
        COMPUTATION,
        DECISION,
        PLACING,
        STAND_MOVES,
        SHIMS,
        FIRST_LOOK,
        AIM,
        VERDICT,
        FINISH,
        TAKEN_OVER,
        CORRECTION,
        VISIT_END,
    )
}
"""The kinds that ship with the companion, by name."""


@dataclass(frozen=True)
class FoundKinds:
    """All kinds that there are, and the SHA-256 of the code that came from elsewhere ("": none)."""

    kinds: Mapping[str, Kind[Any]]
    sha256: str = ""


def find_kinds(folder: Path | None = None) -> FoundKinds:
    """The companion's kinds and those of the folder.

    Raises FileProblem where the folder has none, one that cannot be imported, or one whose name is
    taken.
    """
    if folder is None:
        return FoundKinds(KINDS)
    kinds = dict(KINDS)
    sources = _sources(folder)
    digest = _digest(folder, sources)
    for source in (source for source in sources if source.name == "kind.py"):
        kind = _import(source, digest)
        if kind.name in kinds:
            raise FileProblem(
                f"{source}: found a second kind of step '{kind.name}'; wanted: another name"
            )
        kinds[kind.name] = kind
    return FoundKinds(kinds, digest)


def _sources(folder: Path) -> list[Path]:
    try:
        found = sorted(path for path in folder.glob("*/*.py") if path.is_file())
    except OSError as error:
        raise FileProblem(f"{folder}: {error.strerror}; wanted: a readable folder") from error
    if not any(path.name == "kind.py" for path in found):
        raise FileProblem(f"{folder}: no kinds of step; wanted: a folder for each, with a kind.py")
    return found


def _digest(folder: Path, sources: list[Path]) -> str:
    """SHA-256 over the names and contents of all modules, in the order of their names."""
    digest = hashlib.sha256()
    for source in sources:
        name = source.relative_to(folder).as_posix()
        content = hashlib.sha256(source.read_bytes()).hexdigest()
        digest.update(f"{content}  {name}\n".encode())
    return digest.hexdigest()


def _import(source: Path, digest: str) -> Kind[Any]:
    """The `KIND` of a module, imported as part of a package that only this code has."""
    package = f"companion_step_kinds_{digest[:16]}_{source.parent.name}"
    if package not in sys.modules:
        spec = ModuleSpec(package, loader=None, is_package=True)
        spec.submodule_search_locations = [str(source.parent)]
        sys.modules[package] = module_from_spec(spec)
    try:
        kind = getattr(importlib.import_module(f"{package}.kind"), "KIND", None)
    except Exception as error:
        sys.modules.pop(package, None)
        raise FileProblem(
            f"{source}: {type(error).__name__}: {error}; wanted: a module that can be imported"
        ) from error
    if not isinstance(kind, Kind):
        raise FileProblem(f"{source}: no KIND; wanted: KIND = one of companion.steps.kind.Kind")
    lacking = untold(kind)
    if lacking:
        raise FileProblem(
            f"{source}: {type(kind).__name__} does not say {', '.join(lacking)}; wanted: a method "
            "for each, as companion/dialogue/kind.py has them"
        )
    return kind


def untold(kind: Kind[Any]) -> tuple[str, ...]:
    """What a kind has to say for itself and leaves unsaid: that has no default."""
    wanted = ["reach"]
    if kind.asks:
        wanted += ["prompt", "expectation"]
        answered = ("done",) if kind.purpose == "instruct" else ("confirmation", "take", "accept")
        wanted += answered
    inherited = vars(DialogueKind)
    return tuple(name for name in wanted if getattr(type(kind), name) is inherited[name])
