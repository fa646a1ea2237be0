"""What is said to the ears: every clip of one half at every level, under the real prompts.

Kinds of step: `digits` (a number of one digit), `yes_no` (at the read-back of a reading),
`commands` ("stop" at three prompts), `other` (words that the prompt does not know), `noise`
(nobody speaks), `phrases` (human, in one breath; so few that each is said in several noises),
`spliced` (one speaker's separate words put in a row: unnatural), `synthetic` (readings by a
synthetic voice that no ears were trained on), `synthetic_known` (by voices that our own ears were
trained on), `teens` (thirteen and thirty, and all the other pairs, by every synthetic voice) and
`pairs` (other words that sound alike, by the same voices), `strings` (rows of number words that
people said in one breath), `read_back_no` (people's "no" at a read-back, in many noises), `job`
(what whole jobs say, as often as they say it), `job_voices` (the same, by all voices kept out of
training in turn), `words` (everything that the grammars hold, by itself), `second_voice` (the first
three while somebody else talks on; the level is then the second voice's) and `workshop` (the first
three in noise of wrench, grinder, engine, blow gun and compressor by models that no training met).
The first three are also said from afar, through the echo of a room.
"""

from __future__ import annotations

import random
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Literal, TypeVar

import numpy as np

from companion.dialogue.asking import DONE, PAUSED
from companion.dialogue.transaction import ALWAYS
from companion.facts.meanings import Number
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.recognition.port import SAMPLE_RATE_HZ, StepGrammarLike
from companion.runtime import assembly
from companion.steps.reading.model import Reading
from tests.benchmarks.bay_sound import (
    Samples,
    as_sound,
    compressor_hum,
    impact_bursts,
    mixed,
    stretch_of,
)
from tests.benchmarks.ears_job_words import job_prompts, job_sayings
from tests.benchmarks.ears_pairs import TEENS, sayings
from tests.benchmarks.ears_recordings import is_hard
from tests.benchmarks.ears_strings import STEP as STRING
from tests.benchmarks.ears_strings import is_string, number_loop
from tests.benchmarks.ears_voices import ALL_KEPT_OUT, KEPT_OUT, KNOWN, WORD_VOICES, say
from tests.benchmarks.ears_words import LEVELS as WORD_LEVELS
from tests.benchmarks.ears_words import word_prompts, word_sayings
from tests.benchmarks.far_sound import heard_from_afar
from tests.benchmarks.spoken_clips import Clip, Half, Noise
from tests.benchmarks.workshop_sound import workshop_noise
from tests.expecting import confirmation_of
from tests.spoken import DIGIT_WORDS

LEVELS: dict[str, float | None] = {"clean": None, "20": 20.0, "10": 10.0, "5": 5.0, "0": 0.0}
KINDS = (
    "digits",
    "yes_no",
    "commands",
    "other",
    "noise",
    "phrases",
    "spliced",
    "synthetic",
    "synthetic_known",
    "teens",
    "pairs",
    "strings",
    "read_back_no",
    "job",
    "job_voices",
    "words",
    "second_voice",
    "workshop",
)
FAR_KINDS = ("digits", "yes_no", "commands")

Place = Literal["near", "far"]
Thing = TypeVar("Thing")

_DIGITS = frozenset(DIGIT_WORDS)
_LEAD_S, _TAIL_S = 0.3, 0.45
"""As the endpointer cuts: its lead-in before, its pause behind."""
_BEFORE_S, _AFTER_S = 0.8, 2.0
"""What the stream has more than the cut."""
NOT_MIXED = frozenset({"no speech, 1 s", "person_sneeze", "dog_bark", "clock_tick"})
"""Noises with long gaps: their level says little, so they are only heard alone."""
_ALONE_S = 2.0
_SPLICED_PER_SPEAKER = 2
_SYNTHETIC_PHRASES = 60
_PHRASE_NOISES = 8
_LEAST_TRIALS = 60
"""What fewer people said is said again, in other noise, up to so many trials a level."""
_NO_TRIALS = 200
_BESIDE_VOICE = 120
_BETWEEN_TALK_S = (0.0, 0.4)
_LOUD_DB, _ABOVE_QUIET_DB = 25.0, 6.0


@dataclass(frozen=True)
class Said:
    """Something said by somebody at a prompt, before any noise; `repeat` tells noises apart.

    `hard`: by a telephone or a cheap microphone (`ears_recordings`).
    """

    kind: str
    step: str
    text: str
    samples: Samples
    speaker: str
    set_aside: bool = False
    repeat: int = 0
    hard: bool = False


@dataclass(frozen=True)
class Trial:
    """One sound under one prompt; `meaning` is None where nothing may be accepted.

    `stream` is a longer stretch of the same, for an endpointer; `sound` is cut out of it.
    `speech_s`: where speech begins and ends in the stream. `set_aside`: made of a clip with a
    wrong label or a part missing. `expects`: which numbers the prompt holds for likely.
    """

    kind: str
    step: str
    level: str
    grammar: StepGrammarLike
    said: str
    meaning: object | None
    sound: bytes
    stream: bytes
    speaker: str
    place: Place = "near"
    set_aside: bool = False
    speech_s: tuple[float, float] = (0.0, 0.0)
    hard: bool = False

    def expects(self, meaning: object) -> bool:
        """As a job file's plausible range: half to one and a half times what is said."""
        if not isinstance(self.meaning, Number) or not isinstance(meaning, Number):
            return True
        return abs(meaning.value - self.meaning.value) <= self.meaning.value / 2


@lru_cache(maxsize=1)
def prompts() -> dict[str, StepGrammar]:
    """The prompts of the trials, all made as the companion makes them."""
    grammar = assembly.language()
    reading = next(s for s in assembly.load(JobPaths()).plan.steps if isinstance(s, Reading))
    directions = ("left", "right", "up", "down")
    return {
        "digit": grammar.for_step(Expectation(NumberForm("whole", 1), commands=ALWAYS)),
        "confirm": grammar.for_step(confirmation_of(reading)),
        "paused": grammar.for_step(PAUSED),
        "doing": grammar.for_step(DONE),
        "number": grammar.for_step(Expectation(NumberForm("whole", 6), commands=ALWAYS)),
        "directed": grammar.for_step(
            Expectation(NumberForm("whole", 3, directions=directions), commands=ALWAYS)
        ),
        "single": grammar.for_step(
            Expectation(words=(*DIGIT_WORDS, *directions, "in", "out"), commands=ALWAYS)
        ),
    }


def grammar_at(step: str) -> StepGrammarLike:
    """The grammar of a prompt, of the trials or of one of their tables."""
    if step == STRING:
        return number_loop()
    if step in job_prompts():
        return job_prompts()[step]
    return word_prompts()[step] if step in word_prompts() else prompts()[step]


class TrialMaker:
    """Makes the trials of one half; everything follows from the seed.

    `most`: at most so many trials a kind and level (0: all), chosen by the seed. `voices`: with
    the kinds said by voices that our own ears were trained on. `only`: these kinds and no other.
    """

    def __init__(
        self,
        clips: list[Clip],
        noises: list[Noise],
        half: Half,
        seed: int,
        most: int = 0,
        *,
        voices: bool = False,
        only: Sequence[str] = (),
    ) -> None:
        self._clips = [clip for clip in clips if clip.half == half]
        self._noises = [noise for noise in noises if noise.half == half]
        self._mixed = [noise for noise in self._noises if noise.sort not in NOT_MIXED]
        self._seed = seed
        self._most = most
        self._voices = voices
        self._only = frozenset(only or KINDS)
        self._talkers: dict[str, list[Clip]] = {}
        for clip in self._clips:
            self._talkers.setdefault(clip.speaker, []).append(clip)
        self._said = self._all_said(random.Random(seed))

    def trials(
        self, level: str, repeat: int = 0, part: int = 0, of_parts: int = 1
    ) -> Iterator[Trial]:
        """Every trial at one level, or every so manieth; another `repeat` brings other noise."""
        for number, said in enumerate(self._said):
            if number % of_parts == part and (said.kind != "words" or level in WORD_LEVELS):
                yield self._trial(said, level, repeat + said.repeat, "near")
        if "noise" in self._only:
            yield from self._alone(level, repeat, part, of_parts)

    def far_trials(self, level: str, part: int = 0, of_parts: int = 1) -> Iterator[Trial]:
        """The trials of `FAR_KINDS` said from afar in a room."""
        far = [said for said in self._said if said.kind in FAR_KINDS]
        for number, said in enumerate(far):
            if number % of_parts == part:
                yield self._trial(said, level, 0, "far")

    def make_trial(self, said: Said, level: str) -> Trial:
        """One trial of something that was said near the microphone."""
        return self._trial(said, level, said.repeat, "near")

    def _trial(self, said: Said, level: str, repeat: int, place: Place) -> Trial:
        named = f"{said.kind} {said.step} {said.text} {said.speaker}"
        generator = np.random.default_rng([self._seed, repeat, zlib.crc32(named.encode())])
        speech = said.samples
        if place == "far":
            speech = heard_from_afar(speech, self._seed + zlib.crc32(said.speaker.encode()))
        lead_s, tail_s = _BEFORE_S + _LEAD_S, _TAIL_S + _AFTER_S
        count = len(speech) + round((lead_s + tail_s) * SAMPLE_RATE_HZ)
        if said.kind == "second_voice":
            noise = self._talk(said.speaker, count, generator)
        elif said.kind == "workshop":
            noise = workshop_noise(count, generator)
        else:
            noise = self._noise(count, generator)
        whole = as_sound(mixed(speech, noise, LEVELS[level], generator, lead_s, tail_s))
        grammar = grammar_at(said.step)
        begins_s, ends_s = spoken_stretch_s(said.samples)
        return Trial(
            kind=said.kind,
            step=said.step,
            level=level,
            grammar=grammar,
            said=said.text,
            meaning=grammar.parse(said.text),
            sound=whole[_bytes_in(_BEFORE_S) : len(whole) - _bytes_in(_AFTER_S)],
            stream=whole,
            speaker=said.speaker,
            place=place,
            set_aside=said.set_aside,
            speech_s=(lead_s + begins_s, lead_s + ends_s),
            hard=said.hard,
        )

    def _alone(self, level: str, repeat: int, part: int, of_parts: int) -> Iterator[Trial]:
        steps = ("digit", "confirm", "paused")
        numbers = self._some(list(range(len(self._noises) + 16)), random.Random(self._seed))
        for number in numbers[part::of_parts]:
            generator = np.random.default_rng([self._seed, repeat, number, 7])
            count = round(_ALONE_S * SAMPLE_RATE_HZ)
            if number < len(self._noises):
                noise = stretch_of(self._noises[number].samples(), count, generator)
            else:
                noise = self._noise(count, generator)
            sound = as_sound(mixed(np.zeros(count), noise, LEVELS[level], generator, 0.0, 0.0))
            for step in steps:
                yield Trial("noise", step, level, prompts()[step], "", None, sound, sound, "")

    def _noise(self, count: int, generator: np.random.Generator) -> Samples:
        """Three in five times real noise, else impact bursts or compressor hum."""
        choice = generator.random()
        if choice < 0.6 and self._mixed:
            noise = self._mixed[int(generator.integers(len(self._mixed)))]
            return stretch_of(noise.samples(), count, generator)
        made = impact_bursts if choice < 0.8 else compressor_hum
        return made(count / SAMPLE_RATE_HZ + 0.01, generator)[:count]

    def _talk(self, speaker: str, count: int, generator: np.random.Generator) -> Samples:
        """Somebody else who talks without end: clips of one other person, each at one level."""
        others = [name for name in self._talkers if name != speaker]
        clips = self._talkers[others[int(generator.integers(len(others)))]]
        talk: list[Samples] = []
        while sum(map(len, talk)) < count:
            clip = _trimmed(clips[int(generator.integers(len(clips)))].samples())
            pause = round(generator.uniform(*_BETWEEN_TALK_S) * SAMPLE_RATE_HZ)
            talk += [clip / max(1e-9, float(np.sqrt(np.mean(clip**2)))), np.zeros(pause)]
        return np.concatenate(talk)[:count]

    def _all_said(self, generator: random.Random) -> list[Said]:
        words = [clip for clip in self._clips if clip.kind == "word"]
        by_kind: dict[str, list[Said]] = {kind: [] for kind in KINDS}
        for number, clip in enumerate(words):
            for kind, step in _steps_of(clip.transcript, number):
                by_kind[kind].append(_said(clip, kind, step))
        for clip in self._clips:
            if clip.kind == "phrase":
                known = prompts()["number"].parse(clip.transcript) is not None
                repeats = range(_PHRASE_NOISES if known else 1)
                kind = "phrases" if known else "other"
                by_kind[kind] += [_said(clip, kind, "number", repeat) for repeat in repeats]
                if is_string(clip.transcript):
                    by_kind["strings"].append(_said(clip, "strings", STRING))
        self._add_tables(by_kind, words, generator)
        by_kind["spliced"] = list(_spliced(words, generator))
        by_kind["synthetic"] = list(_synthetic("synthetic", KEPT_OUT, self._seed))
        if self._voices:
            by_kind["synthetic_known"] = list(_synthetic("synthetic_known", KNOWN, self._seed + 1))
            teens = [("number", word) for pair in TEENS for word in pair]
            by_kind["teens"] = list(_by_all_voices("teens", teens, self._seed))
            by_kind["pairs"] = list(_by_all_voices("pairs", sayings(), self._seed))
        for kind in ("digits", "yes_no", "commands", "strings"):
            by_kind[kind] = _repeated(by_kind[kind], _LEAST_TRIALS)
        chosen = {kind: self._some(by_kind[kind], generator) for kind in KINDS}
        heard_alone = [said for kind in FAR_KINDS for said in by_kind[kind] if not said.repeat]
        beside = random.Random(self._seed).sample(
            heard_alone, min(self._most or _BESIDE_VOICE, len(heard_alone))
        )
        for kind in ("second_voice", "workshop"):
            chosen[kind] = [replace(said, kind=kind) for said in beside]
        return [said for kind in KINDS if kind in self._only for said in chosen[kind]]

    def _add_tables(
        self, by_kind: dict[str, list[Said]], words: list[Clip], generator: random.Random
    ) -> None:
        """What is said at a read-back, in whole jobs, and word by word."""
        by_text: dict[str, list[Clip]] = {}
        for clip in words:
            by_text.setdefault(clip.transcript, []).append(clip)
        noes = [_said(clip, "read_back_no", "confirm") for clip in by_text.get("no", ())]
        by_kind["read_back_no"] = _repeated(noes, _NO_TRIALS)
        if self._voices and "job" in self._only:
            for step, text in self._some(list(job_sayings()), generator):
                said = _by_people_or(KEPT_OUT, by_text, "job", step, text, generator, self._seed)
                by_kind["job"] += [said] if said is not None else []
        if self._voices and "job_voices" in self._only:
            sayings = list(enumerate(job_sayings()))
            by_kind["job_voices"] = list(
                self._by_voices_in_turn(self._some(sayings, random.Random(self._seed)), by_text)
            )
        if self._voices and "words" in self._only:
            for step, text in self._some(list(word_sayings()), generator):
                people = by_text.get(text, ())
                by_kind["words"] += [_said(clip, "words", step) for clip in people]
                for voice in (v for voices in WORD_VOICES.values() for v in voices):
                    sound = say(voice, text, self._seed)
                    if sound is not None:
                        by_kind["words"].append(Said("words", step, text, sound, voice))

    def _by_voices_in_turn(
        self,
        sayings: Sequence[tuple[int, tuple[str, str]]],
        by_text: Mapping[str, Sequence[Clip]],
    ) -> Iterator[Said]:
        """What jobs say: by people where they were recorded, else each by the next voice."""
        generator = random.Random(self._seed)
        for number, (step, text) in sayings:
            voices = (ALL_KEPT_OUT[number % len(ALL_KEPT_OUT)],)
            said = _by_people_or(voices, by_text, "job_voices", step, text, generator, self._seed)
            if said is not None:
                yield said

    def _some(self, things: list[Thing], generator: random.Random) -> list[Thing]:
        if self._most and len(things) > self._most:
            return generator.sample(things, self._most)
        return things


def _repeated(said: list[Said], least: int) -> list[Said]:
    """Each once, and all again in other noise until there are so many."""
    times = -(-least // len(said)) if said else 0
    return [replace(one, repeat=one.repeat + n) for n in range(max(1, times)) for one in said]


def _by_people_or(
    voices: Sequence[str],
    by_text: Mapping[str, Sequence[Clip]],
    kind: str,
    step: str,
    text: str,
    generator: random.Random,
    seed: int,
) -> Said | None:
    """The words by somebody who was recorded saying them, else by one of these voices."""
    if by_text.get(text):
        return _said(generator.choice(by_text[text]), kind, step, generator.randrange(1000))
    voice = generator.choice(voices)
    sound = say(voice, text, seed)
    return None if sound is None else Said(kind, step, text, sound, voice, repeat=1)


def spoken_stretch_s(samples: Samples) -> tuple[float, float]:
    """Where speech begins and ends: 20 ms frames within 25 dB of the loudest and out of the noise.

    Out of the noise is 6 dB above the quietest tenth of the frames.
    """
    frame = 320
    whole = samples[: len(samples) // frame * frame].reshape(-1, frame)
    levels = 10.0 * np.log10(np.mean(whole**2, axis=1) + 1e-12)
    least = max(levels.max() - _LOUD_DB, float(np.percentile(levels, 10)) + _ABOVE_QUIET_DB)
    loud = np.flatnonzero(levels >= min(least, levels.max()))
    return loud[0] * frame / SAMPLE_RATE_HZ, (loud[-1] + 1) * frame / SAMPLE_RATE_HZ


def _said(clip: Clip, kind: str, step: str, repeat: int = 0) -> Said:
    samples = clip.samples()
    hard = kind in FAR_KINDS and is_hard(samples)
    return Said(kind, step, clip.transcript, samples, clip.speaker, clip.set_aside, repeat, hard)


def _bytes_in(seconds: float) -> int:
    return 2 * round(seconds * SAMPLE_RATE_HZ)


def _steps_of(word: str, number: int) -> Iterator[tuple[str, str]]:
    """The kinds of step that a word is scored at, with the prompt."""
    steps = ("digit", "confirm", "paused")
    if word in _DIGITS:
        yield "digits", "digit"
    elif word in ("yes", "no"):
        yield "yes_no", "confirm"
    if word == "stop":
        yield from (("commands", step) for step in steps)
        return
    strange = [step for step in steps if prompts()[step].parse(word) is None]
    if strange:
        yield "other", strange[number % len(strange)]


def _spliced(words: list[Clip], generator: random.Random) -> Iterator[Said]:
    by_speaker: dict[str, list[Clip]] = {}
    for clip in words:
        by_speaker.setdefault(clip.speaker, []).append(clip)
    gap = np.zeros(round(0.08 * SAMPLE_RATE_HZ))
    for speaker, clips in sorted(by_speaker.items()):
        digits = [c for c in clips if c.transcript in _DIGITS]
        first = [c for c in digits if c.transcript != "zero"]
        ways = [c for c in clips if c.transcript in ("left", "right", "up", "down")]
        for _ in range(_SPLICED_PER_SPEAKER if len(digits) > 1 and first and ways else 0):
            row = [generator.choice(first), generator.choice(digits), generator.choice(ways)]
            pieces = [piece for clip in row for piece in (_trimmed(clip.samples()), gap)]
            text = " ".join(clip.transcript for clip in row)
            aside = any(clip.set_aside for clip in row)
            yield Said("spliced", "directed", text, np.concatenate(pieces[:-1]), speaker, aside)


def _trimmed(samples: Samples) -> Samples:
    """From 40 ms before the first frame within 35 dB of the loudest to 40 ms after the last."""
    frame = 320
    power = np.mean(samples[: len(samples) // frame * frame].reshape(-1, frame) ** 2, axis=1)
    loud = np.flatnonzero(power > power.max() * 10.0**-3.5)
    return samples[max(0, loud[0] - 2) * frame : (loud[-1] + 3) * frame]


def _synthetic(kind: str, voices: tuple[str, ...], seed: int) -> Iterator[Said]:
    """Readings that the job asks for, by these voices in turn; none of a voice that is missing."""
    generator = random.Random(seed)
    for number in range(_SYNTHETIC_PHRASES):
        step = generator.choice(("number", "directed"))
        form = prompts()[step].expectation.number
        text, _ = assembly.language().for_step(Expectation(form)).generate(generator)
        voice = voices[number % len(voices)]
        sound = say(voice, text, seed)
        if sound is not None:
            yield Said(kind, step, text, sound, voice)


def _by_all_voices(kind: str, sayings: Iterable[tuple[str, str]], seed: int) -> Iterator[Said]:
    all_sayings = list(sayings)
    for voice in (*KEPT_OUT, *KNOWN):
        for step, text in all_sayings:
            sound = say(voice, text, seed)
            if sound is not None:
                yield Said(kind, step, text, sound, voice)


def missing_speech(folder: Path) -> str | None:
    """Why there is nothing to score with in this folder; None where there is."""
    wanted = [folder / "speech.tsv", folder / "noise.tsv"]
    absent = [str(path) for path in wanted if not path.is_file()]
    return f"no human speech: {', '.join(absent)} missing" if absent else None
