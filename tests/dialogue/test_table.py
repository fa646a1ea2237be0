"""The transition table is whole, and the documentation draws it as it is."""

from __future__ import annotations

from pathlib import Path

import companion
from companion.dialogue import diagram
from companion.dialogue.commanding import not_now
from companion.dialogue.state import Mode
from companion.dialogue.transitions import _COMMANDS, TRANSITIONS, Kind, handler_of
from companion.words.meanings import COMMAND_NAMES

PAGE = Path(companion.__file__).parents[1] / "docs" / "conversation.md"


def test_every_mode_has_its_row():
    assert set(TRANSITIONS) == set(Mode)


def test_every_command_has_its_kind():
    assert set(_COMMANDS) == set(COMMAND_NAMES)


def test_stop_leads_to_rest_from_wherever_work_goes_on():
    for mode in (Mode.ASKING, Mode.CONFIRMING, Mode.TAKING_NOTE, Mode.PAUSED, Mode.RESUMING):
        assert TRANSITIONS[mode][Kind.STOP].__name__ == "stop"


def test_only_a_read_back_takes_yes_and_only_an_open_question_takes_done():
    assert TRANSITIONS[Mode.CONFIRMING][Kind.YES].__name__ == "accept"
    taking = {mode for mode, row in TRANSITIONS.items() if Kind.YES in row}
    assert taking == {
        Mode.CONFIRMING,
        Mode.ENDING,
        Mode.RESUMING,
        Mode.CHECKING_VOICE,
    }
    assert {mode for mode, row in TRANSITIONS.items() if Kind.DONE in row} == {Mode.ASKING}
    for mode, row in TRANSITIONS.items():
        accepting = [kind for kind, handler in row.items() if handler.__name__ == "accept"]
        assert accepting == ([Kind.YES] if mode is Mode.CONFIRMING else [])


def test_silence_noise_and_late_answers_have_a_place_in_every_open_mode():
    for mode, row in TRANSITIONS.items():
        if mode is not Mode.CLOSED:
            assert {Kind.SILENT, Kind.REFUSED, Kind.LATE, Kind.RESUMED} <= set(row)


def test_what_is_not_in_the_table_is_no_answer_and_a_closed_job_hears_nothing():
    for mode in Mode:
        for kind in Kind:
            expected = None if mode is Mode.CLOSED else TRANSITIONS[mode].get(kind, not_now)
            assert handler_of(mode, kind) is expected


def test_the_diagram_names_every_mode_kind_and_handler_of_the_table():
    text = diagram.mermaid()
    assert text.startswith("stateDiagram-v2\n")
    for mode, row in TRANSITIONS.items():
        arrows = [line for line in text.splitlines() if line.startswith(f"    {mode} --> ")]
        for kind, handler in row.items():
            assert any(f"{kind} ({handler.__name__})" in line for line in arrows), (mode, kind)


def test_the_page_on_the_conversation_holds_exactly_this_diagram():
    page = PAGE.read_text(encoding="utf-8")
    assert f"```mermaid\n{diagram.mermaid()}\n```" in page
    assert diagram.with_diagram(page) == page


def test_a_changed_table_would_change_the_page():
    page = PAGE.read_text(encoding="utf-8")
    outdated = page.replace("carry on (carry_on)", "carry on (walk_away)")
    assert outdated != page
    assert diagram.with_diagram(outdated) == page
