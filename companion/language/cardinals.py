"""Whole numbers in words by rules that are data.

A subset of the rule-based number format of Unicode (UTS 35, part 3): each rule has a base number
and holds from there up to the next rule's. In its text

    <<  or <set<   is the number divided by the base's power of ten, without the rest
    >>  or >set>   is the rest
    =set=          is the number itself by another set of rules
    [ ]            is left out where there is no rest

so `100: << hundred[ and >>]` says 105 as "one hundred and five".
"""

from __future__ import annotations

import re
from collections.abc import Mapping

_PART = re.compile(r"<(?P<whole>[a-z]*)<|>(?P<rest>[a-z]*)>|=(?P<same>[a-z]+)=")
_MAYBE = re.compile(r"\[([^\[\]]*)\]")
_DEEPEST = 12


class CardinalRules:
    """The sets of rules of a language. Raises ValueError for rules that cannot be followed."""

    def __init__(self, sets: Mapping[str, Mapping[int, str]]) -> None:
        self._sets = {name: sorted(rules.items(), reverse=True) for name, rules in sets.items()}
        for name, rules in sets.items():
            if 0 not in rules and name == "main":
                raise ValueError(f"the set {name} with a rule for 0")
            for text in rules.values():
                named = {found for part in _PART.finditer(text) for found in part.groups() if found}
                if unknown := named - set(sets):
                    raise ValueError(f"rules that name sets there are, not {sorted(unknown)}")
        if "main" not in sets:
            raise ValueError("a set of rules named main")

    def say(self, number: int, name: str = "main") -> str:
        """The number in words by a set of rules; by `main` where there is no such set."""
        return self._say(number, name if name in self._sets else "main", 0)

    def _say(self, number: int, name: str, depth: int) -> str:
        if depth > _DEEPEST:
            raise ValueError(f"rules that come to an end at {number}")
        base, text = next((b, t) for b, t in self._sets[name] if b <= number)
        power = 10 ** (len(str(base)) - 1)
        whole, rest = divmod(number, power)
        text = _MAYBE.sub(lambda found: found[1] if rest else "", text)

        def filled(part: re.Match[str]) -> str:
            if part["same"]:
                return self._say(number, part["same"], depth + 1)
            if part["whole"] is not None:
                return self._say(whole, part["whole"] or name, depth + 1)
            return self._say(rest, part["rest"] or name, depth + 1)

        return _PART.sub(filled, text)
