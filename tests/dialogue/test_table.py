"""The transition table is whole, and the documentation draws it as it is."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import companion
from companion.dialogue import answering, diagram
from companion.dialogue.commanding import not_now
from companion.dialogue.events import Event
from companion.dialogue.state import Mode
from companion.dialogue.transitions import CARRIES, COMMANDS, TRANSITIONS, EventKind, Then, then
from companion.facts.meanings import COMMAND_NAMES
from companion.facts.talking import Heard

PAGE = Path(companion.__file__).parents[1] / "docs" / "conversation.md"


def test_every_mode_has_its_row():
    assert set(TRANSITIONS) == set(Mode)


def test_every_command_has_its_kind():
    assert set(COMMANDS) == set(COMMAND_NAMES)


def test_stop_leads_to_rest_from_wherever_work_goes_on():
    work = (Mode.ASKING, Mode.CONFIRMING, Mode.TAKING_NOTE, Mode.PAUSED, Mode.RESUMING)
    for mode in (*work, Mode.GOING_BACK):
        assert TRANSITIONS[mode][EventKind.STOP].handler.__name__ == "stop"


def test_only_a_read_back_or_a_proposal_takes_yes_and_only_an_open_question_takes_done():
    assert TRANSITIONS[Mode.CONFIRMING][EventKind.YES].handler.__name__ == "accept"
    taking = {mode for mode, row in TRANSITIONS.items() if EventKind.YES in row}
    assert TRANSITIONS[Mode.ASKING][EventKind.YES].handler.__name__ == "take_proposed"
    assert taking == {
        Mode.ASKING,
        Mode.CONFIRMING,
        Mode.ENDING,
        Mode.RESUMING,
        Mode.GOING_BACK,
        Mode.CHECKING_VOICE,
    }
    assert {mode for mode, row in TRANSITIONS.items() if EventKind.DONE in row} == {Mode.ASKING}
    for mode, row in TRANSITIONS.items():
        accepting = [kind for kind, then in row.items() if then.handler is answering.accept]
        assert accepting == ([EventKind.YES] if mode is Mode.CONFIRMING else [])


def test_silence_noise_and_late_answers_have_a_place_in_every_open_mode():
    for mode, row in TRANSITIONS.items():
        if mode is not Mode.CLOSED:
            assert {EventKind.SILENT, EventKind.REFUSED, EventKind.LATE, EventKind.RESUMED} <= set(
                row
            )


def test_every_handler_takes_what_its_kind_of_event_carries():
    """What mypy cannot see through the dictionary: a number's handler wants a number, and so on."""
    assert set(CARRIES) == set(EventKind)
    taken = {
        doing.handler: get_type_hints(doing.handler)["event"]
        for row in TRANSITIONS.values()
        for doing in row.values()
    }
    assert any(wanted != Event for wanted in taken.values())
    for mode, row in TRANSITIONS.items():
        for kind, doing in row.items():
            for carried in _alternatives(CARRIES[kind]):
                assert carried in set(_alternatives(taken[doing.handler])), (mode, kind)


def _alternatives(wanted: object) -> Iterator[object]:
    """The types that a union, or a union inside `Heard[...]`, allows."""
    if wanted is Any:
        raise AssertionError("a handler that takes anything")
    if get_origin(wanted) in (Union, UnionType):
        for one in get_args(wanted):
            yield from _alternatives(one)
    elif get_origin(wanted) is Heard:
        (meaning,) = get_args(wanted)
        yield from (Heard[one] for one in get_args(meaning) or (meaning,))
    else:
        yield wanted


def test_what_is_not_in_the_table_is_no_answer_and_a_closed_job_hears_nothing():
    for mode in Mode:
        for kind in EventKind:
            otherwise = None if mode is Mode.CLOSED else Then(not_now, mode)
            assert then(mode, kind) == TRANSITIONS[mode].get(kind, otherwise)


def test_the_diagram_names_every_mode_kind_and_handler_of_the_table():
    text = diagram.mermaid()
    assert text.startswith("stateDiagram-v2\n")
    for mode, row in TRANSITIONS.items():
        arrows = [line for line in text.splitlines() if line.startswith(f"    {mode} --> ")]
        for kind, doing in row.items():
            for target in doing.next_modes:
                arrow = next(a for a in arrows if a.startswith(f"    {mode} --> {target} :"))
                assert f"{kind} ({doing.handler.__name__})" in arrow, (mode, kind)


def test_the_page_on_the_conversation_holds_exactly_this_diagram():
    page = PAGE.read_text(encoding="utf-8")
    assert f"```mermaid\n{diagram.mermaid()}\n```" in page
    assert diagram.with_diagram(page) == page


def test_a_changed_table_would_change_the_page():
    page = PAGE.read_text(encoding="utf-8")
    outdated = page.replace("carry on (carry_on)", "carry on (walk_away)")
    assert outdated != page
    assert diagram.with_diagram(outdated) == page
