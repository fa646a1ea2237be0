"""Clips made part of the page, each checked against its name first."""

from __future__ import annotations

import base64
from dataclasses import dataclass

from companion.errors import RecordError
from companion.record import ClipStore
from companion.record.canonical import sha256_hex


@dataclass(frozen=True)
class Sound:
    """A clip to be played from the page, or the reason why it cannot be."""

    data_uri: str = ""
    problem: str = ""


def sound_of(sha256: str, clips: ClipStore) -> Sound:
    """The clip as a data URI; a clip that is gone or changed gives the problem in words."""
    try:
        content = clips.get(sha256).read_bytes()
    except RecordError:
        return Sound(problem="the sound is missing")
    except OSError as error:
        return Sound(problem=f"the sound cannot be read ({error.strerror})")
    if sha256_hex(content) != sha256:
        return Sound(problem="the sound was changed since it was kept and is not played here")
    return Sound(data_uri="data:audio/flac;base64," + base64.b64encode(content).decode("ascii"))
