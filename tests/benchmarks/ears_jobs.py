"""Hearing the trials: a part of them at a time, in processes, and kept so that a run can go on.

What was heard is a list of `Answer`s; `ears_tally` counts them.
"""

from __future__ import annotations

import hashlib
import json
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from companion.facts.meanings import Command
from companion.recognition.listening import StreamEars
from companion.recognition.port import (
    SAMPLE_RATE_HZ,
    Heard,
    Listening,
    Recogniser,
    Refusal,
    SoundEnded,
)
from tests.benchmarks import ears_noise
from tests.benchmarks.ears_adapted import Before, hear_adapted
from tests.benchmarks.ears_trials import FAR_KINDS, Trial, TrialMaker
from tests.benchmarks.far_sound import is_here
from tests.benchmarks.real_time import TimedSource
from tests.benchmarks.spoken_clips import Half, Noise, clips_of, noises_of
from tests.benchmarks.workshop_sound import MadeNoise, made_noises
from tests.ears_candidates import endpointing, make

PARTS = 4
_ALONE_PARTS = 24
"""Hours of noise are heard in more parts, for as many cores."""
ADAPTED = "adapted"
"""The level of jobs that hear people before and after they enrol, at all levels."""
ALONE = "alone"
"""The level of jobs that hear noise as it was recorded, without end."""
_CUT_OUT_ALONE = (
    *("noise", "strings", "read_back_no", "job", "job_voices", "words", "second_voice", "workshop"),
)
"""Kinds that are not heard as a stream too."""
_BYTES_PER_S = 2 * SAMPLE_RATE_HZ
_ROOT = Path(__file__).parents[2]
_DECIDING = ("companion/recognition", "companion/language", "grammars", "tests/ears_candidates")


@dataclass(frozen=True)
class Job:
    """One recogniser, one level, one part of the trials."""

    ears: str
    level: str
    part: int
    speech: tuple[str, ...]
    half: Half
    seed: int
    most: int
    chain: bool
    noise_minutes: float
    model: str = ""
    keep: str = ""
    only: tuple[str, ...] = ()


@dataclass(frozen=True)
class Answer:
    """What came of one trial.

    `result` and `chain`: right, refused or wrong by the recogniser alone and by the whole chain
    (chain "": not tried). `stop`, `chain_stop`: whether "stop" would have stopped the job.
    `decided_ms`: from the end of speech to the chain's decision, for what was accepted.
    `chain_busy_s`: processor time of the chain, `chain_sound_s`: of so much sound, of which
    `chain_speech_s` were spoken.
    """

    kind: str
    place: str
    level: str
    said: str
    words: str
    confidence: float
    result: str
    stop: bool
    seconds: float
    sound_s: float
    set_aside: bool
    chain: str = ""
    chain_reason: str = ""
    chain_stop: bool = False
    decided_ms: float | None = None
    chain_busy_s: float = 0.0
    chain_sound_s: float = 0.0
    chain_speech_s: float = 0.0
    figures: tuple[float, ...] = ()
    step: str = ""
    speaker: str = ""
    hard: bool = False


def run_job(job: Job) -> dict[str, Any]:
    """The answers of one job, from the folder of kept ones where they are there."""
    kept = _kept_file(job)
    if kept is not None and kept.is_file():
        return dict(json.loads(kept.read_text(encoding="utf-8")))
    recogniser = _recogniser(job.ears, job.model)
    if job.level == ADAPTED:
        told: dict[str, Any] = {ADAPTED: [asdict(one) for one in _adapted(job, recogniser)]}
    elif job.level == ALONE:
        told = ears_noise.heard_alone(
            recogniser,
            endpointing(job.ears),
            _alone(job),
            minutes=job.noise_minutes,
            seed=job.seed,
            part=job.part,
            of_parts=parts_of(job.level),
        )
    else:
        told = {"answers": [asdict(answer) for answer in _answers(job, recogniser)]}
    told |= {"ears": job.ears, "level": job.level}
    if kept is not None:
        kept.parent.mkdir(parents=True, exist_ok=True)
        half_written = kept.with_suffix(".part")
        half_written.write_text(json.dumps(told), encoding="utf-8")
        half_written.replace(kept)
    return told


def parts_of(level: str) -> int:
    """Into how many jobs the trials of a level are cut."""
    return _ALONE_PARTS if level == ALONE else PARTS


def _alone(job: Job) -> list[Noise | MadeNoise]:
    """What is heard alone: the recordings of the half and, to score, the models kept for that."""
    recorded = [noise for noise in noises_of(map(Path, job.speech)) if noise.half == job.half]
    return [*recorded, *(made_noises(job.seed) if job.half == "scoring" else ())]


def _answers(job: Job, recogniser: Recogniser) -> Iterator[Answer]:
    maker = _maker(job.speech, job.half, job.seed, job.most, job.only)
    for trial in maker.trials(job.level, part=job.part, of_parts=PARTS):
        yield _answer(job, recogniser, trial)
    if is_here():
        for trial in maker.far_trials(job.level, part=job.part, of_parts=PARTS):
            yield _answer(job, recogniser, trial)


def _adapted(job: Job, recogniser: Recogniser) -> Iterator[Before]:
    """Of every so manieth person with several takes."""
    clips = [clip for clip in clips_of(map(Path, job.speech)) if clip.half == job.half]
    noises = noises_of(map(Path, job.speech))
    maker = TrialMaker([], noises, job.half, job.seed, only=(ADAPTED,))
    return hear_adapted(recogniser, clips, maker, job.part, PARTS, job.most)


def _answer(job: Job, recogniser: Recogniser, trial: Trial) -> Answer:
    recogniser.load(trial.grammar)
    began_s = time.perf_counter()
    recognition = recogniser.recognise(trial.sound)
    seconds = time.perf_counter() - began_s
    sure = recognition.confidence >= recogniser.least_confidence
    chain: dict[str, Any] = {}
    if job.chain and trial.kind not in _CUT_OUT_ALONE:
        chain = _through_chain(job, recogniser, trial)
    return Answer(
        kind=trial.kind,
        place=trial.place,
        level=trial.level,
        said=trial.said,
        words=recognition.words,
        confidence=recognition.confidence,
        result=outcome(trial, recognition.words, sure),
        stop=is_stop(trial, recognition.words),
        seconds=seconds,
        sound_s=len(trial.sound) / _BYTES_PER_S,
        set_aside=trial.set_aside,
        figures=tuple(getattr(recogniser, "figures", ())),
        step=trial.step,
        speaker=trial.speaker,
        hard=trial.hard,
        **chain,
    )


def _through_chain(job: Job, recogniser: Recogniser, trial: Trial) -> dict[str, Any]:
    """The same words in a longer stretch of the same noise, found by the endpointer itself."""
    source = TimedSource(trial.stream)
    ears = StreamEars(source, recogniser, endpointing(job.ears))
    before_s = time.process_time()
    try:
        heard: Heard | None = ears.hear(Listening("bench", trial.grammar, 10.0, trial.expects))
    except SoundEnded:
        heard = None
    decided_s = source.clock_s()
    cost = {
        "chain_busy_s": time.process_time() - before_s,
        "chain_sound_s": source.given_s,
        "chain_speech_s": trial.speech_s[1] - trial.speech_s[0],
    }
    if heard is None:
        return {"chain": "refused", "chain_reason": "silence", **cost}
    stop = is_stop(trial, heard.words)
    if isinstance(heard, Refusal):
        return {"chain": "refused", "chain_reason": heard.reason, "chain_stop": stop, **cost}
    return {
        "chain": outcome(trial, heard.words, sure=True),
        "chain_stop": stop,
        "decided_ms": 1e3 * (decided_s - trial.speech_s[1]),
        **cost,
    }


def outcome(trial: Trial, words: str, sure: bool) -> str:
    """What came of one trial: the strict parser has the last word, as in a job."""
    meaning = trial.grammar.parse(words) if sure and words else None
    if meaning is None:
        return "refused"
    return "right" if meaning == trial.meaning else "wrong"


def is_stop(trial: Trial, words: str) -> bool:
    """Whether the job would stop: "stop" acts on weak evidence too."""
    meaning = trial.grammar.parse(words) if words else None
    return isinstance(meaning, Command) and meaning.name == "stop"


@lru_cache(maxsize=2)
def _maker(
    speech: tuple[str, ...], half: Half, seed: int, most: int, only: tuple[str, ...]
) -> TrialMaker:
    folders = [Path(folder) for folder in speech]
    clips, noises = clips_of(folders), noises_of(folders)
    return TrialMaker(clips, noises, half, seed, most, voices=True, only=only)


@lru_cache(maxsize=2)
def _recogniser(ears: str, model: str) -> Recogniser:
    return make(ears, Path(model) if model else None)


@lru_cache(maxsize=1)
def what_decides() -> str:
    """A digest of everything that the answers depend on, but for the sounds and the options."""
    digest = hashlib.sha256()
    files = [p for folder in _DECIDING for p in (_ROOT / folder).rglob("*") if p.is_file()]
    files += [p for p in (_ROOT / "tests" / "benchmarks").glob("*") if _is_of_trials(p)]
    for path in sorted(files):
        if "__pycache__" not in path.parts:
            digest.update(str(path.relative_to(_ROOT)).encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _is_of_trials(path: Path) -> bool:
    return (
        path.name.startswith(("ears_", "bay_sound", "far_sound", "workshop_"))
        or path.suffix == ".tsv"
    )


def _kept_file(job: Job) -> Path | None:
    if not job.keep:
        return None
    asked = {name: value for name, value in asdict(job).items() if name != "keep"}
    told = json.dumps([asked, what_decides(), FAR_KINDS, is_here()], sort_keys=True)
    name = hashlib.sha256(told.encode()).hexdigest()[:16]
    return Path(job.keep) / f"{job.ears}_{job.level}_{job.part}_{name}.json"
