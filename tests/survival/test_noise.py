"""Noise and a radio in the bay: nobody answers, and nothing is taken."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from companion.dialogue.state import Mode
from companion.runtime import assembly
from tests.benchmarks import survive_noise
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, read_clips
from tests.survival import noise
from tests.survival.bystanders import People, is_no_answer
from tests.survival.noise import Stretch, listen_to_nobody
from tests.survival.open_prompts import prompts
from tests.survival.remembering import remember

needs_sound = pytest.mark.skipif(
    not (DEFAULT_FOLDER / "noise.tsv").is_file(), reason=f"no recordings at {DEFAULT_FOLDER}"
)
SOME = (0, 9, 17, 40)


def test_every_way_of_listening_is_among_the_prompts() -> None:
    modes = {prompt.state.mode for prompt in prompts()}
    # Going back listens for what resuming does, and so is no prompt of its own here.
    assert modes == set(Mode) - {Mode.CLOSED, Mode.GOING_BACK}
    forms = [prompt.listen.expectation.number for prompt in prompts()]
    assert {form.style for form in forms if form is not None} == {"whole", "decimal", "quarters"}
    assert any(prompt.listen.expectation.choices for prompt in prompts())
    assert any(prompt.listen.expectation.words for prompt in prompts())
    assert {prompt.state.least_confidence for prompt in prompts()} == {0.0}


@needs_sound
def test_nothing_is_taken_from_noise_or_from_people() -> None:
    of_noise = listen_to_nobody(Stretch("noise", 0, 6.0), at=SOME)
    of_people = listen_to_nobody(Stretch("people", 0, 6.0), at=SOME)
    assert [line for line in of_noise.told + of_people.told if "taken" in line] == []
    assert of_noise.seen["noise: seconds"] == of_people.seen["people: seconds"] == 24
    # It was heard at all: people speak, and are refused.
    assert of_people.seen["people: refused"] >= 4
    # Most of it was judged at the first prompt, and remembered at the others.
    assert of_noise.remembered > of_noise.asked / 2


@needs_sound
def test_ears_that_remember_hear_the_very_same() -> None:
    plain, all_of_it, little = (
        assembly.make_recogniser(assembly.EarsChoice("own"), assembly.language()) for _ in range(3)
    )
    much, next_to_nothing = remember(all_of_it), remember(little, 1 << 20)
    for sort in ("noise", "people"):
        sounding = noise.sounding_of(Stretch(sort, 3, 3.0), DEFAULT_FOLDER)
        for number in SOME:
            prompt, sound = prompts()[number], sounding.sound(number)
            heard = list(noise.heard_under(prompt, sound, plain))
            assert heard == list(noise.heard_under(prompt, sound, all_of_it))
            assert heard == list(noise.heard_under(prompt, sound, little))
    assert much.asked == next_to_nothing.asked
    assert much.remembered > next_to_nothing.remembered
    assert 0 < next_to_nothing.most_kept_bytes <= 1 << 20 < much.most_kept_bytes


@needs_sound
def test_people_say_at_each_prompt_what_it_does_not_take_and_else_the_same() -> None:
    clips = [clip for clip in read_clips(DEFAULT_FOLDER) if not clip.set_aside]
    by_path = {clip.path: clip for clip in clips}
    no_answers = [
        frozenset(clip.path for clip in clips if is_no_answer(clip, prompt.grammar))
        for prompt in prompts()
    ]
    never = frozenset.intersection(*no_answers)
    people = People(clips, never, Random(5), 60.0)
    lengths = {len(people.heard_where(taken)) for taken in no_answers}
    assert lengths == {sum(turn.samples for turn in people.turns)}
    said = [[turn.path_where(taken) for turn in people.turns] for taken in no_answers]
    for prompt, paths in zip(prompts(), said, strict=True):
        assert all(is_no_answer(by_path[path], prompt.grammar) for path in paths)
    of_all = [len({paths[turn] for paths in said}) for turn in range(len(people.turns))]
    assert of_all.count(1) > 5
    assert max(of_all) > 1
    begins = sum(turn.samples for turn in people.turns[:7]) / 16_000
    assert people.path_at(begins + 0.01, no_answers[0]) == said[0][7]


@needs_sound
def test_a_run_that_was_stopped_goes_on_behind_what_was_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stretch = Stretch("noise", 7, 2.0)
    heard = survive_noise.heard_or_kept(tmp_path, stretch)
    (file,) = tmp_path.iterdir()
    assert survive_noise.what_decides() in file.name
    monkeypatch.setattr(survive_noise, "listen_to_nobody", lambda stretch: pytest.fail("again"))
    assert survive_noise.heard_or_kept(tmp_path, stretch) == heard
