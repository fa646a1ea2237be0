"""What is said before the first step of a job."""

from __future__ import annotations

from companion.dialogue import prompts
from companion.dialogue.kind import kinds_in
from companion.facts.message import Message, in_a_row
from companion.job.plan import Plan


def remarks(plan: Plan) -> Message:
    """How directions are meant, by what the job's steps will speak of."""
    said = dict.fromkeys(remark for kind in kinds_in(plan) for remark in kind.opening_remarks)
    return in_a_row(prompts.SIDES, *said)
