"""Spelling to the companion: a few signs at a time, each said back and waiting for its yes."""

from __future__ import annotations

from dataclasses import dataclass

from companion.errors import CompanionError
from companion.facts.message import Message, as_message, problem
from companion.job.vin import LENGTH, NEVER, VinError, in_groups, vin_of
from companion.language.spelling import (
    MOST_AT_A_TIME,
    Alphabet,
    SpellingCommand,
    SpellingEnds,
    Spelt,
)
from companion.runtime.aloud import MOST_IN_VAIN, Aloud


class SpellingLeft(CompanionError):
    """It was left: by a stop, or because nothing was understood."""


class NotUnderstood(SpellingLeft):
    """Again and again nothing was understood, or something else was."""


@dataclass
class SpeltAloud:
    """One conversation in which something is spelled; `alphabet` is as its ears know it."""

    talk: Aloud
    alphabet: Alphabet

    def vin(self, *, check_digit: bool) -> str:
        """A vehicle identification number that was said yes to, group by group; "" for none.

        One that was typed or scanned whole is said back whole. A group that is not understood is
        asked for sign by sign. Raises SpellingLeft as `text` does, and SoundEnded where nothing
        more can be heard.
        """
        groups: list[str] = []
        one_by_one = 0
        while True:
            signs = sum(map(len, groups))
            left = LENGTH - signs
            size = 1 if one_by_one else len(in_groups("0" * left)[0])
            ask = Message("spell-first-of-vin" if not groups else "spell-next", {"count": size})
            try:
                found = self._asked(ask, size, size, ends=not groups)
            except NotUnderstood:
                if one_by_one:
                    raise
                one_by_one = len(in_groups("0" * left)[0])
                self.talk.tell(Message("spell-one-by-one"))
                continue
            if found is None:
                groups = groups[:-1]
                continue
            if not found:
                return ""
            if len(found) == LENGTH:
                groups = []
            elif len(found) > left:
                self.talk.tell(Message("spell-not-understood", {"count": size}))
                continue
            if never := next((sign for sign in found if sign in NEVER), ""):
                self.talk.tell(Message("spell-never-in-vin", {"letter": never}))
                continue
            groups.append(found)
            one_by_one = max(0, one_by_one - 1)
            if len("".join(groups)) == LENGTH:
                try:
                    return vin_of("".join(groups), check_digit=check_digit)
                except VinError as error:
                    self.talk.show(self.talk.language.show(as_message(problem(error))))
                    self.talk.tell(Message("spell-check-digit"))
                    groups = []

    def text(self, what: str) -> str:
        """An order's number, a plate or a code, until the end is said; "" for none.

        `what`: the id of the message that names it. Raises SpellingLeft where it was stopped, or
        nothing was understood for several times.
        """
        groups: list[str] = []
        while True:
            named = Message("spell-some", {"what": Message(what), "count": MOST_AT_A_TIME})
            found = self._asked(
                named if not groups else Message("spell-more"), 1, MOST_AT_A_TIME, ends=True
            )
            if found is None:
                groups = groups[:-1]
            elif not found:
                return "".join(groups)
            else:
                groups.append(found)

    def _asked(self, ask: Message, least: int, most: int, *, ends: bool) -> str | None:
        """Signs that were said yes to; "" for the end, None to take the last ones back.

        What the ears are not sure of is said back as well: the yes decides. What was said no to is
        not taken for it once more.
        """
        in_vain, denied = 0, frozenset[str]()
        while in_vain < MOST_IN_VAIN:
            self.talk.tell(ask)
            grammar = self.talk.language.spelled(
                self.alphabet, least, most, ends=ends, denied=denied
            )
            meaning, words = self.talk.heard("spelling", grammar, SpellingCommand("stop"))
            match meaning if meaning is not None else grammar.parse(words):
                case Spelt(signs):
                    if self._is_right(signs):
                        return signs
                    in_vain += 1
                    denied |= {signs}
                case SpellingEnds() if meaning is not None:
                    return ""
                case SpellingCommand("stop"):
                    raise SpellingLeft(
                        "the spelling was broken off; wanted: type it, or spell it again",
                        said="spelling-left",
                    )
                case SpellingCommand("go_back") if meaning is not None:
                    return None
                case SpellingCommand() if meaning is not None:
                    pass
                case _:
                    in_vain += 1
                    self.talk.tell(Message("spell-not-understood", {"count": most}))
        raise NotUnderstood(
            "the spelling was broken off; wanted: type it, or spell it again",
            said="spelling-left",
        )

    def _is_right(self, signs: str) -> bool:
        """Whether a yes was said to the signs as they are said back; silence is none."""
        right = self.talk.is_right(
            "spelled",
            Message("spell-back", {"signs": self.alphabet.aloud(signs)}),
            Message("spell-back", {"signs": " ".join(in_groups(signs))}),
        )
        if right is None:
            raise SpellingLeft(
                "what was spelled got no yes; wanted: type it, or spell it again",
                said="spelling-no-yes",
            )
        return right
