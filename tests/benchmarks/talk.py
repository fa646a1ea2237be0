"""How long a job talks: seconds of the companion, of the technician, and of waiting for each other.

Whole jobs as the demo does them (a bay that needs corrections, `rehearse --harder`). Every sentence
of the companion is rendered by its own voice and lasts as long as that file; every answer is spoken
by a synthetic voice and heard by real ears, and waiting is the silence that they listen to, before
an answer and behind it. `--typed`: no ears; then nothing is misheard, and behind each answer the
measured gap of `docs/live.md` is counted. Seeds go round the three voices; seed 4 is the demo's.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from companion.errors import CompanionError
from companion.facts.kinds import Fact
from companion.facts.message import ROW, Message
from companion.facts.talking import Heard, Refused, Said
from companion.language.language import Language
from companion.recognition.port import SAMPLE_RATE_HZ, SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, make_rehearsal, run_rehearsal
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.speakers import VOICES, SyntheticSpeaker
from companion.speech.cache import PromptCache
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import read_prompt
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from tests.benchmarks.common import Results, on_all_cores, percentile, rounded
from tests.benchmarks.rehearse import loaded_job

NAME = "talk"
WHAT = "how long a job talks: seconds of the companion, the technician, waiting; answers, repeats"

KINDS = (
    "opening",
    "stages",
    "questions",
    "read_backs",
    "repeated",
    "instructions",
    "advice",
    "result",
)
"""What a sentence is for; one that is asked once more counts as repeated, whatever it is."""
REPLY_GAP_S = 0.29
"""From the end of an answer to the decision, median: `docs/live.md`."""
DEMO_SEED, DEMO_VOICE = 4, "slt"
FOLDER = Path(tempfile.gettempdir()) / "companion-talk"
_BYTES_PER_S = 2 * SAMPLE_RATE_HZ
_STAGES = frozenset({"stage", "stage-again"})
_RESULTS = frozenset({"found-inside", "nothing-aimed"})
FIGURES = ("companion_s", "technician_s", "waiting_s", "talk_s", "answers", "refused", "repeats")


@dataclass(frozen=True)
class Job:
    """One job: the bay, who answers, and through which ears ("": typed)."""

    seed: int
    voice: str
    ears: str
    folder: str


@dataclass(frozen=True)
class Outcome:
    """What one job came to. `by_kind_s`: the companion's seconds by what its sentences are for."""

    job: Job
    figures: Mapping[str, float] = field(default_factory=dict)
    by_kind_s: Mapping[str, float] = field(default_factory=dict)
    sentences: Mapping[str, int] = field(default_factory=dict)
    result: str | None = None
    error: str = ""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--seeds", type=int, default=20, help="bays; the voices take turns")
    parser.add_argument("--ears", default=assembly.DEFAULT_RECOGNISER, help="own or sphinx")
    parser.add_argument("--typed", action="store_true", help="no ears: nothing is misheard")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where rendered speech is kept")


class SentenceLengths:
    """How long the companion's own voice takes for a text, rendered once and kept."""

    def __init__(self, folder: Path, language: Language) -> None:
        maker = EspeakMaker(voice=language.vocabulary.voice.espeak_ng)
        self._cache = PromptCache(folder, MakerChain([maker]))
        self._known: dict[tuple[str, int], float] = {}

    def seconds(self, text: str, speed_wpm: int = DEFAULT_SPEED_WPM) -> float:
        """Raises VoiceError where the voice cannot say it."""
        if not text:
            return 0.0
        if (text, speed_wpm) not in self._known:
            samples, rate_hz = read_prompt(self._cache.prompt(text, speed_wpm).path, 1.0)
            self._known[text, speed_wpm] = len(samples) / rate_hz
        return self._known[text, speed_wpm]


@lru_cache(maxsize=4)
def sentence_lengths(folder: str, language: str = "en") -> SentenceLengths:
    """Those of a language, one for a process."""
    return SentenceLengths(Path(folder) / "companion", assembly.language(language))


class TimedSpeaker:
    """A speaker that counts what it speaks and what it is silent, in seconds."""

    def __init__(self, inner: SyntheticSpeaker) -> None:
        self._inner = inner
        self.spoken_s = 0.0
        self.silent_s = 0.0

    def say(self, text: str) -> bytes:
        sound = self._inner.say(text)
        self.spoken_s += len(sound) / _BYTES_PER_S
        return sound

    def quiet(self, size: int) -> bytes:
        self.silent_s += size / _BYTES_PER_S
        return self._inner.quiet(size)


class Listener:
    """A watcher that counts sentences by what they are for, and answers."""

    def __init__(self) -> None:
        self.said: list[tuple[str, str]] = []
        self.counts: Counter[str] = Counter()
        self.typed_answers: list[str] = []

    def fact(self, fact: Fact) -> None:
        match fact:
            case Said(text=""):
                # It was said before, in one breath with what was said back.
                pass
            case Said():
                self.said.append((kind_of_sentence(fact), fact.text))
            case Heard(how=how):
                self.counts["answers"] += 1
                self.typed_answers.append(how.words)
            case Refused(how=how):
                self.counts["answers"] += 1
                self.counts["refused"] += 1
                self.typed_answers.append(how.words)
            case _:
                pass


def kind_of_sentence(said: Said) -> str:
    """What a sentence is for: one of `KINDS`."""
    if said.prompt is not None and said.prompt.again:
        return "repeated"
    ids = set(_ids(said.messages.get("text")))
    if ids & _STAGES:
        return "stages"
    if ids & _RESULTS:
        return "result"
    match said.purpose:
        case "caution":
            return "opening"
        case "read_back":
            return "read_backs"
        case "instruct":
            return "instructions"
        case "ask":
            return "questions"
        case _:
            return "advice"


def _ids(message: Message | None) -> list[str]:
    if message is None:
        return []
    if message.id != ROW:
        return [message.id]
    parts = message.args["parts"]
    assert isinstance(parts, tuple)
    return [part.id for part in parts if isinstance(part, Message)]


class RenderedVoice:
    """Says a prompt by making its file: it lasts as long as that plays, and nobody waits for it."""

    def __init__(self, lengths: SentenceLengths) -> None:
        self._lengths = lengths
        self.spoken_s: list[float] = []

    def prepare(self, texts: object, speed: int = DEFAULT_SPEED_WPM) -> None:
        """Nothing is made ahead: made files are kept from job to job."""

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        seconds = self._lengths.seconds(text, speed)
        self.spoken_s.append(seconds)
        return Spoken(seconds, None, "rendered")

    def hush(self) -> None:
        """Nothing is being played."""

    def close(self) -> None:
        """Nothing to let go of."""


def run_job(job: Job) -> Outcome:
    """One whole job; what goes wrong in the program is told, not raised."""
    voice = RenderedVoice(sentence_lengths(job.folder))
    kept = Path(job.folder) / "technician"
    speaker = TimedSpeaker(SyntheticSpeaker(job.voice, job.seed, cache_folder=kept))
    listener = Listener()
    recogniser, language = None, assembly.language()
    if job.ears:
        recogniser = assembly.make_recogniser(assembly.EarsChoice(job.ears), language)
        language = assembly.check_words(recogniser, loaded_job(), language).language
    rehearsal = make_rehearsal(
        loaded_job(),
        job.seed,
        spread=HARDER,
        speaker=speaker,
        language=language,
        scenario=Scenario(keeps_sound=True),
    )
    waits = _Waits(rehearsal) if not job.ears else None
    error, result = "", None
    try:
        rehearsed = run_rehearsal(
            loaded_job(),
            language,
            waits or rehearsal,
            voice,
            MemoryLog(),
            recogniser=recogniser,
            watcher=listener,
        )
        result = rehearsed.state.result
    except SoundEnded:
        result = "gave_up"
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as caught:
        error = f"seed {job.seed}: {type(caught).__name__}: {caught}"
    if waits is not None:
        for words in listener.typed_answers:
            speaker.say(words)
        speaker.silent_s = waits.waited_s + REPLY_GAP_S * len(listener.typed_answers)
    return _outcome(job, voice, speaker, listener, result, error)


class _Waits(Rehearsal):
    """The same rehearsal, counting how long the technician takes to begin."""

    def __init__(self, other: Rehearsal) -> None:
        self.__dict__.update(other.__dict__)
        self.waited_s = 0.0

    def heard(self, said: Said) -> None:
        super().heard(said)
        self.waited_s += self.answer().delay_s


def _outcome(
    job: Job,
    voice: RenderedVoice,
    speaker: TimedSpeaker,
    listener: Listener,
    result: str | None,
    error: str,
) -> Outcome:
    by_kind: dict[str, float] = defaultdict(float)
    for (kind, _), seconds in zip(listener.said, voice.spoken_s, strict=True):
        by_kind[kind] += seconds
    companion_s = sum(voice.spoken_s)
    counted = Counter(kind for kind, _ in listener.said)
    return Outcome(
        job,
        {
            "companion_s": companion_s,
            "technician_s": speaker.spoken_s,
            "waiting_s": speaker.silent_s,
            "talk_s": companion_s + speaker.spoken_s + speaker.silent_s,
            "answers": listener.counts["answers"],
            "refused": listener.counts["refused"],
            "repeats": counted["repeated"],
        },
        dict(by_kind),
        dict(counted),
        result,
        error,
    )


def run(options: argparse.Namespace) -> Results:
    """All jobs, the demo's among them, and what they came to."""
    ears = "" if options.typed else options.ears
    seeds = range(options.seed, options.seed + options.seeds)
    jobs = [
        Job(seed, _voice_of(seed), ears, str(options.folder))
        for seed in dict.fromkeys((*seeds, DEMO_SEED))
    ]
    outcomes = list(on_all_cores(run_job, jobs, at_a_time=1))
    demo = next(outcome for outcome in outcomes if outcome.job.seed == DEMO_SEED)
    counted = [outcome for outcome in outcomes if outcome.job.seed in seeds]
    results: Results = {
        "benchmark": NAME,
        "ears": ears or "typed",
        "jobs": len(counted),
        "finished_inside": sum(outcome.result == "inside" for outcome in counted),
        **_medians(counted),
        "seed4": _told(demo),
        "errors": [outcome.error for outcome in outcomes if outcome.error][:10],
    }
    return results


def _voice_of(seed: int) -> str:
    """The voices take turns; the demo's bay has the demo's."""
    return DEMO_VOICE if seed == DEMO_SEED else VOICES[seed % len(VOICES)]


def _medians(outcomes: Sequence[Outcome]) -> Results:
    by_kind = {
        kind: rounded(percentile((o.by_kind_s.get(kind, 0.0) for o in outcomes), 50))
        for kind in KINDS
    }
    figures = {
        f"{name}_median": rounded(percentile((o.figures[name] for o in outcomes), 50))
        for name in FIGURES
    }
    return {**figures, "companion_s_by_kind_median": by_kind}


def _told(outcome: Outcome) -> Results:
    return {
        "voice": outcome.job.voice,
        "result": outcome.result,
        **{name: rounded(value) for name, value in outcome.figures.items()},
        "companion_s_by_kind": {k: rounded(outcome.by_kind_s.get(k, 0.0)) for k in KINDS},
        "sentences_by_kind": {kind: outcome.sentences.get(kind, 0) for kind in KINDS},
    }
