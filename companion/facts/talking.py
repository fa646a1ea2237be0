"""What was said and heard."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, ClassVar, Generic, TypeVar

from companion.facts.codec import LEFT_OUT, SPREAD
from companion.facts.meanings import Meaning
from companion.facts.message import Message
from companion.facts.prompting import Prompted

M = TypeVar("M", bound=Meaning, covariant=True)

TYPED = "typed"
"""The ears of a typed answer."""

PromptId = Annotated[str, "the prompt that it was heard under"]
CutShort = Annotated[
    tuple[int, ...],
    LEFT_OUT,
    "what was not said to its end before (a pedal cut it short, or the voice failed): places of "
    "what was told before the prompt, from 0; the prompt itself stands behind the last of them",
]
Clip = Annotated[str | None, "SHA-256 of the sound's file; null where no sound was kept"]


@dataclass(frozen=True, slots=True)
class Shown:
    """The same as it is written on a screen: with figures and signs."""

    ask: Annotated[str, "what is asked for, or told"]
    before: Annotated[str, LEFT_OUT] = ""
    reply: Annotated[str, LEFT_OUT] = ""
    behind: Annotated[str, LEFT_OUT] = ""


@dataclass(frozen=True, slots=True)
class Said:
    """The companion spoke; a prompt tells in `prompt` what it asks for, so nobody reads `text`."""

    KIND: ClassVar[str] = "said"

    prompt_id: Annotated[str | None, "null where no answer is wanted"]
    step_id: str | None
    purpose: Annotated[str, "ask, read_back, instruct, explain, announce or caution"]
    mode: Annotated[str, "what kind of answer the open prompt waits for"]
    text: Annotated[str, "all of it, as it was spoken; empty where it was asked before"]
    ask: Annotated[str | None, "what is asked for; a repetition says it, and the reply, again"]
    before: Annotated[str, LEFT_OUT, "what was said in front of it"] = ""
    reply: Annotated[str, LEFT_OUT, "what was said behind it: how to answer"] = ""
    behind: Annotated[str, LEFT_OUT, "what was asked behind a read-back, in the same breath"] = ""
    prompt: Annotated[Prompted | None, LEFT_OUT, "what it asks for"] = None
    messages: Annotated[
        Mapping[str, Message],
        LEFT_OUT,
        "the same, not yet in words: before, ask, reply and behind; text where no answer is wanted",
    ] = field(default_factory=dict)
    shown: Annotated[
        Shown | None, LEFT_OUT, "how it is written; left out where that is as it is spoken"
    ] = None

    @property
    def in_writing(self) -> Shown:
        """How it is written, in its parts."""
        return self.shown or Shown(self.ask or self.text, self.before, self.reply, self.behind)


@dataclass(frozen=True, slots=True)
class IntoPrompt:
    """It was said while the companion still spoke; seconds count from the first sound of that."""

    began_s: Annotated[float, "so much had sounded when it began, seconds"]
    sounded_s: Annotated[float, "so much had sounded when the companion fell silent, seconds"]
    whole_s: Annotated[float, "so long all of it would have lasted, seconds"]
    announced: Annotated[
        int | None,
        LEFT_OUT,
        "not the prompt but what was told before it was sounding: which of these, from 0",
    ] = None


@dataclass(frozen=True, slots=True)
class How:
    """How the ears heard it; for the record, and for the voice check, which is about the ears."""

    words: Annotated[str, "the words heard; empty where none were"] = ""
    ears: Annotated[str, "the recogniser, or typed"] = ""
    clip_sha256: Clip = None
    confidence: Annotated[float | None, LEFT_OUT, "0 to 1, as the recogniser means it"] = None
    start_s: Annotated[
        float | None, LEFT_OUT, "where in the listening the words began, seconds"
    ] = None
    end_s: Annotated[float | None, LEFT_OUT, "where they ended, seconds"] = None
    n_best: Annotated[
        tuple[str, ...] | None, LEFT_OUT, "what else it may have been, likeliest first"
    ] = None
    detail: Annotated[str | None, LEFT_OUT, "what the ears say of it, in words and numbers"] = None
    speech_dbfs: Annotated[float | None, LEFT_OUT, "the speech's level, dB below full scale"] = None
    background_dbfs: Annotated[
        float | None, LEFT_OUT, "the level of what lay under it, dB below full scale"
    ] = None
    snr_db: Annotated[float | None, LEFT_OUT, "how far the speech stood above that"] = None
    weak: Annotated[bool, LEFT_OUT, "acted on, though the evidence was weak: stop and wait are"] = (
        False
    )
    into: Annotated[
        IntoPrompt | None, LEFT_OUT, "it was said into the prompt, which had not ended"
    ] = None
    cut_short: CutShort = ()


@dataclass(frozen=True, slots=True)
class Heard(Generic[M]):
    """An answer inside the grammar of its prompt."""

    KIND: ClassVar[str] = "heard"

    prompt_id: PromptId
    meaning: Annotated[M, "kind (number, choice, done, yes, no, command) and what belongs to it"]
    how: Annotated[How, SPREAD] = How()


NOTE = "note"


@dataclass(frozen=True, slots=True)
class Refused:
    """Something was heard that counts for nothing, and why."""

    KIND: ClassVar[str] = "refused"

    prompt_id: PromptId
    reason: Annotated[
        str, "not_in_grammar, unsure, too_loud, clipped, too_long, sound_lost, note and the like"
    ]
    how: Annotated[How, SPREAD] = How()
    missing: Annotated[str, LEFT_OUT, "direction, where nothing else was wrong"] = ""

    @property
    def left_something(self) -> bool:
        """Whether words or sound of it are kept: else it can be no note."""
        return bool(self.how.clip_sha256 or self.how.words)

    @property
    def is_note(self) -> bool:
        """Whether it is what was said as a note: no answer, and none was wanted."""
        return self.reason == NOTE


@dataclass(frozen=True, slots=True)
class Silent:
    """Nothing was heard within the time given to the prompt."""

    KIND: ClassVar[str] = "silent"

    prompt_id: PromptId
    waited_s: Annotated[float | None, "seconds"]
    cut_short: CutShort = ()


@dataclass(frozen=True, slots=True)
class Late:
    """An answer to an earlier prompt, which never counts for the open one."""

    KIND: ClassVar[str] = "late"

    prompt_id: PromptId


@dataclass(frozen=True, slots=True)
class Noted:
    """A note for the supervisor, kept as sound where sound may be kept."""

    KIND: ClassVar[str] = "noted"

    clip_sha256: Annotated[str | None, "SHA-256 of the sound's file"]
    words: Annotated[str, "what the ears made of it"]
