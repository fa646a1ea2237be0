"""What is heard once, with both hands busy, takes six seconds at most: all jobs, both languages.

Rendered by the companion's own voice at the speed that is shipped. A prompt counts as a whole, with
how to answer behind it; of what is said where something is wrong each sentence counts by itself.
Only the cautions may be longer, and the result (`tests/benchmarks/talk_page.py` measures that one).
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path

import pytest

from companion.dialogue.kind import kind_of
from companion.dialogue.machine import begin
from companion.dialogue.prefetch import texts_ahead
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.plan import PLACEHOLDER
from companion.job.translation import texts_of
from companion.runtime import assembly
from tests.benchmarks.talk import SentenceLengths
from tests.benchmarks.talk_page import LONGEST_S

JOBS = ("front_radar", "forward_camera", "rear_corner_radar", "surround_mats")
SAFE_LETTERS = 45
"""Nothing so short takes six seconds; it need not be rendered."""
_NOT_SAID = frozenset({"title", "name"})
_SENTENCE = re.compile(r"(?<=[.?!:])\s+")


@lru_cache
def lengths(folder: str, language: str) -> SentenceLengths:
    return SentenceLengths(Path(folder), assembly.language(language))


def when_something_is_wrong(job: str, language: str) -> Iterator[str]:
    """Each sentence of a job that stands in no prompt; a figure stands in for its placeholders."""
    said = assembly.language(language)
    plan = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml"), said).plan
    figure = " ".join(said.vocabulary.numbers.digits[1:4])
    for step in plan.steps:
        asked = set(kind_of(plan, step).texts(step))
        for path, text in texts_of(step):
            if path[-1] not in _NOT_SAID and text not in asked:
                yield from _SENTENCE.split(PLACEHOLDER.sub(figure, text))


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("job", JOBS)
def test_nothing_is_said_that_takes_longer_than_six_seconds(
    job: str, language: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    said = assembly.language(language)
    plan = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml"), said).plan
    cautions = {caution.say for caution in plan.files.job.cautions}
    texts = {text for text in texts_ahead(begin(plan, said)) if text not in cautions}
    texts |= set(when_something_is_wrong(job, language))
    folder = str(tmp_path_factory.getbasetemp() / "sentence-lengths" / language)
    long = {
        text: round(seconds, 1)
        for text in sorted(texts)
        if len(text) > SAFE_LETTERS
        and (seconds := lengths(folder, language).seconds(text)) > LONGEST_S
    }
    assert long == {}
