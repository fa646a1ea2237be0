"""Whether more is to be expected after what has been said, by the grammar and by what is likely."""

from __future__ import annotations

from typing import Literal

from companion.recognition.own.acceptor import Acceptor
from companion.recognition.own.search import Hearing
from companion.recognition.port import Expects, StepGrammarLike

Completion = Literal["over", "complete", "whole", "open", "unfinished"]
"""Nothing that may follow would change the meaning; a likely answer, which nothing makes another
likely one; an answer of which no more is known; a likely answer that may become another likely
one; no likely answer yet."""

_MOST_ENDINGS = 8
"""Where a sentence can go on in more ways than these, it is not looked at what they mean."""
_MOST_LOOKED_AT = 96
_MOST_WORDS = 4
"""So many ways of going on, of so many words, are looked at; of more, one counts as likely."""


def completion(
    so_far: Hearing, acceptor: Acceptor, grammar: StepGrammarLike, expects: Expects | None
) -> Completion:
    """What is to be expected; "stop" may go on with "now" and is over all the same."""
    if not so_far.whole or so_far.best_whole <= so_far.unfinished:
        return "unfinished"
    if not acceptor.steps[so_far.state]:
        return "over"
    words, meaning = so_far.whole[0].words, so_far.whole[0].meaning
    if meaning is None:
        return "whole"
    if all(
        number < _MOST_ENDINGS and grammar.parse(" ".join((*words, *more))) == meaning
        for number, more in enumerate(acceptor.endings(so_far.state))
    ):
        return "over"
    if expects is None:
        return "whole"
    if not expects(meaning):
        return "unfinished"
    goes_on = _GoingOn(acceptor, grammar, expects, meaning)
    return "open" if goes_on.is_likely(words, so_far.state, _MOST_WORDS) else "complete"


class _GoingOn:
    """The search for another likely answer that begins with the words of a likely one.

    What makes it unlikely is not looked into further: a number only grows with each word more.
    Where it becomes an answer of another kind (a second reading behind the first), that counts as
    likely.
    """

    def __init__(
        self, acceptor: Acceptor, grammar: StepGrammarLike, expects: Expects, meaning: object
    ) -> None:
        self._acceptor = acceptor
        self._grammar = grammar
        self._expects = expects
        self._meaning = meaning
        self._left = _MOST_LOOKED_AT

    def is_likely(self, words: tuple[str, ...], state: int, most_words: int) -> bool:
        """Whether another likely answer begins like this."""
        return any(
            self._leads_to_another((*words, word), after, most_words - 1)
            for after, word in self._acceptor.steps[state].values()
        )

    def _leads_to_another(self, words: tuple[str, ...], state: int, most_words: int) -> bool:
        if self._acceptor.ends[state]:
            self._left -= 1
            meaning = self._grammar.parse(" ".join(words))
            if meaning is not None and meaning != self._meaning:
                return type(meaning) is not type(self._meaning) or self._expects(meaning)
        if most_words == 0 or self._left <= 0:
            return True
        return self.is_likely(words, state, most_words)


__all__ = ["Completion", "completion"]
