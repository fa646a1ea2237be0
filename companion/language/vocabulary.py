"""The words of a language as its `language.yaml` gives them: numbers, units, directions."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from string import ascii_uppercase
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator

from companion.facts.quantities import DIRECTION_IDS, SAID_UNIT_IDS, UNIT_IDS

Gender = Literal["masculine", "feminine", "neuter", "common"]
RECOGNISERS = ("own", "sphinx", "vosk")


def is_word(text: str) -> bool:
    """Whether this is one word as a grammar wants it: lower-case letters, composed (NFC)."""
    return (
        bool(text)
        and all(unicodedata.category(sign)[0] in "LM" for sign in text)
        and text == text.lower()
        and unicodedata.is_normalized("NFC", text)
    )


def _phrase(text: str) -> str:
    if not text or not all(is_word(word) for word in text.split(" ")):
        raise ValueError("words in lower-case letters with one space between them")
    return text


Phrase = Annotated[str, AfterValidator(_phrase)]


class _Part(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


Figure = Annotated[str, Field(pattern=r"^[0-9.]$")]


class Numbers(_Part):
    """How numbers are said and written.

    `cardinals`: rules in the form of Unicode's rule-based number format (see `cardinals.py`), by
    the name of their set; the set `main` counts, one named like a gender counts things of it.
    `digits_also`: other words for a digit or the point, to find a number in what was said.
    `typed_points`: what may stand before typed decimals; the first is how they are written.
    `never_alone`: words for a digit that sound like "no", and so are no new reading by themselves
    where yes or no is waited for. `like_no`: other words for a digit that somebody's "no" was taken
    for; the same holds for them, but they are said like any other where something is spelled.
    """

    digits: Annotated[tuple[Phrase, ...], Field(min_length=10, max_length=10)]
    digits_also: Mapping[Figure, tuple[Phrase, ...]] = {}
    never_alone: tuple[Phrase, ...] = ()
    like_no: tuple[Phrase, ...] = ()
    point: Phrase
    cardinals: Mapping[str, Mapping[Annotated[int, Field(ge=0)], str]]
    typed_points: Annotated[tuple[Literal[".", ","], ...], Field(min_length=1)]
    example_digits: Annotated[str, Field(pattern=r"^[1-9][0-9]{3}$")]


class Unit(_Part):
    """A unit: `forms` by plural category (CLDR), `heard` what is accepted beside them.

    `written` stands behind the figures as it is, or by plural category. `typed`: short names that
    may be typed. `numeral`: the gender of the numerals before it.
    """

    forms: Mapping[str, Phrase]
    heard: tuple[Phrase, ...] = ()
    written: str | Mapping[str, str]
    typed: tuple[str, ...] = ()
    gender: Gender = "neuter"

    @model_validator(mode="after")
    def _has_other(self) -> Unit:
        for forms in (self.forms, self.written):
            if not isinstance(forms, str) and "other" not in forms:
                raise ValueError("a form for the category 'other', which every language has")
        return self

    def all_heard(self) -> tuple[str, ...]:
        """Every phrase that is accepted for the unit."""
        return tuple(dict.fromkeys((*self.forms.values(), *self.heard)))


class Direction(_Part):
    """A direction: how it is said and shown, and what is accepted for it beside that.

    `typed`: short names that may be typed.
    """

    said: Phrase
    heard: tuple[Phrase, ...] = ()
    typed: tuple[str, ...] = ()

    def all_heard(self) -> tuple[str, ...]:
        """Every phrase that is accepted for the direction."""
        return tuple(dict.fromkeys((self.said, *self.heard)))


class Quarters(_Part):
    """Turns in quarters. In `after`, `{whole}` is the whole number, `{amount}` it with its unit."""

    alone: Mapping[Literal["1", "2", "3"], Phrase]
    after: Mapping[Literal["1", "2", "3"], str]
    typed: Mapping[Literal["1/4", "1/2", "3/4"], Phrase]
    typed_after: Mapping[Literal["1/4", "1/2", "3/4"], Phrase]


class Lists(_Part):
    """What joins the last item of a list to the ones before it."""

    conjunction: str
    disjunction: str


class VoiceCheckWords(_Part):
    """What the voice check asks for, in order; `beside`: what else a word may be taken for.

    `alike`: those of the words that are taken for each other so easily that who is not understood
    with them says numbers digit by digit.
    """

    words: Annotated[tuple[Phrase, ...], Field(min_length=10, max_length=10)]
    beside: tuple[Phrase, ...]
    alike: tuple[Phrase, ...]


class Spelled(_Part):
    """The word of each letter, as it is said first, and others that are heard for it."""

    said: Annotated[str, Field(pattern=r"^[^\W\d_]+(-[^\W\d_]+)*$")]
    heard: tuple[Phrase, ...] = ()


class Voices(_Part):
    """Voices of the speech makers, by their names there."""

    espeak_ng: str
    flite: str | None = None


class Vocabulary(_Part):
    """The words of one language. Units and directions are those of `facts.quantities`, no others.

    `small_talk` is what is said in a bay and meant for somebody else, `spoken_note` a note as one
    speaks it: a rehearsal says both. `locale` is the one whose plural rules hold (CLDR).
    `recognisers`: those that know the language. `learned_words`: what is said to have a voice
    learned. `typed_answers`: short words that may be typed, with the phrases that they may stand
    for; `typed_lines`: whole lines that are typed in place of a phrase. `spelling`: the
    international spelling alphabet. `always_capital`: words that are written with a capital letter
    wherever they stand. `yes_and_next`: the ears were trained to hear "yes" with the next answer
    behind it; only then a job may invite it (`behind_read_back`).
    """

    kind: Literal["language"]
    code: Annotated[str, Field(pattern=r"^[a-z]{2,3}$")]
    name: str
    locale: str
    checked_by_a_native_speaker: bool
    voice: Voices
    recognisers: tuple[Literal["own", "sphinx", "vosk"], ...]
    yes_and_next: bool = False
    numbers: Numbers
    units: Mapping[str, Unit]
    quarters: Quarters
    directions: Mapping[str, Direction]
    learned_words: Annotated[tuple[Phrase, ...], Field(min_length=1)]
    lists: Lists
    typed_answers: Mapping[str, tuple[Phrase, ...]] = {}
    typed_lines: Mapping[str, Phrase] = {}
    always_capital: tuple[str, ...] = ()
    spelling: Mapping[Annotated[str, Field(pattern=r"^[A-Z]$")], Spelled]
    voice_check: VoiceCheckWords
    small_talk: Annotated[tuple[Phrase, ...], Field(min_length=1)]
    spoken_note: Phrase

    @model_validator(mode="after")
    def _complete(self) -> Vocabulary:
        for what, found, wanted in (
            ("units", self.units, (*UNIT_IDS, *SAID_UNIT_IDS)),
            ("directions", self.directions, DIRECTION_IDS),
            ("spelling", self.spelling, ascii_uppercase),
        ):
            if set(found) != set(wanted):
                raise ValueError(f"{what} with the ids {', '.join(wanted)}, each once")
        return self
