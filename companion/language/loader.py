"""Reads the folder of a language: the one module of this room that opens anything.

In an installed package the folders lie at `companion/_grammars`, in a checkout at `grammars` beside
the package.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import companion
from companion.base.yaml_text import parse
from companion.errors import FileProblem, GrammarError
from companion.language.language import Language
from companion.language.pronunciations import parse_pronunciations
from companion.language.vocabulary import Vocabulary

REFERENCE = "en"
"""The language that every other one is measured against: what it lacks it cannot say."""
LANGUAGE = "language.yaml"
PRONUNCIATIONS = "pronunciations.txt"


@cache
def load_language(code: str = REFERENCE) -> Language:
    """The checked language. Raises GrammarError naming the file and the line."""
    language = read_language(_folder(code))
    if language.code != code:
        raise GrammarError(f"{code}/{LANGUAGE}: found the code {language.code!r}, wanted {code!r}")
    if code != REFERENCE:
        language.check_against(load_language(REFERENCE))
    return language


def read_language(folder: Path) -> Language:
    """The language of a folder. Raises GrammarError naming the file and the line."""
    try:
        vocabulary = parse(_text(folder / LANGUAGE), f"{folder.name}/{LANGUAGE}", Vocabulary)
    except FileProblem as error:
        raise GrammarError(str(error)) from error
    pronounced = folder / PRONUNCIATIONS
    language = Language(
        vocabulary,
        _texts(folder, "grammar"),
        _texts(folder, "ftl"),
        parse_pronunciations(_text(pronounced), pronounced.name) if pronounced.exists() else {},
    )
    language.check_voice_check()
    return language


def pronunciations(code: str = REFERENCE) -> dict[str, str]:
    """Words that a recogniser's own dictionary may lack, with their phones."""
    return dict(load_language(code).pronunciations)


def language_codes() -> tuple[str, ...]:
    """The codes of the languages that there are."""
    found = {
        folder.name
        for place in _places()
        if place.is_dir()
        for folder in place.iterdir()
        if (folder / LANGUAGE).is_file()
    }
    return tuple(sorted(found))


def _places() -> tuple[Path, Path]:
    package = Path(companion.__file__).parent
    return package / "_grammars", package.parent / "grammars"


def _folder(code: str) -> Path:
    for place in _places():
        if (place / code).is_dir():
            return place / code
    raise GrammarError(
        f"the language {code!r}: found no folder of it, wanted one of {', '.join(language_codes())}"
    )


def _texts(folder: Path, ending: str) -> dict[str, str]:
    files = sorted(folder.glob(f"*.{ending}"))
    if not files:
        raise GrammarError(f"{folder}: found no file, wanted at least one ending in .{ending}")
    return {file.name: _text(file) for file in files}


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise GrammarError(f"{file.name}: cannot be read ({error}), wanted UTF-8 text") from error
