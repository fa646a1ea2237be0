"""What a technician says in whole jobs, and how often: counted in rehearsals, kept as a list.

    python -m tests.benchmarks.ears_job_words --jobs 30

`job_utterances.tsv` is a sample of all answers of those jobs, as they came; the benchmark of the
ears says them. A new job file or new words want a new list.
"""

from __future__ import annotations

import argparse
import csv
import json
import random
from dataclasses import asdict
from functools import lru_cache
from typing import Any
from unittest.mock import patch

from companion.language.expectation import Expectation, NumberForm
from companion.language.grammar import StepGrammar
from companion.recognition.port import Heard, Listening, SoundEnded
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import TypedTechnician, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.benchmarks.rehearse import Job, loaded_job, rehearsal_of
from tests.benchmarks.spoken_clips import HERE, read_rows

FILE = HERE / "job_utterances.tsv"
_KEPT = 240
_COLUMNS = ("sort", "text", "prompt")


def sort_of(meaning: object) -> str:
    """What an answer is, by its meaning: done, yes, no, number, choice, command, word."""
    return type(meaning).__name__.lower()


@lru_cache(maxsize=1)
def job_sayings() -> tuple[tuple[str, str], ...]:
    """Prompt and text of each answer in the kept sample; the prompt is told as JSON."""
    return tuple((row["prompt"], row["text"]) for row in read_rows(FILE))


@lru_cache(maxsize=1)
def job_prompts() -> dict[str, StepGrammar]:
    """The grammar of each of those prompts."""
    return {prompt: _grammar(prompt) for prompt, _ in job_sayings()}


def _grammar(prompt: str) -> StepGrammar:
    return assembly.language().for_step(_expectation(json.loads(prompt)))


def _expectation(read: dict[str, Any]) -> Expectation:
    told = {name: tuple(v) if isinstance(v, list) else v for name, v in read.items()}
    if "number" in told:
        form = {n: tuple(v) if isinstance(v, list) else v for n, v in told["number"].items()}
        told["number"] = NumberForm(**form)
    if "then" in told:
        told["then"] = _expectation(told["then"])
    return Expectation(**told)


def answers_of(job: Job) -> list[tuple[str, str, str]]:
    """Sort, text and prompt of every answer of one rehearsed job, as they came."""
    said: list[tuple[str, str, str]] = []

    class Noting(TypedTechnician):
        def hear(self, listening: Listening) -> Heard:
            heard = super().hear(listening)
            grammar = listening.grammar
            assert isinstance(grammar, StepGrammar)
            meaning = grammar.parse(heard.words)
            if meaning is not None:
                prompt = json.dumps(_filled(asdict(grammar.expectation)))
                said.append((sort_of(meaning), heard.words, prompt))
            return heard

    with patch("companion.runtime.rehearsing.TypedTechnician", Noting):
        try:
            rehearsal = rehearsal_of(job)
            run_rehearsal(
                loaded_job(job.mount, job.name),
                assembly.language(),
                rehearsal,
                SilentVoice(),
                MemoryLog(),
            )
        except SoundEnded:
            pass
    return said


def _filled(told: dict[str, Any]) -> dict[str, Any]:
    """Without what is empty or left as it is."""
    return {n: _filled(v) if isinstance(v, dict) else v for n, v in told.items() if v}


def main() -> None:
    """Count and write the list."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--jobs", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    chosen = parser.parse_args()
    said = [
        one
        for seed in range(chosen.seed, chosen.seed + chosen.jobs)
        for one in answers_of(Job(seed, 1.25, None))
    ]
    kept = random.Random(chosen.seed).sample(said, min(_KEPT, len(said)))
    with FILE.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, delimiter="\t", lineterminator="\n")
        writer.writerow(_COLUMNS)
        writer.writerows(sorted(kept))
    print(f"{len(said)} answers of {chosen.jobs} jobs, {len(kept)} kept")


if __name__ == "__main__":
    main()
