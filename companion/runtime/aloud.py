"""Talking outside of a job: something is asked, said back, and counts once a yes was said to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from companion.facts.meanings import Command, No, Yes
from companion.facts.message import Message
from companion.language.expectation import Expectation
from companion.language.language import Language
from companion.recognition.port import Ears, Listening, Refusal, StepGrammarLike
from companion.speech.port import Voice

WAIT_S = 30.0
MOST_IN_VAIN = 4
"""So often in a row nothing was understood, or nobody said anything: then it is left."""


@dataclass
class Aloud:
    """Ears and voice to talk with; `show` writes what is said."""

    ears: Ears
    voice: Voice
    language: Language
    show: Callable[[str], None]

    def heard(
        self, prompt_id: str, grammar: StepGrammarLike, *stops: object
    ) -> tuple[object | None, str]:
        """What was heard means, and its words; of a refusal only a stop counts.

        `stops`: what means a stop in this grammar, beside the command.
        """
        heard = self.ears.hear(Listening(prompt_id, grammar, WAIT_S))
        meaning = heard.meaning
        # A stop may rest on little: nothing is lost by it.
        if isinstance(heard, Refusal) and meaning not in (Command("stop"), *stops):
            meaning = None
        return meaning, heard.words

    def is_right(self, prompt_id: str, aloud: Message, shown: Message) -> bool | None:
        """Whether a yes was said to what is said back; None where neither yes nor no came."""
        commands = ("repeat", "stop")
        grammar = self.language.for_step(Expectation(yes_no=True, commands=commands))
        for _ in range(MOST_IN_VAIN):
            self.say(aloud, shown)
            match self.heard(prompt_id, grammar)[0]:
                case Yes():
                    return True
                case No():
                    return False
                case Command("stop"):
                    return None
                case _:
                    continue
        return None

    def tell(self, message: Message) -> None:
        """Say it and show it."""
        self.say(message, message)

    def say(self, aloud: Message, shown: Message) -> None:
        """Say one form of it and show the other."""
        self.show(self.language.show(shown))
        self.voice.say(self.language.say(aloud))
