"""An acceptor that knows only the JSGF text, written apart from the package's own parser."""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from companion.language.grammar import Grammar
from companion.language.loader import load_language

TOKEN = re.compile(r"<[a-z_0-9]+>|[a-z]+|[\[\]()|]")


class JsgfAcceptor:
    """Reads the rules of a JSGF text and walks them with sets of positions."""

    def __init__(self, text: str) -> None:
        header, *rules = [part.strip() for part in text.split(";") if part.strip()]
        assert header == "#JSGF V1.0"
        assert rules.pop(0) == "grammar step"
        self.rules: dict[str, list[str]] = {}
        self.public = [rule for rule in rules if rule.startswith("public ")]
        assert len(self.public) == 1
        for rule in rules:
            name, body = re.fullmatch(r"(?:public )?(<[a-z_0-9]+>) = (.*)", rule).groups()
            assert name not in self.rules
            pieces = TOKEN.findall(body)
            assert "".join(pieces) == body.replace(" ", ""), body
            self.rules[name] = pieces

    def accepts(self, text: str) -> bool:
        words = text.split()
        return len(words) in self._rule("<step>", words, {0})

    def _rule(self, name: str, words: list[str], starts: set[int]) -> set[int]:
        ends, rest = self._alternatives(self.rules[name], 0, words, starts)
        assert rest == len(self.rules[name])
        return ends

    def _alternatives(
        self, pieces: list[str], at: int, words: list[str], starts: set[int]
    ) -> tuple[set[int], int]:
        ends: set[int] = set()
        here = starts
        while at < len(pieces) and pieces[at] not in "])":
            piece = pieces[at]
            at += 1
            if piece == "|":
                ends |= here
                here = starts
            elif piece in "[(":
                inner, at = self._alternatives(pieces, at, words, here)
                assert pieces[at] == {"[": "]", "(": ")"}[piece]
                at += 1
                here = inner | here if piece == "[" else inner
            elif piece.startswith("<"):
                here = self._rule(piece, words, here) if here else here
            else:
                here = {p + 1 for p in here if p < len(words) and words[p] == piece}
        return ends | here, at


@pytest.fixture(scope="session")
def grammar() -> Grammar:
    return load_language().grammar


@pytest.fixture(scope="session")
def acceptor() -> Callable[[str], JsgfAcceptor]:
    known: dict[str, JsgfAcceptor] = {}

    def make(text: str) -> JsgfAcceptor:
        if text not in known:
            known[text] = JsgfAcceptor(text)
        return known[text]

    return make
