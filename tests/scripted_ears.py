"""Ears without sound: a list of answers."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from companion.recognition.port import Heard, Listening, Refusal, SoundEnded, Utterance, in_words

_SECONDS_PER_ANSWER = 1.0


class ScriptedEars:
    """Gives the answers of `script` in order; a plain text is an utterance with confidence 1.

    The script may be any iterable, also a generator that looks at what was said in between.
    `turns` keeps every `Listening` that was asked for. Raises `SoundEnded` after the last answer.
    """

    name = "scripted"

    def __init__(self, script: Iterable[str | Utterance | Refusal]) -> None:
        self._script = iter(script)
        self.turns: list[Listening] = []

    def hear(self, listening: Listening) -> Heard:
        """The next answer, whatever the prompt."""
        start_s = len(self.turns) * _SECONDS_PER_ANSWER
        self.turns.append(listening)
        try:
            answer = next(self._script)
        except StopIteration:
            raise SoundEnded(
                f"scripted answers: none is left for prompt {listening.prompt_id!r} "
                f"(turn {len(self.turns)}); wanted one more answer"
            ) from None
        if not isinstance(answer, str):
            return replace(answer, meaning=listening.grammar.parse(answer.words))
        words = " ".join(answer.lower().split())
        return in_words(words, listening.grammar, self.name, start_s, start_s + _SECONDS_PER_ANSWER)

    def close(self) -> None:
        """Nothing to let go of."""
