"""How a person is heard before and after enrolling: some takes are learned, the others are heard.

Of everybody in the half with several takes of a word or several number strings: of each word all
takes but one are enrolled, two at most (of a word with a single take that one), and half of the
strings. They are learned as `companion voice enrol` learns them, from a quiet room alone; then the
other takes are heard at every level, without what was learned and with it. A digit is heard where
one is asked for, yes and no at a read-back, "stop" at two prompts, a direction among a handful of
single words; directions are also said where a digit is asked for, which takes none (`other`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import Recogniser
from companion.runtime.voice_learning import under_noises
from tests.benchmarks.common import Results, rounded
from tests.benchmarks.ears_strings import STEP as STRING
from tests.benchmarks.ears_strings import is_string
from tests.benchmarks.ears_trials import LEVELS, Said, Trial, TrialMaker
from tests.benchmarks.spoken_clips import Clip
from tests.spoken import DIGIT_WORDS

KIND = "adapted"
WORDS = (*DIGIT_WORDS, "yes", "no", "stop", "left", "right", "up", "down")
_DIRECTIONS = ("left", "right", "up", "down")
_LEAST_STRINGS = 3
_SEVERAL = "-unknown"
_DAY = date(2031, 1, 1)


@dataclass(frozen=True)
class Before:
    """One hearing of a take that was not enrolled: right, refused or wrong, before and after.

    `other`: the prompt has no use for what was said. `words`: what was taken afterwards.
    """

    speaker: str
    said: str
    step: str
    level: str
    other: bool
    before: str
    after: str
    words: str


def people_of(clips: Iterable[Clip]) -> dict[str, tuple[list[Clip], list[Clip]]]:
    """Everybody with takes to enrol and others to hear, by name."""
    by_person: dict[str, dict[str, list[Clip]]] = {}
    for clip in clips:
        wanted = clip.transcript in WORDS if clip.kind == "word" else is_string(clip.transcript)
        if wanted and not clip.set_aside and not clip.speaker.endswith(_SEVERAL):
            by_person.setdefault(clip.speaker, {}).setdefault(clip.transcript, []).append(clip)
    found = {}
    for person, by_text in sorted(by_person.items()):
        enrolled, others = _split({text: by_text[text] for text in sorted(by_text)})
        if others:
            found[person] = (enrolled, others)
    return found


def _split(by_text: Mapping[str, Sequence[Clip]]) -> tuple[list[Clip], list[Clip]]:
    enrolled: list[Clip] = []
    others: list[Clip] = []
    strings = [text for text in by_text if " " in text]
    several = sum(len(by_text[text]) > 1 for text in by_text if " " not in text)
    for text, takes in by_text.items():
        takes = sorted(takes, key=lambda clip: clip.path)
        if " " in text:
            if len(strings) >= _LEAST_STRINGS:
                first = strings.index(text) < (len(strings) + 1) // 2
                (enrolled if first else others).extend(takes)
            continue
        count = min(2, max(1, len(takes) - 1))
        enrolled += takes[:count]
        # Who said one word twice has enrolled next to nothing.
        others += takes[count:] if several > 1 else []
    return enrolled, others


def hear_adapted(
    recogniser: Recogniser,
    clips: Iterable[Clip],
    maker: TrialMaker,
    part: int,
    of_parts: int,
    most: int = 0,
) -> Iterator[Before]:
    """Every so manieth person before and after; nothing from ears that learn no voice.

    `most`: of the first so many people alone, 0: of all.
    """
    if not isinstance(recogniser, OwnRecogniser):
        return
    people = list(people_of(clips).items())[: most or None]
    for number, (person, (enrolled, others)) in enumerate(people):
        if number % of_parts != part:
            continue
        recogniser.use_voice(None)
        takes = []
        for place, clip in enumerate(enrolled):
            sound = _trial(maker, clip, "digit", "clean", place).sound
            take = recogniser.take(sound, clip.transcript)
            if take is not None:
                takes.append(take)
                noisy = under_noises(recogniser, clip.transcript, sound, _DAY, place)
                takes += [one.take for one in noisy]
        learned = recogniser.learned(takes)
        for place, clip in enumerate(others):
            for step in _steps(clip.transcript):
                for level in LEVELS:
                    trial = _trial(maker, clip, step, level, place)
                    recogniser.load(trial.grammar)
                    recogniser.use_voice(None)
                    before, _ = _heard(recogniser, trial)
                    recogniser.use_voice(learned)
                    after, words = _heard(recogniser, trial)
                    other = trial.meaning is None
                    yield Before(person, trial.said, step, level, other, before, after, words)
    recogniser.use_voice(None)


def _trial(maker: TrialMaker, clip: Clip, step: str, level: str, repeat: int) -> Trial:
    said = Said(KIND, step, clip.transcript, clip.samples(), clip.speaker, repeat=repeat)
    return maker.make_trial(said, level)


def _heard(recogniser: Recogniser, trial: Trial) -> tuple[str, str]:
    heard = recogniser.recognise(trial.sound)
    sure = heard.confidence >= recogniser.least_confidence
    meaning = trial.grammar.parse(heard.words) if sure and heard.words else None
    if meaning is None:
        return "refused", ""
    return ("right" if meaning == trial.meaning else "wrong"), heard.words


def _steps(text: str) -> tuple[str, ...]:
    if " " in text:
        return (STRING,)
    if text in _DIRECTIONS:
        return ("single", "digit")
    if text in ("yes", "no"):
        return ("confirm",)
    return ("digit", "paused") if text == "stop" else ("digit",)


def counted(told: Sequence[Mapping[str, Any]]) -> Results:
    """By level: refused and wrong before and after, and of how many and how many people.

    `strings` and `other` (words that the prompt does not know) by themselves.
    """
    heard = [Before(**row) for job in told for row in job.get(KIND, ())]
    kinds = {
        "words": [one for one in heard if not one.other and one.step != STRING],
        "strings": [one for one in heard if one.step == STRING],
        "other": [one for one in heard if one.other],
    }
    found: Results = {
        level: {
            **_cell(
                one for name in ("words", "strings") for one in kinds[name] if one.level == level
            ),
            **{
                name: _cell(one for one in each if one.level == level)
                for name, each in kinds.items()
            },
        }
        for level in LEVELS
    }
    found["all"] = {name: _cell(each) for name, each in kinds.items()}
    found["people"] = len({one.speaker for one in heard})
    found["accepted_only_after"] = dict(
        Counter(
            f"{one.said} -> {one.words} ({one.step}, {one.level})"
            for one in heard
            if one.after == "wrong" != one.before
        ).most_common(30)
    )
    return found


def _cell(heard: Iterable[Before]) -> Results:
    rows = list(heard)
    before, after = (Counter(getattr(row, when) for row in rows) for when in ("before", "after"))
    return {
        "refused_before": before["refused"],
        "refused_after": after["refused"],
        "wrong_before": before["wrong"],
        "wrong_after": after["wrong"],
        "n": len(rows),
        "people": len({row.speaker for row in rows}),
        "refused_left": rounded(after["refused"] / before["refused"])
        if before["refused"]
        else None,
    }
