"""The one error tree: every message says what is wrong, where, and what is wanted."""

from __future__ import annotations


class CompanionError(Exception):
    """Anything the person can act on; never shown with a traceback.

    `exit_code` is what the command line ends with (documented in `companion --help`). What
    somebody at the job may meet names its sentence: `said` is the id of `problem-ID` in the
    language's files, `values` its arguments; the English here reads the same. What is only for
    the box's keeper has no `said` and is shown as it stands.
    """

    exit_code = 1

    def __init__(self, told: str = "", *, said: str = "", **values: str | int) -> None:
        super().__init__(told)
        self.said = said
        self.values = values


class FileProblem(CompanionError):
    """A job, vehicle, mount, bay, grammar or settings file is invalid."""

    exit_code = 3


class GrammarError(FileProblem):
    """A grammar file is invalid: names file, line, what was found and is wanted."""


class MeasureError(CompanionError):
    """The numbers given do not allow the result that is asked for."""

    exit_code = 4


class EarsError(CompanionError):
    """A recogniser, microphone or sound file cannot be used."""

    exit_code = 5


class VoiceError(CompanionError):
    """Speech cannot be made or played."""

    exit_code = 6


class RecordError(CompanionError):
    """The session record cannot be opened, written or trusted."""

    exit_code = 7


class DiskFull(RecordError):
    """The disk takes nothing more: nothing was written, and the same may be tried again."""
