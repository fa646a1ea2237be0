"""The tables of the ears' benchmark: strings of numbers, every word, whole jobs."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.recognition.own.acceptor import make_acceptor
from tests.benchmarks.ears_job_words import job_prompts, job_sayings
from tests.benchmarks.ears_strings import MOST_WORDS, number_loop, word_error_rate, word_errors
from tests.benchmarks.ears_tally import strings_by_level
from tests.benchmarks.ears_trials import grammar_at
from tests.benchmarks.ears_voices import WORD_VOICES
from tests.benchmarks.ears_words import by_word, word_sayings
from tests.benchmarks.speaker_halves import half_of, speaker_half
from tests.benchmarks.spoken_clips import clips_of, default_folders

WORDS = st.lists(st.sampled_from("abcd"), max_size=6)


def test_a_row_of_number_words_is_known_in_any_spelling_of_nought() -> None:
    loop = number_loop()
    assert loop.parse("one five two oh six") == loop.parse("one five two zero six") is not None
    assert loop.parse("one five marmalade") is None
    assert loop.parse("") is None


@pytest.mark.parametrize(
    ("said", "heard", "errors"),
    [("a b c", "a b c", 0), ("a b c", "a c", 1), ("a b", "b a", 2), ("a b", "", 2), ("", "a", 1)],
)
def test_word_errors_are_the_fewest_changes(said: str, heard: str, errors: int) -> None:
    assert word_errors(said.split(), heard.split()) == errors


@given(WORDS, WORDS)
def test_word_errors_are_a_distance(one: list[str], other: list[str]) -> None:
    errors = word_errors(one, other)
    assert errors == word_errors(other, one)
    assert abs(len(one) - len(other)) <= errors <= max(len(one), len(other))
    assert (errors == 0) == (one == other)


def test_the_rate_is_over_the_words_said() -> None:
    assert word_error_rate([("one two", "one two"), ("nought one", "zero")]) == 0.25
    assert word_error_rate([]) is None


def test_strings_tell_whole_rows_and_words_apart() -> None:
    answers = [
        SimpleNamespace(level="10", result="right", said="one two", words="one two"),
        SimpleNamespace(level="10", result="refused", said="one two", words="one"),
    ]
    cell = strings_by_level(answers)["10"]  # type: ignore[arg-type]
    assert (cell["right"], cell["refused"], cell["n"]) == (1, 1, 2)
    assert cell["word_error_rate"] == 0.25


def test_every_saying_of_the_tables_means_something_at_its_prompt() -> None:
    for step, text in (*word_sayings(), *job_sayings()):
        assert grammar_at(step).parse(text) is not None, (step, text)
    assert len(job_prompts()) > 3
    texts = {text for _, text in word_sayings()}
    assert texts >= {"done", "finished", "next", "yes", "no", "stop", "nine", "two hundred"}


def test_each_answer_of_the_word_table_is_counted_in_its_group() -> None:
    kept_out = WORD_VOICES["kept_out"][0]
    answers = [
        SimpleNamespace(said="done", level="clean", speaker=speaker, result=result)
        for speaker, result in ((kept_out, "right"), ("sc-1", "wrong"), ("sc-2", "refused"))
    ]
    cells = by_word(answers, WORD_VOICES)["done"]
    kept_out = {"right": 1, "refused": 0, "wrong": 0, "n": 1}
    people = {"right": 0, "refused": 1, "wrong": 1, "n": 2}
    assert cells["kept_out"] == {**kept_out, "levels": {"clean": kept_out}}
    assert cells["people"] == {**people, "levels": {"clean": people}}


def test_new_people_go_where_their_name_sends_them_and_children_are_never_scored() -> None:
    names = [f"speaker-{n}" for n in range(400)]
    scored = sum(half_of(name) == "scoring" for name in names)
    assert 60 < scored < 140
    assert {speaker_half(name, "readers (child)") for name in names} == {"training"}


def test_each_person_stands_in_one_half() -> None:
    folders = default_folders()
    if not (folders[0] / "speech.tsv").is_file():
        pytest.skip(f"no human speech at {folders[0]}")
    clips = clips_of(folders)
    halves = {(clip.speaker, clip.half) for clip in clips}
    assert len({speaker for speaker, _ in halves}) == len(halves)


def test_the_loop_as_a_machine_takes_rows_of_up_to_so_many_number_words() -> None:
    acceptor = make_acceptor(number_loop().automaton, sorted(number_loop().words()).index)
    numbers = {word: number for number, word in enumerate(sorted(number_loop().words()))}

    def takes(text: str) -> bool:
        state = 0
        for word in text.split():
            step = acceptor.steps[state].get(numbers[word])
            if step is None:
                return False
            state = step[0]
        return acceptor.ends[state]

    for text in ("nine", "four oh three", " ".join(["six"] * MOST_WORDS)):
        assert takes(text)
        assert number_loop().parse(text) is not None
    assert not takes("")
    assert not takes(" ".join(["six"] * (MOST_WORDS + 1)))
