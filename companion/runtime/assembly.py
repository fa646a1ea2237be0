"""Builds the parts of a job from what the person chose: words, files, ears, voice, record."""

from __future__ import annotations

import math
import os
import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

from companion.dialogue.kind import kind_of
from companion.dialogue.together import MOST_TOGETHER
from companion.dialogue.voice_check import expectation_in as voice_check_expectation
from companion.errors import EarsError
from companion.facts.message import Message, Tell
from companion.facts.quantities import DIRECTION_IDS, UNIT_IDS
from companion.job.kind import Vocabulary
from companion.job.loader import JobPaths, LoadedJob, load_job
from companion.language.grammar import StepGrammar
from companion.language.language import Language
from companion.language.listed import ListedGrammar
from companion.language.loader import REFERENCE, load_language
from companion.language.spelling import SpelledGrammar
from companion.published.kept import version_of
from companion.recognition.endpoint import EndpointSettings
from companion.recognition.keys import KeyDevice, find_key_device, key_code
from companion.recognition.microphone import MicrophoneSource
from companion.recognition.overhearing import OverVoiceSettings
from companion.recognition.own.read_back import ReadBackWords
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.pedal import Pedal, Press
from companion.recognition.port import Ears, Recogniser, StepGrammarLike
from companion.recognition.source import FileSource
from companion.recognition.sphinx import SphinxRecogniser
from companion.recognition.typed import TypedEars, with_signs_of_life
from companion.recognition.vosk_ears import VoskRecogniser
from companion.runtime.hearing_watch import HearingWatch
from companion.runtime.keyboard import lines_as_they_come, marked_lines
from companion.runtime.live_ears import Hands, LiveEars
from companion.settings.model import Settings
from companion.speech.player import DeviceSink, FileSink, SoundSink
from companion.speech.port import Voice
from companion.speech.silent import SilentVoice
from companion.speech.speech import SpeechVoice, usual_makers
from companion.steps.registry import find_kinds


def language(code: str = REFERENCE) -> Language:
    """One of the languages that ship with the companion."""
    return load_language(code)


def vocabulary(language: Language) -> Vocabulary:
    """What a job file may name of the grammars."""
    choices = frozenset(language.grammar.choice_ids())
    return Vocabulary(choices, frozenset(UNIT_IDS), frozenset(DIRECTION_IDS))


def load(paths: JobPaths, language: Language | None = None) -> LoadedJob:
    """The checked job of these files, with its sentences in the language (default: its own).

    Where kinds of step come from a folder of one's own, its hash stands beside those of the files.
    """
    found = find_kinds(paths.step_kinds)
    words = vocabulary(language or load_language())
    loaded = load_job(paths, words, found.kinds, language.code if language else None)
    loaded = replace(loaded, published=version_of(paths))
    if not found.sha256:
        return loaded
    return replace(loaded, file_hashes={**loaded.file_hashes, "step_kinds": found.sha256})


DEAF_S = Settings().deaf_after_speaking_s
"""So long after speaking nothing is heard: the room still rings."""
LONGEST_THOUGHT_S = 20.0
"""A recogniser that thinks longer hangs: the longest utterance lasts half as long."""
LONGEST_LAST_WORDS_S = 10.0
MOST_TOLD = 5

RECOGNISERS = ("own", "sphinx", "vosk")
DEFAULT_RECOGNISER = "own"


@dataclass(frozen=True)
class EarsChoice:
    """`kind`: typed or one of `RECOGNISERS`. `sound`: a file to hear instead of the microphone.

    `microphone`: part of its device's name, None for the system's own. `pedal`: the key of a pedal
    or button (`ears.keys.key_code`), "" for none.
    """

    kind: str = "typed"
    sound: Path | None = None
    model: Path | None = None
    microphone: str | None = None
    pedal: str = ""


@dataclass(frozen=True)
class VoiceChoice:
    """`kind`: silent, speaker or file. `loudspeaker`: part of its device's name."""

    kind: str = "silent"
    sound_file: Path | None = None
    loudspeaker: str | None = None


@dataclass(frozen=True)
class Surroundings:
    """What live ears need of the rest of the program.

    `tell` says and writes a message. `interrupt` stops what is being said and tells whether
    anything was. `alive` is called as a sign of life every `alive_every_s`, None where
    nobody does; only ears that may wait for ever need it. `typed` sees what is typed before the
    ears do, and passes on what is an answer.
    """

    tell: Tell
    interrupt: Callable[[], bool]
    alive: Callable[[], None] | None = None
    alive_every_s: float = 10.0
    typed: Callable[[Iterable[str]], Iterable[str]] = iter


def make_ears(
    choice: EarsChoice,
    around: Surroundings,
    recogniser: Recogniser | None,
    language: Language,
    deaf_s: float = DEAF_S,
    over_voice: OverVoiceSettings | None = None,
) -> Ears:
    """The ears of a job; `recogniser` is None when typed. Raises EarsError: they cannot be used.

    `deaf_s`: so long after listening begins the microphone hears nothing. `over_voice`: how to
    listen while the companion speaks; None where that is not done.
    """
    if recogniser is None:
        lines = around.typed(marked_lines(language))
        if around.alive is not None:
            lines = with_signs_of_life(lines, around.alive, around.alive_every_s)
        return TypedEars(lines, as_words=partial(typed_words, language))
    settings = endpoint_settings(choice.kind)
    as_words = partial(typed_words, language)
    lines = around.typed(lines_as_they_come(language))
    if choice.sound is not None:
        source, hands = FileSource(choice.sound), Hands(lines)
        # Nobody waits in a bay for what is heard in a file: it may take any time.
        watch = HearingWatch(math.inf, lambda: None)
        return LiveEars(source, recogniser, hands, as_words, watch, settings)
    microphone = MicrophoneSource(choice.microphone, deaf_s=deaf_s, tell=around.tell)
    try:
        hands = Hands(lines, _pedal(choice.pedal, around.interrupt), pedal_words(language))
        watch = HearingWatch(LONGEST_THOUGHT_S, partial(_hung, around.tell))
        return LiveEars(microphone, recogniser, hands, as_words, watch, settings, over_voice)
    except BaseException:
        microphone.close()
        raise


def typed_words(language: Language, text: str, grammar: StepGrammarLike) -> str:
    """What was typed, in the words that the open prompt takes."""
    if isinstance(grammar, SpelledGrammar | ListedGrammar):
        return grammar.typed(text)
    words = language.typed(text, lambda words: grammar.parse(words) is not None)
    if isinstance(grammar, StepGrammar) and grammar.parse(words) is None:
        return language.set_apart(grammar, text) or language.begun(grammar, words)
    return words


def pedal_words(language: Language) -> dict[Press, tuple[str, ...]]:
    """What a press of the pedal says in a language: yes, done or continue; no or repeat; stop."""
    grammar = language.grammar
    yes, no, done = (grammar.answer_phrases(answer)[0] for answer in ("yes", "no", "done"))
    carry_on, repeat, stop = map(grammar.command_phrase, ("carry_on", "repeat", "stop"))
    return {"once": (yes, done, carry_on), "twice": (no, repeat), "held": (stop,)}


def _pedal(key: str, interrupt: Callable[[], bool]) -> Pedal | None:
    if not key:
        return None
    code = key_code(key)
    return Pedal(lambda: KeyDevice(find_key_device(code), code), interrupt)


def _hung(tell: Tell) -> None:
    """A recogniser that hangs cannot be stopped, only left: the job goes on in a new process."""
    leave = partial(os._exit, EarsError.exit_code)
    threading.Timer(LONGEST_LAST_WORDS_S, leave).start()
    tell(Message("live-hearing-hung"))
    leave()


def make_recogniser(choice: EarsChoice, language: Language) -> Recogniser:
    """The recogniser alone. Raises EarsError where it does not know the language."""
    if choice.kind not in language.vocabulary.recognisers:
        name = language.vocabulary.name
        known = [kind for kind in RECOGNISERS if kind in language.vocabulary.recognisers]
        others = ", ".join([*known, "typed"])
        raise EarsError(
            f"the ears '{choice.kind}' do not know {name}; wanted: --ears, one of {others}",
            said="ears-not-of-language",
            ears=choice.kind,
            language=name,
            known=others,
        )
    if choice.kind == "own":
        return OwnRecogniser(
            language=language.code,
            read_back=read_back_words(language),
            stop=language.grammar.command_phrase("stop"),
        )
    if choice.kind == "sphinx":
        return SphinxRecogniser(dict(language.pronunciations))
    if choice.model is None:
        raise EarsError(
            "Vosk needs a model folder; wanted: --model FOLDER (see 'companion fetch-ears --help')",
            said="vosk-needs-model",
        )
    return VoskRecogniser(choice.model)


def read_back_words(language: Language) -> ReadBackWords:
    """The words of a language that a read-back turns on."""
    answers = language.grammar.answer_phrases
    numbers = language.vocabulary.numbers
    never_alone = frozenset((*numbers.never_alone, *numbers.like_no))
    return ReadBackWords(
        yes=answers("yes")[0],
        no=answers("no")[0],
        lone_numbers=language.lone_numbers() | never_alone,
        never_alone=never_alone,
    )


def endpoint_settings(kind: str) -> EndpointSettings:
    """How utterances are cut out for a recogniser.

    Our own ears hear in noise and judge for themselves, so nothing is kept from them for standing
    out too little.
    """
    return EndpointSettings(least_above_background_db=0.0) if kind == "own" else EndpointSettings()


@dataclass(frozen=True)
class HeardLanguage:
    """A language as far as a recogniser knows its words; `left_out`: those it does not."""

    language: Language
    left_out: tuple[str, ...] = ()


def check_words(recogniser: Recogniser, loaded: LoadedJob, language: Language) -> HeardLanguage:
    """The language without the synonyms that these ears do not know.

    Raises EarsError where the job could ask for something that nobody could then say at all.
    """
    check = language.voice_check
    optional = frozenset(check.beside)
    expected = [voice_check_expectation(language)]
    for step in loaded.plan.steps:
        kind = kind_of(loaded.plan, step)
        confirmed = kind.confirmation(step)
        expected += filter(None, (kind.expectation(step), confirmed))
        if confirmed is not None and kind.said_back_with(step) is not None:
            expected.append(replace(confirmed, places=MOST_TOGETHER))
    words = {word for each in expected for word in language.grammar.for_step(each).words()}
    missing = recogniser.missing_words(frozenset(words))
    if not missing:
        return HeardLanguage(language)
    less = language.without(missing)
    lost = {told for each in dict.fromkeys(expected) for told in less.grammar.lost(each, optional)}
    if lost:
        words_lost, unsaid = ", ".join(sorted(missing)), "; ".join(sorted(lost)[:MOST_TOLD])
        raise EarsError(
            f"{recogniser.name} can never hear {words_lost}, and so nobody could say {unsaid}; "
            "wanted: a model that knows these words, or another recogniser",
            said="never-hears",
            ears=recogniser.name,
            words=words_lost,
            unsaid=unsaid,
        )
    return HeardLanguage(less, tuple(sorted(missing)))


def make_voice(
    kind: str,
    cache: Path,
    sound_file: Path | None = None,
    loudspeaker: str | None = None,
    *,
    language: Language,
    through: Callable[[SoundSink], SoundSink] = lambda sink: sink,
) -> Voice:
    """`speaker` (the sound card), `file` (everything said into one sound file) or `silent`.

    It speaks with the language's own voice.
    `loudspeaker`: part of its device's name, None for the system's own. `through`: what the sound
    goes through on its way.
    """
    if kind == "silent":
        return SilentVoice()
    sink: SoundSink = FileSink(sound_file) if sound_file is not None else DeviceSink(loudspeaker)
    return SpeechVoice(cache, through(sink), usual_makers(language.vocabulary.voice.espeak_ng))
