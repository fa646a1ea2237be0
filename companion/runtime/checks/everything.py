"""All looks in their order, and one answer for each whatever happens."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from companion.errors import CompanionError
from companion.runtime.checks import asking, hearing, place, speaking
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding

LOOKS: tuple[tuple[str, str, Callable[[Bench], Finding]], ...] = (
    ("files", "job, vehicle, mount and bay", place.files_of_the_job),
    ("disk", "room for the record", place.disk_space),
    ("record", "the record itself", place.record),
    ("rights", "rights of record and settings", place.rights),
    ("clock", "clock", place.clock),
    ("store", "store of many boxes", place.store),
    ("microphone", "microphone", hearing.microphone),
    ("level", "microphone's level", hearing.level),
    ("noise", "noise in the room", hearing.noise),
    ("words", "recogniser's words", hearing.words),
    ("loudspeaker", "loudspeaker", speaking.loudspeaker),
    ("voice", "voice", speaking.voice),
    ("loop_back", "loop-back: speak and hear", speaking.loop_back),
    ("speech", "somebody speaking", asking.speech),
)
"""Identifier, title and look."""


def look_at_everything(
    bench: Bench, starting: Callable[[str], None] = lambda title: None
) -> Iterator[tuple[str, str, Finding]]:
    """Identifier, title and finding of each look; `starting` is told the title before each."""
    for identifier, title, look in LOOKS:
        starting(title)
        yield identifier, title, _answer(look, bench)


def _answer(look: Callable[[Bench], Finding], bench: Bench) -> Finding:
    try:
        return look(bench)
    except CompanionError as error:
        found, _, wanted = str(error).partition("; wanted")
        return Finding("wrong", found, wanted.strip(" :") or "no fault", "See what was found.")
    except OSError as error:
        return Finding("wrong", f"{error.filename}: {error.strerror}", "readable files")


def all_well(findings: list[Finding]) -> bool:
    """Whether a job may begin: nothing is wrong."""
    return all(finding.state != "wrong" for finding in findings)
