"""Clips made part of the page (or given an address), each checked against its name first."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from companion.errors import RecordError
from companion.record import ClipStore
from companion.record.canonical import sha256_hex


@dataclass(frozen=True)
class Sound:
    """Where the page plays a clip from, or the id of the text why it cannot be played."""

    source: str = ""
    problem: str = ""
    expired_on: str = ""


def sound_of(sha256: str, clips: ClipStore, clips_href: str = "") -> Sound:
    """The clip as a data URI; of a clip that is gone or changed the problem.

    With `clips_href` the clip is not read here but given its address below that: whoever
    serves it checks it then.
    """
    try:
        clips.get(sha256)
        if clips_href:
            return Sound(source=f"{clips_href}{sha256}.flac")
        content = clips.read(sha256)
    except RecordError:
        return Sound(problem="sound-missing")
    if sha256_hex(content) != sha256:
        return Sound(problem="sound-changed")
    return Sound(source="data:audio/flac;base64," + base64.b64encode(content).decode("ascii"))
