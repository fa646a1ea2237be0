"""Reads the packaged grammar files: the one module of this room that opens anything.

In an installed package they lie at `companion/_grammars`, in a checkout at `grammars` beside
the package.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import companion
from companion.errors import GrammarError
from companion.words.grammar import Grammar
from companion.words.pronunciations import parse_pronunciations

PRONUNCIATIONS = "pronunciations.txt"


@cache
def load_grammar(language: str = "en") -> Grammar:
    """The checked grammar of a language. Raises GrammarError naming the file and the line."""
    folder = _folder(language)
    files = sorted(folder.glob("*.grammar"))
    if not files:
        raise GrammarError(f"{folder}: found no file, wanted at least one ending in .grammar")
    return Grammar.from_texts({file.name: _text(file) for file in files})


@cache
def _pronunciations(language: str) -> tuple[tuple[str, str], ...]:
    file = _folder(language) / PRONUNCIATIONS
    return tuple(parse_pronunciations(_text(file), file.name).items())


def pronunciations(language: str = "en") -> dict[str, str]:
    """Words that a recogniser's own dictionary may lack, with their phones."""
    return dict(_pronunciations(language))


def _folder(language: str) -> Path:
    package = Path(companion.__file__).parent
    for folder in (package / "_grammars" / language, package.parent / "grammars" / language):
        if folder.is_dir():
            return folder
    raise GrammarError(f"grammars for the language {language!r}: found none, wanted a folder")


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise GrammarError(f"{file.name}: cannot be read ({error}), wanted UTF-8 text") from error
