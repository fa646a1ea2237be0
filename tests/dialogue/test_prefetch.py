"""What a job will say is known before it begins, but for what depends on answers."""

from __future__ import annotations

from itertools import pairwise

from companion.dialogue.machine import begin
from companion.dialogue.prefetch import texts_ahead
from companion.job.loader import JobPaths
from companion.record.memory import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice


def test_most_of_what_a_job_says_was_foretold_in_its_order() -> None:
    loaded = assembly.load(JobPaths())
    foretold = list(texts_ahead(begin(loaded.plan, assembly.language())))
    assert len(foretold) == len(set(foretold))
    voice = SilentVoice()
    run_rehearsal(loaded, assembly.language(), make_rehearsal(loaded, seed=1), voice, MemoryLog())
    assert foretold[0] == voice.texts[0]
    # What is said back depends on answers; what is asked behind it in the same breath does not.
    asked = [t if t in foretold else t.rpartition("? ")[2] for t in voice.texts]
    asked = [text.removeprefix("If yes: ") for text in asked]
    read_backs = [t for t in asked if t.endswith("?") and t not in foretold]
    others = [text for text in asked if text not in read_backs]
    known = [text for text in others if text in foretold]
    assert len(known) / len(others) > 0.85, [t for t in others if t not in foretold]
    places = [foretold.index(text) for text in dict.fromkeys(known)]
    in_order = sum(later > earlier for earlier, later in pairwise(places))
    assert in_order / (len(places) - 1) > 0.9


def test_what_is_said_back_of_a_choice_is_made_ahead_in_full_and_in_short() -> None:
    loaded = assembly.load(JobPaths())
    foretold = set(texts_ahead(begin(loaded.plan, assembly.language())))
    assert {"Keep the sound. Yes or no?", "Keep the sound?", "Words only?"} <= foretold
