"""How long a job talks: seconds of the companion, of the technician, and of waiting for each other.

Whole jobs as the demo does them (a bay that needs corrections, `rehearse --harder`). Every sentence
of the companion is rendered by its own voice; every answer is spoken by a synthetic voice and heard
by real ears. Seconds are those of the sound (`talk_clock`), each counted once. `--typed`: no ears;
then nothing is misheard, and behind each answer the measured gap of `docs/live.md` is counted.
Seeds go round the three voices; seed 4 is the demo's. `--clock`: that job line by line.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter, defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from companion.dialogue.effects import Say
from companion.errors import CompanionError
from companion.facts.kinds import Fact
from companion.facts.message import ROW, Message
from companion.facts.talking import Heard, Refused, Said, Silent
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.recognition.port import SAMPLE_RATE_HZ, SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.into_prompts import speed_of
from companion.runtime.rehearsing import HARDER, OverPrompts, make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.speakers import VOICES, SyntheticSpeaker
from companion.speech.cache import PromptCache
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import read_prompt
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from tests.benchmarks.common import Results, on_all_cores, percentile, rounded
from tests.benchmarks.over_prompts import Rendered, SaidUnheard, allowed, known_after_a_job
from tests.benchmarks.rehearse import loaded_job
from tests.benchmarks.talk_clock import (
    LIVE_DECISION_S,
    WAITING,
    Clock,
    Paced,
    TimedSource,
    samples_of,
    sounding,
)

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
DEMO_SEED, DEMO_VOICE = 4, "slt"
FOLDER = Path(tempfile.gettempdir()) / "companion-talk"
_STAGES = frozenset({"stage", "stage-again"})
_RESULTS = frozenset({"found-inside", "nothing-aimed"})
FIGURES = (
    *("companion_s", "technician_s", "waiting_s", "talk_s", "answers", "refused", "repeats"),
    *("before_s", "behind_s", "tones_s", "into_prompts"),
)
"""Seconds, and how many. Waiting is before and behind the answers, and the tones."""


@dataclass(frozen=True)
class Job:
    """One job: the bay, who answers, and through which ears ("": typed).

    `into_prompts`: he answers the prompts that he knows before they end; `second_of_the_day`: from
    the first on those of a job that he did before.
    """

    seed: int
    voice: str
    ears: str
    folder: str
    into_prompts: bool = False
    second_of_the_day: bool = False


@dataclass(frozen=True)
class Outcome:
    """What one job came to. `by_kind_s`: the companion's seconds by what its sentences are for."""

    job: Job
    figures: Mapping[str, float] = field(default_factory=dict)
    by_kind_s: Mapping[str, float] = field(default_factory=dict)
    sentences: Mapping[str, int] = field(default_factory=dict)
    result: str | None = None
    error: str = ""
    lines: Sequence[str] = ()
    decided_after_s: Sequence[float] = ()


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--seeds", type=int, default=20, help="bays; the voices take turns")
    parser.add_argument("--ears", default=assembly.DEFAULT_RECOGNISER, help="own or sphinx")
    parser.add_argument("--typed", action="store_true", help="no ears: nothing is misheard")
    parser.add_argument(
        "--answers-into-prompts",
        action="store_true",
        help="known prompts are answered before they end (with --typed)",
    )
    parser.add_argument(
        "--second-of-the-day",
        action="store_true",
        help="and those of a job that the technician did before that day are known",
    )
    parser.add_argument("--clock", action="store_true", help="the demo's job, line by line")
    parser.add_argument("--folder", type=Path, default=FOLDER, help="where rendered speech is kept")


class SentenceLengths:
    """How long the companion's own voice takes for a text, rendered once and kept."""

    def __init__(self, folder: Path, language: Language) -> None:
        maker = EspeakMaker(voice=language.vocabulary.voice.espeak_ng)
        self._cache = PromptCache(folder, MakerChain([maker]))
        self._known: dict[tuple[str, int], tuple[float, float]] = {}

    def seconds(self, text: str, speed_wpm: int = DEFAULT_SPEED_WPM) -> float:
        """Raises VoiceError where the voice cannot say it."""
        return self._measured(text, speed_wpm)[0]

    def sounds_until_s(self, text: str, speed_wpm: int = DEFAULT_SPEED_WPM) -> float:
        """When its last sound ends, in seconds from the beginning."""
        return self._measured(text, speed_wpm)[1]

    def _measured(self, text: str, speed_wpm: int) -> tuple[float, float]:
        if not text:
            return 0.0, 0.0
        if (text, speed_wpm) not in self._known:
            samples, rate_hz = read_prompt(self._cache.prompt(text, speed_wpm).path, 1.0)
            sounds_until_s = sounding(samples, rate_hz)[1]
            self._known[text, speed_wpm] = len(samples) / rate_hz, sounds_until_s
        return self._known[text, speed_wpm]


@lru_cache(maxsize=4)
def sentence_lengths(folder: str, language: str = "en") -> SentenceLengths:
    """Those of a language, one for a process."""
    return SentenceLengths(Path(folder) / "companion", assembly.language(language))


class Listener:
    """A watcher that counts sentences by what they are for, and puts the answers on the clock.

    `turn`: how long the answer was that was just given in these words.
    """

    def __init__(self, clock: Clock, turn: Callable[[str], tuple[float, float, float]]) -> None:
        self.said: list[tuple[str, str]] = []
        self.counts: Counter[str] = Counter()
        self._clock = clock
        self._turn = turn

    def fact(self, fact: Fact) -> None:
        match fact:
            case Said(text=""):
                # It was said before, in one breath with what was said back.
                pass
            case Said():
                self.said.append((kind_of_sentence(fact), fact.text))
            case Heard(how=how) if how.into is not None:
                self.counts["answers"] += 1
                self.counts["into_prompts"] += 1
                _, voice_s, behind_s = self._turn(how.words)
                self._clock.answers_into(how.words, how.into.began_s, voice_s, behind_s)
            case Heard(how=how):
                self.counts["answers"] += 1
                self._clock.answers(how.words, *self._turn(how.words))
            case Refused(how=how):
                self.counts["answers"] += 1
                self.counts["refused"] += 1
                self._clock.answers(f"({how.words})", *self._turn(how.words))
            case Silent():
                self._clock.answers("", *self._turn(""))
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

    def __init__(self, lengths: SentenceLengths, clock: Clock) -> None:
        self._lengths = lengths
        self._clock = clock

    def prepare(self, texts: object, speed: int = DEFAULT_SPEED_WPM) -> None:
        """Nothing is made ahead: made files are kept from job to job."""

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        seconds = self._lengths.seconds(text, speed)
        self._clock.says(text, seconds, self._lengths.sounds_until_s(text, speed))
        return Spoken(seconds, None, "rendered")

    def hush(self) -> None:
        """Nothing is being played."""

    def close(self) -> None:
        """Nothing to let go of."""


def run_job(job: Job, loaded: LoadedJob | None = None) -> Outcome:
    """One whole job, the shipped one where no other is given.

    What goes wrong in the program is told, not raised.
    """
    loaded = loaded or loaded_job()
    clock = Clock()
    voice = RenderedVoice(sentence_lengths(job.folder), clock)
    kept = Path(job.folder) / "technician"
    speaker = SyntheticSpeaker(job.voice, job.seed, cache_folder=kept)
    recogniser, language = None, assembly.language()
    if job.ears:
        recogniser = assembly.make_recogniser(assembly.EarsChoice(job.ears), language)
        language = assembly.check_words(recogniser, loaded, language).language
    made = make_rehearsal(
        loaded,
        job.seed,
        spread=HARDER,
        speaker=speaker,
        language=language,
        scenario=Scenario(keeps_sound=True),
    )
    rehearsal = Paced(made, clock)
    source = TimedSource(rehearsal)

    def typed(words: str) -> tuple[float, float, float]:
        begins_s, ends_s = sounding(samples_of(speaker.say(words)), SAMPLE_RATE_HZ)
        return rehearsal.before_s, ends_s - begins_s, LIVE_DECISION_S

    def spoken(words: str) -> tuple[float, float, float]:
        return source.turn()

    listener = Listener(clock, spoken if job.ears else typed)
    error, result = "", None
    try:
        rehearsed = run_rehearsal(
            loaded,
            language,
            rehearsal,
            voice,
            MemoryLog(),
            recogniser=recogniser,
            watcher=listener,
            source=lambda _: source,
            over_prompts=_over_prompts(job, loaded, language, clock, rehearsal),
        )
        result = rehearsed.state.result
    except SoundEnded:
        result = "gave_up"
    except (CompanionError, ArithmeticError, LookupError, TypeError, ValueError) as caught:
        error = f"seed {job.seed}: {type(caught).__name__}: {caught}"
    return _outcome(job, clock, listener, result, error)


def _over_prompts(
    job: Job, loaded: LoadedJob, language: Language, clock: Clock, rehearsal: Paced
) -> OverPrompts | None:
    if not job.into_prompts:
        return None
    lengths = sentence_lengths(job.folder)
    rendered = Rendered(Path(job.folder) / "companion", language)

    def says(say: Say, seconds: float) -> None:
        sounds_until_s = lengths.sounds_until_s(say.text, speed_of(say))
        clock.says(say.text, seconds, sounds_until_s)
        open_after_s = rendered.open_after_s(say)
        rehearsal.open = None if open_after_s is None else (open_after_s, sounds_until_s)

    before = known_after_a_job(loaded, language, job.seed) if job.second_of_the_day else ()
    return OverPrompts(SaidUnheard(rendered, says), allowed(known=before))


def _outcome(job: Job, clock: Clock, listener: Listener, result: str | None, error: str) -> Outcome:
    by_kind: dict[str, float] = defaultdict(float)
    spoken_s = (each.seconds for each in clock.stretches if each.part == "companion")
    for (kind, _), seconds in zip(listener.said, spoken_s, strict=True):
        by_kind[kind] += seconds
    counted = Counter(kind for kind, _ in listener.said)
    return Outcome(
        job,
        {
            "companion_s": clock.seconds("companion"),
            "technician_s": clock.seconds("technician"),
            "waiting_s": clock.seconds(*WAITING),
            "talk_s": clock.seconds(),
            "answers": listener.counts["answers"],
            "refused": listener.counts["refused"],
            "repeats": counted["repeated"],
            "before_s": clock.seconds("before"),
            "behind_s": clock.seconds("behind"),
            "tones_s": clock.seconds("tone"),
            "into_prompts": listener.counts["into_prompts"],
        },
        dict(by_kind),
        dict(counted),
        result,
        error,
        tuple(clock.table()),
        tuple(clock.decided_after_s()),
    )


def run(options: argparse.Namespace) -> Results:
    """All jobs, the demo's among them, and what they came to."""
    ears = "" if options.typed else options.ears
    seeds = range(options.seed, options.seed + options.seeds)
    into = options.answers_into_prompts or options.second_of_the_day
    if into and ears:
        raise SystemExit("answers into prompts are counted typed; from sound: the benchmark spoken")
    jobs = [
        Job(seed, _voice_of(seed), ears, str(options.folder), into, options.second_of_the_day)
        for seed in dict.fromkeys((*seeds, DEMO_SEED))
    ]
    outcomes = list(on_all_cores(run_job, jobs, at_a_time=1))
    demo = next(outcome for outcome in outcomes if outcome.job.seed == DEMO_SEED)
    counted = [outcome for outcome in outcomes if outcome.job.seed in seeds]
    if options.clock:
        print("\n".join(demo.lines))
    decided_s = [seconds for outcome in counted for seconds in outcome.decided_after_s]
    results: Results = {
        "benchmark": NAME,
        "ears": ears or "typed",
        "jobs": len(counted),
        "finished_inside": sum(outcome.result == "inside" for outcome in counted),
        **_medians(counted),
        "decided_after_s": {
            "mean": rounded(sum(decided_s) / max(1, len(decided_s)), 3),
            "median": rounded(percentile(decided_s, 50), 3),
            "p95": rounded(percentile(decided_s, 95), 3),
        },
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
