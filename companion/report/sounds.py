"""Clips made part of the page (or given an address), each checked against its name first."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from typing import Protocol

from companion.errors import RecordError
from companion.record.canonical import sha256_hex


@dataclass(frozen=True)
class Sound:
    """Where the page plays a clip from, or the id of the text why it cannot be played."""

    source: str = ""
    problem: str = ""
    expired_on: str = ""


class Clips(Protocol):
    """Where sound comes from: the folder beside a record, or a store of many boxes."""

    def get(self, sha256: str) -> object:
        """Raises `RecordError` where the clip is not there; `NotHere` says why."""
        ...

    def read(self, sha256: str) -> bytes:
        """The clip's content, whatever it is; raises as `get` does."""
        ...


class NotHere(RecordError):
    """There is no such clip where it was looked for, and why is known."""

    def __init__(self, told: Sound) -> None:
        super().__init__("there is no such sound here")
        self.told = told


def sound_of(sha256: str, clips: Clips, clips_href: str = "") -> Sound:
    """The clip as a data URI; of a clip that is gone or changed the problem.

    With `clips_href` the clip is not read here but given its address below that: it is
    checked when it is served.
    """
    try:
        clips.get(sha256)
        if clips_href:
            return Sound(source=f"{clips_href}{sha256}.flac")
        content = clips.read(sha256)
    except NotHere as error:
        return error.told
    except RecordError:
        return Sound(problem="sound-missing")
    if sha256_hex(content) != sha256:
        return Sound(problem="sound-changed")
    return Sound(source="data:audio/flac;base64," + base64.b64encode(content).decode("ascii"))
