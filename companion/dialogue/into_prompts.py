"""Which prompts may be answered before they end, and from which of their words on.

Somebody who has heard a prompt in full may answer it once the words are out that tell what is
asked: so many that no other prompt of the job begins with them. Only a reading or a question that
its step says so of (`answer_early`: nothing has to be done by hand for it) and that stands alone:
no read-back, caution, instruction or result, nothing with a doubt or a warning in front of it, and
nothing that is asked once more. "Stop" may be said into everything; what it cut off is told before
the work goes on.
"""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue import prompts, together
from companion.dialogue.events import Event
from companion.dialogue.kind import kind_of
from companion.dialogue.state import Mode, Prompt, State
from companion.dialogue.transaction import Transaction
from companion.facts.beforehand import IntoPrompts
from companion.facts.message import ROW, Message, Told, in_a_row
from companion.facts.talking import Heard, IntoPrompt, Refused, Silent
from companion.job.job_file import Step

LEAST_WORDS = 2
_GAP = "{"
_ENDS = ".,;:?!\u00bf\u00a1"


def allow(tx: Transaction, allowed: IntoPrompts | None) -> None:
    """Whether prompts may be answered before they end, from here on, and which are known."""
    known = frozenset(allowed.known) if allowed is not None else frozenset()
    tx.change(into_prompts=allowed is not None, in_full_texts=known)


def open_after(tx: Transaction, step: Step, *, in_full: str, spoken: str) -> str:
    """The words of the prompt after which it may be answered; "" where it has to be heard out
    and is answered as ever. All of its words: it may be answered right behind its end.

    `in_full`: all of it as it is spoken to who does not know it, `spoken`: what is said now. Only
    for a prompt with nothing else in the same breath, that was not asked just before.
    """
    state = tx.state
    if not state.into_prompts or tx.voice != "spoken":
        return ""
    known = in_full in state.in_full_texts
    if spoken == in_full:
        tx.count_in_full(in_full)
    in_trouble = state.no_matches or state.silences or state.in_full
    if not known or in_trouble or state.doubted is not None:
        return ""
    if state.mode is not Mode.ASKING or not kind_of(state.plan, step).answered_early(step):
        return ""
    return _telling(spoken, _others(state, step))


def _telling(spoken: str, others: Iterator[str]) -> str:
    """The first words that no other prompt begins with; all of them where only all of it tells."""
    words = spoken.split()
    heard = [_heard(word) for word in words]
    least = LEAST_WORDS
    for other in others:
        shared = 0
        for one, another in zip(heard, other.split(), strict=False):
            if _GAP not in another and one != _heard(another):
                break
            shared += 1
        least = max(least, shared + 1)
    return " ".join(words[:least])


def _heard(word: str) -> str:
    """The word as it is told apart by ear."""
    return word.strip(_ENDS).casefold()


def _others(state: State, step: Step) -> Iterator[str]:
    """Whatever else the job may say at a step: the texts of the others, and the step's own ones
    that ask for something else."""
    own = kind_of(state.plan, step).forms(step, both=together.partner(state, step) is not None)
    for other in state.plan.steps:
        for text in kind_of(state.plan, other).texts(other):
            if other.id != step.id or text not in own:
                yield text


def cut_off(tx: Transaction, into: IntoPrompt | None) -> None:
    """ "Stop" was said while something was told: that, and what was to follow, was not heard.

    So was not what stands in front of the prompt in the same breath.
    """
    prompt = tx.state.prompt
    if prompt is not None and into is not None:
        _not_heard(tx, prompt, into.announced)


def broken_off(tx: Transaction) -> None:
    """The program ended at the open prompt: nobody knows how much was heard of what led to it."""
    if tx.state.prompt is not None:
        _not_heard(tx, tx.state.prompt, 0)


def _not_heard(tx: Transaction, prompt: Prompt, announced: int | None) -> None:
    if announced is not None:
        tx.change(unheard=(*tx.state.unheard, *prompt.announced[announced:]))
    if prompt.before:
        tx.change(unheard_before=in_a_row(tx.state.unheard_before, prompt.before))


def tell_unheard(tx: Transaction) -> None:
    """Tell what was cut off, from its beginning."""
    unheard = tx.state.unheard
    if unheard:
        tx.change(unheard=())
    for told, purpose in unheard:
        tx.announce(told, purpose)


def with_unheard(tx: Transaction, before: Told) -> Told:
    """What is said as the work goes on, and behind it what was cut off in front of a prompt."""
    unheard = in_a_row(tx.state.unheard_before)
    tx.change(unheard_before="")
    parts = unheard.args["parts"] if unheard.id == ROW else (unheard,)
    said = in_a_row(before)
    left = [
        part
        for part in (parts if isinstance(parts, tuple) else ())
        if isinstance(part, Message) and part.id not in prompts.OF_THE_TALK and part != said
    ]
    return in_a_row(before, *left)


def not_said_out(tx: Transaction, event: Event) -> None:
    """What the pedal cut short was not heard to its end: it does not count as told."""
    prompt = tx.state.prompt
    if prompt is None or not isinstance(event, Heard | Refused | Silent):
        return
    cut_short = event.cut_short if isinstance(event, Silent) else event.how.cut_short
    if not cut_short or event.prompt_id != prompt.id:
        return
    told = dict(tx.state.told)
    for name in prompt.counted:
        told[name] = told.get(name, 0) - 1
        if told[name] <= 0:
            del told[name]
    tx.change(told=told, in_full_texts=tx.state.in_full_texts - {prompt.in_full})
