"""All looks in their order, and one answer for each whatever happens."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

from companion.errors import CompanionError
from companion.runtime.checks import asking, echo, hearing, place, speaking, speed
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.finding import Finding

LOOKS: tuple[tuple[str, Callable[[Bench], Finding]], ...] = (
    ("files", place.files_of_the_job),
    ("disk", place.disk_space),
    ("record", place.record),
    ("rights", place.rights),
    ("clock", place.clock),
    ("store", place.store),
    ("microphone", hearing.microphone),
    ("level", hearing.level),
    ("noise", hearing.noise),
    ("words", hearing.words),
    ("speed", speed.speed),
    ("loudspeaker", speaking.loudspeaker),
    ("voice", speaking.voice),
    ("loop_back", speaking.loop_back),
    ("echo", echo.kept),
    ("speech", asking.speech),
)
"""Identifier and look; its title stands in the language's files by the identifier."""


def look_at_everything(
    bench: Bench, starting: Callable[[str], None] = lambda title: None
) -> Iterator[tuple[str, str, Finding]]:
    """Identifier, title and finding of each look; `starting` is told the title before each."""
    for identifier, look in LOOKS:
        title = bench.say(f"check-title-{identifier}")
        starting(title)
        yield identifier, title, _answer(look, bench)


def _answer(look: Callable[[Bench], Finding], bench: Bench) -> Finding:
    try:
        return look(bench)
    except CompanionError as error:
        told = bench.say.words.problem(error)
        found, *wanted = re.split(rf"; {bench.say('check-wanted-word')}\w*:? ", told, maxsplit=1)
        see = bench.say("check-see-what-was-found")
        return Finding("wrong", found, wanted[0] if wanted else bench.say("check-no-fault"), see)
    except OSError as error:
        found = f"{error.filename}: {error.strerror}"
        return Finding("wrong", found, bench.say("check-readable-files"))


def all_well(findings: list[Finding]) -> bool:
    """Whether a job may begin: nothing is wrong."""
    return all(finding.state != "wrong" for finding in findings)
