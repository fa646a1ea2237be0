"""What one look found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

State = Literal["well", "look", "wrong", "skipped"]


@dataclass(frozen=True)
class Finding:
    """`state`: well; look (works, but a person should see it); wrong; skipped (`found` says why).

    All three texts are in the language that is set. `to_do` is "" where nothing is to be done.
    """

    state: State
    found: str
    wanted: str
    to_do: str = ""
