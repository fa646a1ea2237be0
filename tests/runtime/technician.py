"""A technician for a live companion: waits for it to fall silent, then speaks."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import Companion
from tests.runtime.sound_devices import Mouth, Recording

QUIET_S = 0.7
"""He waits for the end of the prompt, and a little longer than the companion is deaf after it."""
PATIENCE_S = 6.0
"""Without any word on what he said he says it again, as people do."""
MOST_TIMES = 5
"""Somebody who was asked the same so often in a row, and answered, is not heard or not understood:
more of it leads nowhere."""
SAYS = "  says   "


class GotNowhere(Exception):
    """The talk goes in a circle; says at which prompt."""


@dataclass
class LiveTechnician:
    """Answers the prompt whose last words he knows, aloud; `answered` is what he said to what.

    What is said back to him is answered by yes where it is what he said last, else by no.
    `tell`: told of each answer as it is given.
    """

    companion: Companion
    mouth: Mouth
    ears: Recording
    speaker: SyntheticSpeaker
    answers: Mapping[str, str]
    tell: Callable[[str], None] = lambda line: None
    answered: list[tuple[str, str]] = field(default_factory=list)

    def work(self, until: str, within_s: float) -> str | None:
        """Answer prompts until a line with these words comes; that line, or None at the end.

        Raises GotNowhere where the same prompt comes back time after time, TimeoutError where the
        words do not come in time; both say what was asked last.
        """
        until_s = time.monotonic() + within_s
        open_prompt: tuple[str, str] | None = None
        asked_s = self.companion.started_s
        while time.monotonic() < until_s:
            try:
                patience_s = PATIENCE_S if open_prompt else until_s - time.monotonic()
                line = self.companion.next_line(within_s=patience_s)
            except TimeoutError:
                if open_prompt:
                    self.answer(*open_prompt, asked_s)
                continue
            if line is None or until in line:
                return line
            open_prompt = self.understood(line) or open_prompt
            if open_prompt and line.startswith(SAYS):
                asked_s = self.companion.lines[-1][0]
                self.answer(*open_prompt, asked_s)
        asked = f"; asked last: {open_prompt[0]!r}" if open_prompt else ""
        raise TimeoutError(
            f"no {until!r} within {within_s:.0f} s{asked}\n{self.companion.printed()}"
        )

    def understood(self, line: str) -> tuple[str, str] | None:
        """A prompt and what he answers to it; None when it asks nothing that he knows."""
        if not line.startswith(SAYS):
            return None
        prompt = line.removeprefix(SAYS)
        asked = next((asked for asked in self.answers if prompt.endswith(asked)), None)
        if asked is not None:
            return prompt, self.answers[asked]
        if not self.answered or not prompt.endswith("?"):
            return None
        said_last = next((said for _, said in reversed(self.answered) if said != "yes"), "")
        return prompt, "yes" if _words(said_last) == _words(prompt) else "no"

    def answer(self, prompt: str, answer: str, since_s: float) -> None:
        """Hear the prompt to its end through the loudspeaker, then speak."""
        if self.answered[-MOST_TIMES:] == [(prompt, answer)] * MOST_TIMES:
            raise GotNowhere(
                f"{answer!r} was said {MOST_TIMES} times to {prompt!r}, which was asked again\n"
                f"{self.companion.printed()}"
            )
        self.tell(f"{prompt!r}: {answer}")
        if not self.ears.wait_until_said(since_s, QUIET_S, within_s=60.0):
            raise TimeoutError(
                f"nothing came out of the loudspeaker for {prompt!r}\n{self.companion.printed()}"
            )
        self.mouth.speak(self.speaker.say(answer))
        self.answered.append((prompt, answer))


def _words(text: str) -> list[str]:
    return re.findall(r"\w+", text.casefold())
