"""An instruction: one thing to do."""

from __future__ import annotations

from typing import Literal

from companion.procedure.job import Repeatable
from companion.procedure.models import Text


class Instruction(Repeatable):
    """One thing to do; the technician says when it is done."""

    step: Literal["instruction"]
    say: Text
