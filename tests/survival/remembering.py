"""Ears that remember what their heads made of a stretch of sound, for many prompts in turn.

What a head makes of samples does not depend on the grammar, so the same sound at another prompt
need not go through the encoder again. The answers are the very same; only the time is spared.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from typing import Any, Protocol, runtime_checkable

import numpy as np
import numpy.typing as npt

from companion.recognition.own.head import Judged
from companion.recognition.port import Recogniser

Samples = npt.NDArray[np.float32]

MOST_BYTES = 512 * 1024**2
"""Of one part. What is forgotten is judged again: it costs time and changes nothing."""


@runtime_checkable
class Judging(Protocol):
    """A part of a recogniser that judges samples."""

    def judge(self, samples: Samples) -> Judged:
        """What it makes of a stretch of sound."""
        ...


@dataclass
class Account:
    """How often samples were to be judged, how often they were known, and the most kept."""

    asked: int = 0
    remembered: int = 0
    most_kept_bytes: int = 0


class Memory:
    """A part of a recogniser that forgets nothing lately judged, `most_bytes` of it at most.

    The key is the samples themselves, not a digest of them. Everything but `judge` is the part's.
    """

    def __init__(self, part: Judging, account: Account, most_bytes: int = MOST_BYTES) -> None:
        self._part = part
        self._account = account
        self._most_bytes = most_bytes
        self._known: OrderedDict[bytes, Judged] = OrderedDict()
        self._kept_bytes = 0

    def judge(self, samples: Samples) -> Judged:
        """What the part made of these samples, now or before; not to be written into."""
        self._account.asked += 1
        key = samples.tobytes()
        known = self._known.get(key)
        if known is not None:
            self._account.remembered += 1
            self._known.move_to_end(key)
            return known
        judged = self._part.judge(samples)
        for array in (judged.tokens, judged.speech):
            array.setflags(write=False)
        self._known[key] = judged
        self._kept_bytes += _size(key, judged)
        while self._kept_bytes > self._most_bytes:
            self._kept_bytes -= _size(*self._known.popitem(last=False))
        self._account.most_kept_bytes = max(self._account.most_kept_bytes, self._kept_bytes)
        return judged

    def __getattr__(self, name: str) -> Any:
        return getattr(self._part, name)


def _size(key: bytes, judged: Judged) -> int:
    return len(key) + judged.tokens.nbytes + judged.speech.nbytes


def remember(recogniser: Recogniser, most_bytes: int = MOST_BYTES) -> Account:
    """Have every part of a recogniser that judges samples remember; what is spared is counted."""
    account = Account()
    found = {n: part for n, part in vars(recogniser).items() if isinstance(part, Judging)}
    assert found, f"{recogniser.name}: none of its parts judges samples"
    for name, part in found.items():
        setattr(recogniser, name, Memory(part, account, most_bytes))
    return account
