"""Two minutes on the first day: the words that matter, twice each, shown, spoken and heard.

A take counts only where the ears, as they are, hold the word that was asked for to be the likeliest
of all; how sure they are of it does not matter, for that is what is to be learned.
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from companion.errors import EarsError
from companion.facts.message import Message
from companion.language.expectation import Expectation
from companion.language.language import Language
from companion.recognition.own.evidence import Evidence
from companion.recognition.port import Ears, Listening, Refusal, StepGrammarLike
from companion.recognition.source import LONGEST_ANSWER_S, read_sound

TIMES = 2
_TRIES = 3
_TIMEOUT_S = 5.0
_LISTED = "speech.tsv"
_MOST_ROWS = 1000
_SPOILED = frozenset({"silence", "clipped", "too_quiet", "too_long", "sound_lost"})

Ask = Callable[[Message], None]
"""Shows and says what is asked for."""


class Enrolling(Protocol):
    """A recogniser that tells what it holds for likeliest, however weak."""

    name: str

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        ...

    def evidence(self, sound: bytes) -> Evidence | None:
        """What the sound says in the loaded grammar."""
        ...


@dataclass
class Enrolled:
    """What was said to enrol: words with their sounds, and the words that were not heard."""

    said: list[tuple[str, bytes]] = field(default_factory=list)
    missed: list[str] = field(default_factory=list)


def words_to_learn(
    language: Language, known: frozenset[str], first: Iterable[str] = ()
) -> tuple[str, ...]:
    """The words that matter in a language, as far as the recogniser knows them.

    `first`: words that were hard to hear, the hardest first; those that matter begin.
    """
    matter = [word for word in language.vocabulary.learned_words if word in known]
    hard = [word for word in dict.fromkeys(first) if word in matter]
    return (*hard, *(word for word in matter if word not in hard))


def heard_from(
    ears: Ears, recogniser: Enrolling, language: Language, words: Sequence[str], ask: Ask
) -> Enrolled:
    """Ask for each word, and again once all are said; a line that is typed leaves a word out.

    Raises `EarsError` where the ears cannot be used.
    """
    grammar = language.for_step(Expectation(words=tuple(words)))
    found = Enrolled()
    for word in [*words] * TIMES:
        ask(Message("voice-say", {"word": word}))
        for attempt in range(1, _TRIES + 1):
            heard = ears.hear(Listening("enrol", grammar, _TIMEOUT_S))
            if not heard.sound and heard.how.ears != recogniser.name:
                found.missed.append(word)
                break
            if _is_take(recogniser, grammar, heard.sound, word, _reason(heard)):
                found.said.append((word, heard.sound))
                break
            if attempt == _TRIES:
                found.missed.append(word)
                ask(Message("voice-left-out", {"word": word}))
            else:
                ask(Message("voice-say-again", {"word": word}))
    return found


def _reason(heard: object) -> str:
    return heard.reason if isinstance(heard, Refusal) else ""


def _is_take(
    recogniser: Enrolling, grammar: StepGrammarLike, sound: bytes, word: str, reason: str
) -> bool:
    if not sound or reason in _SPOILED:
        return False
    recogniser.load(grammar)
    found = recogniser.evidence(sound)
    return found is not None and found.words == word


def read_from(folder: Path, name: str, known: frozenset[str]) -> Enrolled:
    """What a person said in a folder of recordings, as the ears benchmark has them.

    `folder` holds `speech.tsv` (columns path, transcript and speaker at least) and sound files. Of
    several speakers those rows are taken whose speaker is `name`. Raises `EarsError` for a folder
    that is no such one, and where none of its words are known.
    """
    rows = _rows(folder)
    speakers = {row["speaker"] for row in rows}
    wanted = {who for who in speakers if who.casefold() == name.casefold()}
    if len(speakers) > 1 and not wanted:
        raise EarsError(
            f"{folder / _LISTED}: nobody of its {len(speakers)} speakers is called {name!r}; "
            "wanted: rows of one speaker, or that name in the column speaker"
        )
    found = Enrolled()
    for row in rows:
        words = " ".join(row["transcript"].lower().split())
        if wanted and row["speaker"] not in wanted:
            continue
        if not words or not known.issuperset(words.split()):
            found.missed.append(words)
            continue
        found.said.append((words, read_sound(_inside(folder, row["path"]), LONGEST_ANSWER_S)))
    if not found.said:
        raise EarsError(f"{folder / _LISTED}: holds no words that these ears know")
    return found


def _rows(folder: Path) -> list[dict[str, str]]:
    path = folder / _LISTED
    try:
        with path.open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE))
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise EarsError(
            f"{path}: cannot be read ({error}); wanted: a list of recordings"
        ) from error
    if not 0 < len(rows) <= _MOST_ROWS:
        raise EarsError(f"{path}: holds {len(rows)} rows; wanted: 1 to {_MOST_ROWS}")
    for number, row in enumerate(rows, 2):
        if any(not isinstance(row.get(key), str) for key in ("path", "transcript", "speaker")):
            raise EarsError(
                f"{path}, line {number}: wanted the columns path, transcript and speaker, with "
                "tabs between them"
            )
    return rows


def _inside(folder: Path, path: str) -> Path:
    whole = (folder / path).resolve()
    if not whole.is_relative_to(folder.resolve()):
        raise EarsError(f"{folder / _LISTED}: {path!r} lies outside of the folder")
    return whole
