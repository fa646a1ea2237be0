"""A technician for a live companion: waits for it to fall silent, then speaks."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field

from companion.simulation.speakers import SyntheticSpeaker
from tests.runtime.running import Companion
from tests.runtime.sound_devices import Mouth, Recording

QUIET_S = 0.7
"""He waits for the end of the prompt, and a little longer than the companion is deaf after it."""
PATIENCE_S = 6.0
"""Without any word on what he said he says it again, as people do."""
SAYS = "  says   "


@dataclass
class LiveTechnician:
    """Answers the prompt whose last words he knows, aloud; `answered` is what he said to what."""

    companion: Companion
    mouth: Mouth
    ears: Recording
    speaker: SyntheticSpeaker
    answers: Mapping[str, str]
    answered: list[tuple[str, str]] = field(default_factory=list)

    def work(self, until: str, within_s: float) -> str | None:
        """Answer prompts until a line with these words comes; that line, or None at the end."""
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
        raise TimeoutError(f"no {until!r} within {within_s} s; {self.companion.printed()}")

    def understood(self, line: str) -> tuple[str, str] | None:
        """A prompt and what he answers to it; None when it asks nothing that he knows."""
        asked = next((asked for asked in self.answers if line.endswith(asked)), None)
        return None if asked is None else (line.removeprefix(SAYS), self.answers[asked])

    def answer(self, prompt: str, answer: str, since_s: float) -> None:
        """Hear the prompt to its end through the loudspeaker, then speak."""
        if not self.ears.wait_until_said(since_s, QUIET_S, within_s=60.0):
            raise TimeoutError(f"nothing came out of the loudspeaker for {prompt!r}")
        self.mouth.speak(self.speaker.say(answer))
        self.answered.append((prompt, answer))
