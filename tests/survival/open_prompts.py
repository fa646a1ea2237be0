"""Every prompt of the shipped job that is listened to in a way of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from companion.dialogue.effects import Listen
from companion.dialogue.machine import step
from companion.dialogue.state import Mode, State
from companion.facts.meanings import COMMAND_NAMES, Command
from companion.facts.opening import Resumed
from companion.facts.talking import Heard
from companion.job.loader import JobPaths
from companion.language.grammar import StepGrammar
from companion.language.language import Language
from companion.runtime import assembly
from tests.spoken import said
from tests.survival.conversation import Walk

_WALKS = 12
_STEPS_OF_A_WALK = 400
_TIMEOUT_S = 30.0


@dataclass(frozen=True)
class Prompt:
    """A prompt of the job whose grammar no other prompt has; `name` is where it was met first."""

    name: str
    state: State
    listen: Listen
    grammar: StepGrammar


@lru_cache(maxsize=1)
def heard_language() -> Language:
    """English without the words that our own ears do not know, as in a job."""
    whole = assembly.language()
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), whole)
    return assembly.check_words(recogniser, assembly.load(JobPaths()), whole).language


@lru_cache(maxsize=1)
def prompts() -> tuple[Prompt, ...]:
    """Every prompt with a grammar of its own that rehearsed jobs and all commands lead to."""
    loaded, grammar = assembly.load(JobPaths()), heard_language()
    met: dict[str, Prompt] = {}
    for seed in range(_WALKS):
        walk = Walk(loaded, grammar, seed, share=0.0)
        for _ in range(_STEPS_OF_A_WALK):
            if walk.state.mode is Mode.CLOSED:
                break
            _meet_all(met, walk.state, grammar)
            walk.one()
    return tuple(met.values())


def _meet_all(met: dict[str, Prompt], state: State, grammar: Language) -> None:
    """Keep the prompt, and from a new one on those that commands and a power cut lead to."""
    if _meet(met, state, grammar):
        _meet_all(met, step(state, Resumed())[0], grammar)
        for name in COMMAND_NAMES:
            assert state.prompt is not None
            beside, _ = step(state, Heard(state.prompt.id, Command(name)))
            _meet_all(met, beside, grammar)


def _meet(met: dict[str, Prompt], state: State, grammar: Language) -> bool:
    """Keep the prompt where its grammar is new; whether it was."""
    if state.prompt is None or state.mode is Mode.CLOSED:
        return False
    step_grammar = grammar.for_step(state.prompt.expectation)
    jsgf = step_grammar.jsgf()
    if jsgf in met:
        return False
    wanted = Listen(
        state.prompt.id, state.prompt.expectation, _TIMEOUT_S, state.mode is Mode.TAKING_NOTE
    )
    # As strict as the ears are by themselves: no voice check of this walk's may make it harder.
    plain = replace(state, least_confidence=0.0)
    met[jsgf] = Prompt(f"{state.mode.value}: {said(state.prompt.ask)}", plain, wanted, step_grammar)
    return True
