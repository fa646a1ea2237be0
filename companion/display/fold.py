"""From events to what is on the screen: `take` one event after the other, then look.

Nothing is looked up elsewhere and nothing is remembered but this; any events whatever give a
state. The facts of one step come together, so what is shown is always one whole step.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction

from companion.display.moment import Answer
from companion.facts.aim import AimDecided, ScrewPlan
from companion.facts.answers import Accepted, Answered, Consent, Done, Implausible
from companion.facts.ending import DriftNoticed, Finished, Stopped
from companion.facts.kinds import Fact
from companion.facts.meanings import Choice, Confirmed, Meaning, No, Number, Pair
from companion.facts.opening import JobOutline, Opened, Stage, StepOutline
from companion.facts.practice import BayShows
from companion.facts.prompting import Prompted, SaidBack
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.language.words import Words
from companion.record.port import StoredEvent

HEARINGS_FOR_NOISE = 6


@dataclass(frozen=True)
class PromptShown:
    """The open prompt: what was said, in its parts, and what it asks for."""

    step_id: str
    purpose: str
    mode: str
    before: str
    ask: str
    reply: str
    asks: Prompted
    behind: str = ""


@dataclass(frozen=True)
class Screws:
    """The turns asked for in this round, and how many of them are done."""

    plan: ScrewPlan
    done: int = 0

    @property
    def turns(self) -> tuple[tuple[str, Fraction], ...]:
        """Each screw with its turns in their order; clockwise counts positive."""
        return tuple(
            (step.screw_id, -step.turns if step.direction == "anticlockwise" else step.turns)
            for step in self.plan.steps
        )

    @property
    def now(self) -> tuple[str, Fraction] | None:
        """The one that is due."""
        return self.turns[self.done] if self.done < len(self.turns) else None


@dataclass(frozen=True)
class Told:
    """All that the screen needs to know of a session so far."""

    opened: Opened = field(default_factory=Opened)
    job: JobOutline = field(default_factory=JobOutline)
    stage_id: str = ""
    prompt: PromptShown | None = None
    explained: str = ""
    answer: Answer | None = None
    screws: Screws | None = None
    aim: AimDecided | None = None
    finished: Finished | None = None
    drifted: tuple[str, ...] = ()
    hearings: tuple[str, ...] = ()
    answered_once: bool = False
    bay_shows: Mapping[str, BayShows] = field(default_factory=dict)
    keeps_sound: bool = False
    date_vouched: bool = True

    @property
    def words(self) -> Words:
        """The screen's words in the language of this job."""
        return Words(self.opened.language)

    @property
    def open_step(self) -> StepOutline | None:
        """The step of the job that the open prompt belongs to."""
        return self.job.step(self.prompt.step_id) if self.prompt is not None else None


def fold(events: Iterable[StoredEvent]) -> Told:
    """What these events, in order, tell."""
    told = Told()
    for event in events:
        told = take_event(told, event)
    return told


def take_event(told: Told, event: StoredEvent) -> Told:
    """What is known after one more event, also of the clock that stamped it."""
    return replace(take(told, event.fact), date_vouched=event.clock_trusted)


def take(told: Told, fact: Fact) -> Told:
    """What is known after one more event."""
    match fact:
        case Opened() as opened:
            return Told(opened=opened, job=opened.job_told)
        case Heard() | Refused() | Silent() as hearing:
            return _hear(told, hearing)
        case Stage() as stage:
            return replace(told, stage_id=stage.stage_id)
        case Said() as said:
            return _say(told, said)
        case Accepted() as taken:
            number = told.words.amount(taken.value.lstrip("-"), taken.unit, taken.direction or "")
            return replace(told, answer=Answer("taken", number, taken.title))
        case Answered() as answered:
            said_back = told.prompt.asks.said_back if told.prompt is not None else None
            shown = said_back.spoken if said_back is not None else answered.choice
            title = told.words.asked(answered)
            return replace(told, answer=Answer("taken", _as_name(shown), title))
        case Implausible() as doubted:
            answer = told.answer or Answer("unlikely", "")
            doubt = replace(answer, state="unlikely", why=doubted.why)
            return replace(told, answer=doubt)
        case ScrewPlan() as plan:
            return replace(told, screws=Screws(plan))
        case Consent(keep_sound):
            return replace(told, keeps_sound=keep_sound)
        case Done() as done:
            return _do(told, done.step_id)
        case AimDecided() as aim:
            return replace(told, aim=aim)
        case Stopped():
            return replace(told, screws=None)
        case Finished() as finished:
            return replace(told, finished=finished, prompt=None, answer=None)
        case BayShows() as shows:
            return replace(told, bay_shows={**told.bay_shows, shows.step_id: shows})
        case DriftNoticed(part) if part not in told.drifted:
            return replace(told, drifted=(*told.drifted, part))
        case _:
            return told


def _hear(told: Told, fact: Heard[Meaning] | Refused | Silent) -> Told:
    """An event opens a new step: what was explained before it has been heard."""
    if isinstance(fact, Refused) and fact.is_note:
        return replace(told, explained="", answered_once=True)
    reason = fact.reason if isinstance(fact, Refused) else fact.KIND
    hearings = (*told.hearings, reason)[-HEARINGS_FOR_NOISE:]
    told = replace(told, explained="", hearings=hearings, answered_once=True)
    match fact:
        case Silent():
            return replace(told, answer=Answer("nothing", ""))
        case Refused(how=how):
            why = f"{_as_name(told.words.named('refused-', reason))}."
            return replace(told, answer=Answer("not_understood", "", words=how.words, why=why))
        case Heard():
            return replace(told, answer=_understood(told, fact))


def _understood(told: Told, heard: Heard[Meaning]) -> Answer:
    words = heard.how.words
    match heard.meaning:
        case Number() as number:
            return Answer("heard", _amount(told, number), _title(told), words)
        case Pair(first, second):
            both = f"{_amount(told, first)}, {_amount(told, second)}"
            return Answer("heard", both, _title(told), words)
        case Choice():
            return Answer("heard", words, _title(told), words)
        case Confirmed(then):
            return _understood(_asked_behind(told), replace(heard, meaning=then))
        case No() if told.answer is not None and told.answer.state == "said_back":
            return replace(told.answer, state="not_taken")
        case _:
            # A yes is shown by what it takes, which follows at once.
            return Answer("heard", words, words=words)


def _amount(told: Told, number: Number) -> str:
    value = format(number.value, "f")
    return told.words.amount(value, number.unit or "", number.direction or "")


def _say(told: Told, said: Said) -> Told:
    if said.prompt_id is None:
        if said.purpose == "explain":
            explained = f"{told.explained} {said.in_writing.ask}".strip()
            return replace(told, explained=explained)
        return told
    asks = said.prompt or Prompted()
    prompt = PromptShown(
        step_id=said.step_id or "",
        purpose=said.purpose,
        mode=said.mode,
        before=said.in_writing.before,
        ask=said.in_writing.ask,
        reply=said.in_writing.reply,
        asks=asks,
        behind=said.in_writing.behind,
    )
    told = replace(told, prompt=prompt)
    if asks.to_confirm and told.answer is not None and told.answer.state == "heard":
        shown = said_back_shown(told.words, *asks.to_confirm)
        return replace(told, answer=replace(told.answer, state="said_back", shown=shown))
    return told


def said_back_shown(words: Words, *said_back: SaidBack) -> str:
    """What is to be confirmed: numbers in figures, a choice by its name."""
    return "; ".join(_said_back_shown(words, each) for each in said_back)


def _said_back_shown(words: Words, said_back: SaidBack) -> str:
    if said_back.value is None:
        return _as_name(said_back.spoken)
    return words.amount(said_back.value, said_back.unit, said_back.direction or "")


def _as_name(words: str) -> str:
    return words[:1].upper() + words[1:].replace("_", " ")


def _do(told: Told, step_id: str) -> Told:
    """A deed is done; where it was a screw's turn, the next one is due."""
    if told.screws is None or told.prompt is None or told.prompt.step_id != step_id:
        return told
    step = told.job.step(step_id)
    if step is None or step.step != "aim":
        return told
    screws = replace(told.screws, done=told.screws.done + 1)
    return replace(told, screws=screws if screws.done < len(screws.plan.steps) else None)


def _asked_behind(told: Told) -> Told:
    """With what was asked behind the read-back as what is answered."""
    prompt = told.prompt
    if prompt is None or prompt.asks.behind is None:
        return told
    return replace(told, prompt=replace(prompt, step_id=prompt.asks.behind.step_id))


def _title(told: Told) -> str:
    """What the open prompt asks for, as the job file calls it."""
    step = told.open_step
    return step.title if step is not None else ""
