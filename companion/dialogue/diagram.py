"""The transition table as a drawing. `python -m companion.dialogue.diagram` puts it into the docs.

What stands in `TRANSITIONS` says which handler answers; where a handler may lead stands here, and
random conversations hold it to that.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

from companion.dialogue import answering, checking_voice, commanding
from companion.dialogue.state import Mode
from companion.dialogue.transitions import TRANSITIONS, Handler

# Going on with the job asks the next thing, or stops where a decision can no longer be put right.
GOES_ON = (Mode.ASKING, Mode.STOPPED)
# The voice check comes before the first step, and goes on after a break in it.
GOES_ON_OR_CHECKS = (*GOES_ON, Mode.CHECKING_VOICE)

# Handlers that stand in neither place stay in the mode that they were called in.
LEADS_TO: Mapping[Handler, tuple[Mode, ...]] = {
    commanding.open_job: GOES_ON_OR_CHECKS,
    commanding.resume: (Mode.RESUMING, *GOES_ON_OR_CHECKS),
    commanding.stop: (Mode.STOPPED,),
    commanding.pause: (Mode.PAUSED,),
    commanding.carry_on: (*GOES_ON_OR_CHECKS, Mode.RESUMING),
    commanding.go_back: GOES_ON,
    commanding.begin_note: (Mode.TAKING_NOTE,),
    commanding.keep_note: (*GOES_ON_OR_CHECKS, Mode.PAUSED),
    commanding.no_note: (*GOES_ON_OR_CHECKS, Mode.PAUSED),
    commanding.heard_nothing: (Mode.PAUSED,),
    commanding.ask_to_end: (Mode.ENDING,),
    commanding.end: (Mode.CLOSED,),
    commanding.touched: (Mode.RESUMING,),
    commanding.touched_confirmed: (*GOES_ON, Mode.RESUMING),
    commanding.touched_denied: (Mode.RESUMING,),
    checking_voice.decline: GOES_ON,
    checking_voice.leave: GOES_ON,
    checking_voice.take_word: GOES_ON,
    checking_voice.missed: GOES_ON,
    checking_voice.heard_nothing: GOES_ON,
    checking_voice.stop: (Mode.STOPPED,),
    answering.take_answer: (Mode.CONFIRMING, Mode.ASKING),
    answering.accept: GOES_ON,
    answering.reject: (Mode.ASKING,),
    answering.take_done: (*GOES_ON, Mode.CLOSED),
}
# These lead on sometimes, and else stay.
MAY_STAY = frozenset(
    {
        commanding.begin_note,
        commanding.heard_nothing,
        checking_voice.take_word,
        checking_voice.missed,
        checking_voice.heard_nothing,
    }
)


def targets(mode: Mode, handler: Handler) -> tuple[Mode, ...]:
    """The modes that the handler may end in when it is called in this one."""
    ends = LEADS_TO.get(handler, (mode,))
    return (*ends, mode) if handler in MAY_STAY and mode not in ends else ends


def mermaid() -> str:
    """The table as a Mermaid state diagram: an arrow is labelled with the kinds and handlers."""
    lines = ["stateDiagram-v2", f"    [*] --> {Mode.ASKING}"]
    for mode, row in TRANSITIONS.items():
        labels: dict[Mode, list[str]] = {}
        for kind, handler in row.items():
            for target in targets(mode, handler):
                labels.setdefault(target, []).append(f"{kind} ({handler.__name__})")
        lines += [f"    {mode} --> {to} : {'<br/>'.join(said)}" for to, said in labels.items()]
    return "\n".join([*lines, f"    {Mode.CLOSED} --> [*]"])


def with_diagram(page: str) -> str:
    """The page with the drawing in its first `mermaid` block renewed."""
    return re.sub(
        r"(?<=```mermaid\n).*?(?=\n```)", lambda _: mermaid(), page, count=1, flags=re.DOTALL
    )


def _rewrite() -> None:
    from pathlib import Path

    page = Path(__file__).parents[2] / "docs" / "conversation.md"
    page.write_text(with_diagram(page.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    _rewrite()
