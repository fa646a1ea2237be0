"""One step's work in the making: a state that moves on, and the effects gathered on the way.

Handlers get a `Transaction`, change it, and are done; `step` takes the state and the effects out
again. It lives for one step only, so from outside the dialogue stays a pure function.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from companion.dialogue.effects import Close, Effect, Listen, Purpose, Record, Say
from companion.dialogue.state import Mode, Prompt, State
from companion.facts.kinds import Fact
from companion.facts.talking import Said
from companion.words.expectation import Expectation

ANSWER_TIMEOUT_S = 30.0
NOTE_TIMEOUT_S = 15.0
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
    """The state so far and what is to be done, in order."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.effects: list[Effect] = []

    def change(self, **fields: Any) -> None:
        self.state = replace(self.state, **fields)

    def record(self, fact: Fact) -> None:
        self.effects.append(Record(fact))

    def announce(self, text: str, purpose: Purpose = "announce") -> None:
        """Say something that asks for no answer."""
        self._say(text, purpose, prompt_id=None, step_id=self._step_id())

    def ask(
        self,
        step_id: str,
        text: str,
        expectation: Expectation,
        *,
        purpose: Purpose = "ask",
        mode: Mode = Mode.ASKING,
        ask: str | None = None,
        note: bool = False,
        timeout_s: float = ANSWER_TIMEOUT_S,
    ) -> None:
        """Open a new prompt; answers to any earlier one no longer count.

        `ask` is what a repetition says, where that differs from `text`.
        """
        number = self.state.prompt_count + 1
        prompt = Prompt(f"p{number}", step_id, ask or text, expectation)
        self.change(prompt=prompt, prompt_count=number, mode=mode)
        self._say(text, purpose, prompt_id=prompt.id, step_id=step_id, ask=prompt.ask)
        self.effects.append(Listen(prompt.id, expectation, timeout_s, note))

    def close(self, result: str) -> None:
        self.change(mode=Mode.CLOSED, prompt=None, result=result)
        self.effects.append(Close(result))

    def _say(
        self,
        text: str,
        purpose: Purpose,
        prompt_id: str | None,
        step_id: str | None,
        ask: str | None = None,
    ) -> None:
        self.record(Said(prompt_id, step_id, purpose, self.state.mode.value, text, ask))
        self.effects.append(Say(text, purpose, self.state.speed_percent, self.state.volume))

    def _step_id(self) -> str | None:
        return self.state.prompt.step_id if self.state.prompt is not None else None
