"""Noise, and people who do not mean the companion, at every prompt of a job.

Real recordings of noise, and of people saying what the prompt does not take (as from a radio in
the bay), go alone through the whole chain: endpointing, recogniser, strict parser, the rules of the
loop. Nobody answers, so nothing may be taken. "Stop" acts on weak evidence; false ones are counted
apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from random import Random

import numpy as np

from companion import parts
from companion.dialogue.effects import Listen
from companion.dialogue.events import Event, Heard, Refused, Resumed, Silent
from companion.dialogue.machine import step
from companion.dialogue.state import Mode, State
from companion.ears.listening import StreamEars
from companion.ears.port import FRAME_BYTES, Recogniser, SoundEnded
from companion.ears.source import cut_into_frames
from companion.loop import ACT_ON_WEAK_EVIDENCE, Room, listen
from companion.procedure.loader import JobPaths
from companion.record import MemoryLog
from companion.screen import Screen
from companion.voice.silent import SilentVoice
from companion.words.grammar import Grammar, StepGrammar
from companion.words.meanings import COMMAND_NAMES, Choice, Command, Done, No, Number, Yes
from tests.benchmarks.bay_sound import Samples, active_level_dbfs, as_sound, stretch_of
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, Clip, Noise, read_clips, read_noises
from tests.survival.conversation import Walk

UNIT_S = 30.0
UNITS_A_MINUTE = round(60.0 / UNIT_S)
NOISE_DBFS = (-50.0, -12.0)
RADIO_DBFS = (-42.0, -18.0)
_RATE_HZ = 16_000
_ROOM_DBFS = -66.0
_WALKS = 12
_STEPS_OF_A_WALK = 400


@dataclass(frozen=True)
class Prompt:
    """A prompt of the job whose grammar no other prompt has; `name` is where it was met first."""

    name: str
    state: State
    listen: Listen
    grammar: StepGrammar


@lru_cache(maxsize=1)
def prompts() -> tuple[Prompt, ...]:
    """Every prompt with a grammar of its own that rehearsed jobs and all commands lead to."""
    loaded, grammar = parts.load(JobPaths()), parts.grammar()
    met: dict[str, Prompt] = {}
    for seed in range(_WALKS):
        walk = Walk(loaded, grammar, seed, share=0.0)
        for _ in range(_STEPS_OF_A_WALK):
            if walk.state.mode is Mode.CLOSED:
                break
            _meet_all(met, walk.state, grammar)
            walk.one()
    return tuple(met.values())


def _meet_all(met: dict[str, Prompt], state: State, grammar: Grammar) -> None:
    """Keep the prompt, and from a new one on those that commands and a power cut lead to."""
    if _meet(met, state, grammar):
        _meet_all(met, step(state, Resumed())[0], grammar)
        for name in COMMAND_NAMES:
            assert state.prompt is not None
            beside, _ = step(state, Heard(state.prompt.id, Command(name)))
            _meet_all(met, beside, grammar)


def _meet(met: dict[str, Prompt], state: State, grammar: Grammar) -> bool:
    """Keep the prompt where its grammar is new; whether it was."""
    if state.prompt is None or state.mode is Mode.CLOSED:
        return False
    step_grammar = grammar.for_step(state.prompt.expectation)
    jsgf = step_grammar.jsgf()
    if jsgf in met:
        return False
    wanted = Listen(
        state.prompt.id, state.prompt.expectation, UNIT_S, state.mode is Mode.TAKING_NOTE
    )
    met[jsgf] = Prompt(f"{state.mode.value}: {state.prompt.ask}", state, wanted, step_grammar)
    return True


class _Played:
    """Sound that goes by: what came while nobody listened is not kept."""

    def __init__(self, sound: bytes) -> None:
        self._frames = cut_into_frames(sound)

    def frames(self) -> Iterator[bytes]:
        return self._frames

    def flush(self) -> None:
        """Listening begins again at once, so nothing went by."""

    def close(self) -> None:
        """Nothing to let go of."""


def heard_under(prompt: Prompt, sound: bytes, recogniser: Recogniser) -> Iterator[Event]:
    """What comes of a stretch of sound while this prompt stays open."""
    ears = StreamEars(_Played(sound), recogniser, parts.endpoint_settings(recogniser.name))
    room = Room(ears, SilentVoice(), MemoryLog(), None, Screen(quiet=True))
    try:
        while True:
            yield listen(room, parts.grammar(), prompt.state, prompt.listen)
    except SoundEnded:
        return


def noise_alone(noises: list[Noise], random: Random, seconds: float) -> Samples:
    """Recordings, one after another, each at a level of its own."""
    generator = np.random.default_rng(random.randrange(1 << 32))
    pieces: list[Samples] = []
    while sum(map(len, pieces)) < seconds * _RATE_HZ:
        recording = random.choice(noises).samples()
        piece = stretch_of(recording, round(random.uniform(3.0, 10.0) * _RATE_HZ), generator)
        rms = float(np.sqrt(np.mean(piece**2))) or 1e-6
        pieces.append(piece * 10 ** (random.uniform(*NOISE_DBFS) / 20) / rms)
    return np.clip(_in_a_room(np.concatenate(pieces), generator), -1.0, 1.0)


def radio(clips: list[Clip], random: Random, seconds: float) -> Samples:
    """People who say other things, with pauses, at a level of its own each."""
    generator = np.random.default_rng(random.randrange(1 << 32))
    pieces: list[Samples] = []
    while sum(map(len, pieces)) < seconds * _RATE_HZ:
        speech = random.choice(clips).samples()
        level = active_level_dbfs(speech)
        gain_db = random.uniform(*RADIO_DBFS) - level if np.isfinite(level) else 0.0
        pieces.append(speech * 10 ** (gain_db / 20))
        pieces.append(np.zeros(round(random.choice((0.05, 0.2, 0.6, 1.5)) * _RATE_HZ)))
    return np.clip(_in_a_room(np.concatenate(pieces), generator), -1.0, 1.0)


def _in_a_room(sound: Samples, generator: np.random.Generator) -> Samples:
    return sound + 10 ** (_ROOM_DBFS / 20) * generator.normal(size=len(sound))


def not_answers(clips: list[Clip], grammar: StepGrammar) -> list[Clip]:
    """Phrases that are no answer here, and words that stand in no answer here."""
    words = grammar.words()
    return [
        clip
        for clip in clips
        if not clip.set_aside
        and (
            grammar.parse(clip.transcript) is None
            if clip.kind == "phrase"
            else not words & set(clip.transcript.split())
        )
    ]


TAKEN = {Number: "reading", Yes: "yes", No: "no", Done: "done", Choice: "choice"}


def kind_of(event: Event) -> str:
    """What an event counts as."""
    match event:
        case Silent():
            return "silences"
        case Refused():
            return "refused"
        case Heard(_, Command(name)):
            return f"false {name}" if name in ACT_ON_WEAK_EVIDENCE else "taken: command"
        case Heard(_, meaning):
            return f"taken: {TAKEN[type(meaning)]}"
        case _:
            raise AssertionError(event)


def listen_to_nobody(
    seed: int,
    units: int,
    seconds: float = UNIT_S,
    folder: Path = DEFAULT_FOLDER,
    recogniser: Recogniser | None = None,
    tell: Callable[[str], None] = print,
) -> Counter[str]:
    """So many stretches of sound, the prompts in turn, noise and radio in turn; what was counted.

    Unit `seed + i` sounds the same whenever it is made. What was taken is told as it happens.
    """
    recogniser = recogniser or parts.make_recogniser(parts.EarsChoice("own"))
    noises = [noise for noise in read_noises(folder) if noise.half == "scoring"]
    clips = [clip for clip in read_clips(folder) if clip.half == "scoring"]
    seen: Counter[str] = Counter()
    for unit in range(seed, seed + units):
        random = Random(f"{unit} nobody")
        prompt = prompts()[unit % len(prompts())]
        on_the_radio = bool(unit // len(prompts()) % 2)
        if on_the_radio:
            samples = radio(not_answers(clips, prompt.grammar), random, seconds)
        else:
            samples = noise_alone(noises, random, seconds)
        sound = as_sound(samples)[: round(seconds * _RATE_HZ) * 2]
        seen["seconds of radio" if on_the_radio else "seconds of noise"] += round(seconds)
        for event in heard_under(
            prompt, sound[: len(sound) // FRAME_BYTES * FRAME_BYTES], recogniser
        ):
            kind = kind_of(event)
            seen[kind] += 1
            if kind.startswith(("taken", "false")) and isinstance(event, Heard):
                seen[f"{'radio' if on_the_radio else 'noise'}: {kind}"] += 1
                tell(f"unit {unit}, {prompt.name!r}: {kind} {event.how.words!r}")
    return seen
