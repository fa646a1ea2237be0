"""A whole kind of step: what the job file, the conversation, and those who look on ask of it."""

from __future__ import annotations

from companion.dialogue.kind import DialogueKind
from companion.procedure.kind import S


class Kind(DialogueKind[S]):
    """One kind of step. A folder of `companion/steps`, or of one's own, has one as `KIND`."""
