"""Somebody who spells a number to the companion, and says yes or no to what comes back."""

from __future__ import annotations

from collections.abc import Callable

from companion.language.spelling import Alphabet, SpelledGrammar
from companion.recognition.port import Ears, Heard, Listening, Utterance

_SIGN_PAUSE = " "
_WRITTEN_FOR_FLITE = {"juliett": "juliet", "alfa": "alpha"}
"""flite reads "juliett" as "juleet", which no person says (ICAO: JEW-lee-ETT)."""


class SpellingTechnician:
    """Ears that a technician with a number in hand speaks to; `speak` makes ears of each answer.

    He looks at the screen (`screen`) for what was understood, and says yes to that alone which is
    what he spelled. `answers`: how often he spoke.
    """

    name = "technician"

    def __init__(
        self, number: str, alphabet: Alphabet, speak: Callable[[str], Ears], yes: str, no: str
    ) -> None:
        self._number, self._alphabet, self._speak = number, alphabet, speak
        self._yes, self._no = yes, no
        self._place = 0
        self._spelled = ""
        self.screen: list[str] = []
        self.answers = 0

    def hear(self, listening: Listening) -> Heard:
        self.answers += 1
        if isinstance(listening.grammar, SpelledGrammar):
            size = min(listening.grammar.most, len(self._number) - self._place)
            self._spelled = self._number[self._place : self._place + size]
            said = (self._alphabet.words[sign][0] for sign in self._spelled)
            words = _SIGN_PAUSE.join(_WRITTEN_FOR_FLITE.get(word, word) for word in said)
            return self._speak(words).hear(listening)
        shown = "".join(sign for sign in self.screen[-1].split(".")[0] if sign.isalnum())
        right = shown == self._spelled
        heard = self._speak(self._yes if right else self._no).hear(listening)
        if right and isinstance(heard, Utterance) and heard.meaning is not None:
            self._place += len(self._spelled)
        return heard

    def close(self) -> None:
        """Nothing to let go of."""
