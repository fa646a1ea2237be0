"""One step's work in the making: a state that moves on, and the effects gathered on the way.

Handlers get a `Transaction`, change it, and are done; `step` takes the state and the effects out
again. It lives for one step only, so from outside the dialogue stays a pure function.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Literal

from companion.dialogue.effects import Close, Effect, Listen, Pace, Purpose, Record, Say
from companion.dialogue.pace import pace_of, takes_its_time
from companion.dialogue.state import Mode, Prompt, State
from companion.facts.kinds import Fact
from companion.facts.message import Told, as_message
from companion.facts.prompting import AnswerKind, NumberWanted, Prompted
from companion.facts.talking import Said, Shown
from companion.language.expectation import Expectation

ANSWER_TIMEOUT_S = 30.0
NOTE_TIMEOUT_S = 15.0
LEADS_ON = ("carry_on", "end_job")
"""The commands that are answers where nothing else is one: paused, or stopped."""
ALWAYS = (
    "repeat",
    "wait",
    "go_back",
    "stop",
    "what_can_i_say",
    "where_are_we",
    "note",
    "louder",
    "quieter",
    "slower",
    "faster",
)


class Transaction:
    """The state so far and what is to be done, in order.

    `again`: the prompt that comes next was asked before, and its answer did not get through.
    `in_front`: what is to be done and said in front of the prompt that comes next. `voice`: whether
    a prompt is spoken; "screen": it was just said and is only shown and listened under; "none": it
    was just said and answered. `yes`: what a yes to a read-back does, for looking ahead; None where
    this is such a look.
    """

    def __init__(self, state: State, yes: Callable[[Transaction], None] | None = None) -> None:
        self.state = state
        self.yes = yes
        self.effects: list[Effect] = []
        self._announced: list[tuple[Told, Purpose]] = []
        self._counted: list[str] = []
        self._in_full = ""
        self.again = False
        self.in_front: tuple[Told, ...] = ()
        self.voice: Literal["spoken", "screen", "none"] = "spoken"

    def change(self, **fields: Any) -> None:
        self.state = replace(self.state, **fields)

    def count(self, name: str, *, once: bool = False) -> None:
        """This was told (one time more, or `once` for all) by what is said with the next prompt."""
        times = self.state.told.get(name, 0)
        if not (once and times):
            self.change(told={**self.state.told, name: times + 1})
            self._counted.append(name)

    def count_in_full(self, text: str) -> None:
        """The next prompt is this text, said in full."""
        if text not in self.state.in_full_texts:
            self.change(in_full_texts=self.state.in_full_texts | {text})
            self._in_full = text

    def record(self, fact: Fact) -> None:
        self.effects.append(Record(fact))

    def words(self, told: Told) -> str:
        """What is said, in the words of the job's language."""
        return told if isinstance(told, str) else self.state.lexicon.say(told)

    def in_writing(self, told: Told) -> str:
        """The same as it is shown, with figures and signs."""
        return told if isinstance(told, str) else self.state.lexicon.show(told)

    def announce(
        self, told: Told, purpose: Purpose = "announce", *, written: Told | None = None
    ) -> None:
        """Say something that asks for no answer. `written`: more of it, for the screen."""
        mode = self.state.mode.value
        text, shown = self.words(told), Shown(self.in_writing(written or told))
        said = Said(
            prompt_id=None,
            step_id=self._step_id(),
            purpose=purpose,
            mode=mode,
            text=text,
            ask=None,
            messages={"text": as_message(written or told)},
            shown=shown if shown.ask != text else None,
        )
        self._say(said, purpose, "unhurried")
        if text:
            self._announced.append((told, purpose))

    def ask(
        self,
        step_id: str,
        ask: Told,
        expectation: Expectation,
        *,
        before: Told = "",
        reply: Told = "",
        short: Told = "",
        spoken: Told | None = None,
        behind: Told = "",
        purpose: Purpose = "ask",
        mode: Mode = Mode.ASKING,
        told: Prompted = Prompted(),  # noqa: B008 - frozen
        again: bool = False,
        once_more: bool = False,
        note: bool = False,
        open_after: str = "",
        timeout_s: float = ANSWER_TIMEOUT_S,
    ) -> None:
        """Open a new prompt; answers to any earlier one no longer count.

        `ask` says what is wanted and `reply` how to answer; a repetition says both again. `before`
        is said once, in the same breath. `spoken`: what is said in place of both; `short`: what
        would be enough for who knows the prompt. `behind`: what `spoken` asks behind a read-back.
        `told`: what is known of the prompt beside what its expectation tells. `again`: an answer
        to it did not get through; `once_more`: it was just said. `open_after`: once these words
        of it are out it may be answered.
        """
        number = self.state.prompt_count + 1
        told = replace(
            prompted(expectation, told, note=note),
            again=again or self.again,
            open_after=open_after,
        )
        is_short = spoken is not None
        takes_time = once_more or takes_its_time(self.state)
        prompt = Prompt(
            f"p{number}",
            step_id,
            ask,
            expectation,
            reply,
            told,
            short,
            is_short,
            before,
            tuple(self._announced),
            tuple(self._counted),
            self._in_full,
        )
        self._announced, self._counted, self._in_full = [], [], ""
        self.change(prompt=prompt, prompt_count=number, mode=mode, in_full=False)
        if self.voice == "none":
            return
        parts = {"before": before, "ask": ask, "reply": reply, "behind": behind}
        words = {name: self.words(part) for name, part in parts.items()}
        figures = {name: self.in_writing(part) for name, part in parts.items()}
        all_of_it = (words["ask"], words["reply"]) if spoken is None else (self.words(spoken),)
        said = (words["before"], *all_of_it)
        fact = Said(
            prompt_id=prompt.id,
            step_id=step_id,
            purpose=purpose,
            mode=mode.value,
            text="" if self.voice == "screen" else " ".join(filter(None, said)),
            ask=words["ask"],
            before=words["before"],
            reply=words["reply"],
            behind=words["behind"],
            prompt=told,
            messages={name: as_message(part) for name, part in parts.items() if part},
            shown=Shown(**figures) if figures != words else None,
        )
        self._say(fact, purpose, "unhurried" if takes_time else pace_of(fact))
        self.effects.append(Listen(prompt.id, expectation, timeout_s, note))

    def close(self, result: str) -> None:
        self.change(mode=Mode.CLOSED, prompt=None, result=result)
        self.effects.append(Close(result))

    def _say(self, said: Said, purpose: Purpose, pace: Pace) -> None:
        self.record(said)
        if said.text:
            speed, volume = self.state.speed_percent, self.state.volume
            opens = said.prompt.open_after if said.prompt is not None else ""
            prompt_id = said.prompt_id
            self.effects.append(Say(said.text, purpose, speed, volume, prompt_id, opens, pace))

    def _step_id(self) -> str | None:
        return self.state.prompt.step_id if self.state.prompt is not None else None


def prompted(expectation: Expectation, told: Prompted, *, note: bool = False) -> Prompted:
    """What the record tells of a prompt with this expectation, beside what is `told` already."""
    form = expectation.number
    number = None
    if form is not None:
        number = NumberWanted(
            unit=form.units[0] if form.units else "",
            directions=form.directions,
            digit_by_digit=form.digits_only,
        )
    answer = _answer(expectation, note=note)
    leads_on = tuple(name for name in expectation.commands if name in LEADS_ON)
    return replace(
        told,
        answer=answer,
        number=number,
        choices=expectation.choices,
        commands=leads_on if answer == "command" else (),
    )


def _answer(expectation: Expectation, *, note: bool) -> AnswerKind:
    """The kind of answer that leads on. A read-back takes a new answer too, but wants its yes."""
    kinds: tuple[tuple[AnswerKind, bool], ...] = (
        ("note", note),
        ("yes_no", expectation.yes_no),
        ("number", expectation.number is not None),
        ("choice", bool(expectation.choices)),
        ("done", expectation.done),
        ("word", bool(expectation.words)),
    )
    return next((kind for kind, holds in kinds if holds), "command")
