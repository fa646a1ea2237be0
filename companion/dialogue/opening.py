"""What is said before the first step of a job."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.kind import kinds_in
from companion.procedure.plan import Plan


def remarks(plan: Plan) -> str:
    """How directions are meant, by what the job's steps will speak of."""
    said = dict.fromkeys(remark for kind in kinds_in(plan) for remark in kind.opening_remarks)
    return " ".join((prompts.SIDES, *said))
