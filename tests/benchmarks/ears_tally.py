"""Counting what the ears made of the trials: right, refused, wrong, with exact bounds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import fields
from typing import Any

from scipy.stats import beta, chi2

from companion.facts.meanings import Number, Yes
from tests.benchmarks.common import Results, percentile, rounded
from tests.benchmarks.ears_adapted import counted
from tests.benchmarks.ears_jobs import ALONE, Answer
from tests.benchmarks.ears_pairs import by_pair
from tests.benchmarks.ears_strings import word_error_rate
from tests.benchmarks.ears_trials import FAR_KINDS, KINDS, LEVELS, prompts
from tests.benchmarks.ears_voices import ALL_KEPT_OUT, KEPT_OUT, WORD_VOICES
from tests.benchmarks.ears_words import by_word

OUT_OF_GRAMMAR = ("other", "noise")
READINGS = ("digits", "yes_no", "commands", "phrases")
"""The kinds that people say; the rest of what is said is spliced or synthetic."""
_LISTED = 30


def upper_95(wrong: int, n: int) -> float | None:
    """The share that `wrong` of `n` makes unlikely (5 %) to be exceeded, exact."""
    if n == 0:
        return None
    return 1.0 if wrong == n else float(beta.ppf(0.95, wrong + 1, n - wrong))


def most_per_hour_95(events: int, seconds: float) -> float | None:
    """The rate that so many events make unlikely (5 %) to be exceeded, exact for a Poisson."""
    if seconds <= 0.0:
        return None
    return float(chi2.ppf(0.95, 2 * events + 2)) / 2.0 / (seconds / 3600.0)


def answers_of(told: Iterable[Mapping[str, Any]]) -> list[Answer]:
    """The answers of some jobs."""
    names = {field.name for field in fields(Answer)}
    found = [answer for job in told for answer in job.get("answers", ())]
    return [Answer(**{n: v for n, v in answer.items() if n in names}) for answer in found]


def scored(told: Sequence[Mapping[str, Any]], memory_mb: float | None) -> Results:
    """All figures of one recogniser from what its jobs told."""
    answers = answers_of(told)
    near = [a for a in answers if a.place == "near"]
    far = [a for a in answers if a.place == "far"]
    chain = [a for a in near if a.chain]
    far_chain = [a for a in far if a.chain]
    strange = [a for a in near if a.kind in OUT_OF_GRAMMAR]
    delays = [a.decided_ms for a in answers if a.decided_ms is not None]
    noisy = [a for a in near if a.level != "clean"]
    return {
        "levels": by_level(near, _by_itself),
        "people_all_kinds": overall(near, _by_itself),
        "without_set_aside": {
            "levels": by_level([a for a in near if not a.set_aside], _by_itself),
            "people_all_kinds": overall([a for a in near if not a.set_aside], _by_itself),
        },
        "whole_chain": {
            "levels": by_level(chain, _in_chain),
            "people_all_kinds": overall(chain, _in_chain),
            "stop_heard": stops_heard(chain, lambda a: a.chain_stop),
            "reasons_of_refusal": dict(Counter(a.chain_reason for a in chain if a.chain_reason)),
        },
        "far_field": {
            "levels": by_level(far, _by_itself, FAR_KINDS),
            "whole_chain": by_level(far_chain, _in_chain, FAR_KINDS),
        },
        "adapted": counted(told),
        "hard_recordings": _levels([a for a in near if a.hard and a.kind in FAR_KINDS]),
        "second_voice": _levels([a for a in near if a.kind == "second_voice"]),
        "workshop": _levels([a for a in near if a.kind == "workshop"]),
        "job": _levels([a for a in near if a.kind == "job"]),
        "job_by_awb": _levels([a for a in near if a.kind == "job" and a.speaker in KEPT_OUT]),
        "job_voices": _levels([a for a in near if a.kind == "job_voices"]),
        "job_by_voice": {
            voice: _levels([a for a in near if a.kind == "job_voices" and a.speaker == voice])
            for voice in ALL_KEPT_OUT
        },
        "words": by_word([a for a in near if a.kind == "words"], WORD_VOICES),
        "strings": strings_by_level([a for a in near if a.kind == "strings"]),
        "read_back_no": read_back_no([a for a in near if a.kind == "read_back_no"]),
        "pairs": by_pair(near, tuple(LEVELS), prompts()),
        "confused": _pairs(a for a in near if a.result == "wrong" and a.kind != "noise"),
        "confused_but_refused": _pairs(
            a for a in near if a.result == "refused" and a.kind not in OUT_OF_GRAMMAR
        ),
        "oov_accepted": _share(strange, lambda a: a.result == "wrong"),
        "oov_accepted_by_level": {
            level: _share([a for a in strange if a.level == level], lambda a: a.result == "wrong")
            for level in LEVELS
        },
        "stop_heard": stops_heard(near, lambda a: a.stop),
        **_alone([job for job in told if job["level"] == ALONE]),
        "decision_ms_median": rounded(percentile(delays, 50)),
        "decision_ms_p95": rounded(percentile(delays, 95)),
        "decisions_timed": len(delays),
        **_busy(noisy),
        "rss_mb": rounded(memory_mb),
    }


def _busy(noisy: Sequence[Answer]) -> Results:
    """Seconds of the processor for each second of sound in noise, and for each of speech.

    Of the whole chain, which listens before, during and after the speech; where it was not tried,
    of the recogniser alone on what was cut out, by the clock.
    """
    streams = [a for a in noisy if a.chain]
    if not streams:
        spent_s, sound_s = sum(a.seconds for a in noisy), sum(a.sound_s for a in noisy)
        return {"rtf": rounded(spent_s / sound_s) if sound_s else None, "rtf_of_speech": None}
    spent_s = sum(a.chain_busy_s for a in streams)
    return {
        "rtf": rounded(spent_s / sum(a.chain_sound_s for a in streams)),
        "rtf_of_speech": rounded(spent_s / sum(a.chain_speech_s for a in streams)),
    }


def _pairs(answers: Iterable[Answer]) -> Results:
    """What was said and what it was most often taken for, other than itself."""
    pairs = Counter(f"{a.said} -> {a.words}" for a in answers if a.words not in ("", a.said))
    return dict(pairs.most_common(_LISTED))


def _by_itself(answer: Answer) -> str:
    return answer.result


def _in_chain(answer: Answer) -> str:
    return answer.chain


def cell(results: Iterable[str]) -> Results:
    """Right, refused and wrong as counts, with the bound on the share of wrong ones."""
    counts = Counter(results)
    n, wrong = counts.total(), counts["wrong"]
    return {
        "right": counts["right"],
        "refused": counts["refused"],
        "wrong": wrong,
        "n": n,
        "wrong_upper95": rounded(upper_95(wrong, n)),
    }


def by_level(
    answers: Sequence[Answer], result: Callable[[Answer], str], kinds: Sequence[str] = KINDS
) -> Results:
    """A cell for each level and kind, empty ones too."""
    return {
        level: {
            kind: cell(result(a) for a in answers if a.level == level and a.kind == kind)
            for kind in kinds
        }
        for level in LEVELS
    }


def _levels(answers: Sequence[Answer]) -> Results:
    return {level: cell(a.result for a in answers if a.level == level) for level in LEVELS}


def strings_by_level(answers: Sequence[Answer]) -> Results:
    """Whole strings by level, and the word error rate of the best guess, refused or not."""
    told = _levels(answers)
    for level in LEVELS:
        pairs = [(a.said, a.words) for a in answers if a.level == level]
        told[level]["word_error_rate"] = word_error_rate(pairs)
    return told


def read_back_no(answers: Sequence[Answer]) -> Results:
    """What was made of "no" where yes, no or a new reading may be said."""
    told = _levels(answers)
    for level in LEVELS:
        taken = [a.words for a in answers if a.level == level and a.result == "wrong"]
        meant = [prompts()["confirm"].parse(words) for words in taken]
        told[level]["taken_as_number"] = sum(isinstance(m, Number) for m in meant)
        told[level]["taken_as_yes"] = sum(isinstance(m, Yes) for m in meant)
    return told


def overall(answers: Sequence[Answer], result: Callable[[Answer], str]) -> Results:
    """A cell for each level of all that people said and that the prompt knew."""
    return {
        level: cell(result(a) for a in answers if a.level == level and a.kind in READINGS)
        for level in LEVELS
    }


def stops_heard(answers: Sequence[Answer], stopped: Callable[[Answer], bool]) -> Results:
    """The share of "stop" that stopped the job, level by level."""
    said = [a for a in answers if a.kind == "commands"]
    return {level: _share([a for a in said if a.level == level], stopped) for level in LEVELS}


def _alone(jobs: Sequence[Mapping[str, Any]]) -> Results:
    seconds = sum(job["seconds"] for job in jobs)
    stops, accepted = sum(job["stops"] for job in jobs), sum(job["accepted"] for job in jobs)
    return {
        "false_stops_per_hour": rounded(3600.0 * stops / seconds) if seconds else None,
        "false_stops_per_hour_upper95": rounded(most_per_hour_95(stops, seconds)),
        "false_stops": stops,
        "accepted_of_noise": accepted,
        "noise_minutes": rounded(seconds / 60.0),
        "rtf_of_noise": rounded(sum(job["spent_s"] for job in jobs) / seconds) if seconds else None,
    }


def _share(answers: Sequence[Answer], holds: Callable[[Answer], bool]) -> float | None:
    return rounded(sum(map(holds, answers)) / len(answers)) if answers else None
