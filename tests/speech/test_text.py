"""Only plain words reach a speech maker."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.speech.text import LONGEST_TEXT, speakable


@pytest.mark.parametrize(
    ("text", "spoken"),
    [
        ("Stand four millimetres to the left.", "Stand four millimetres to the left."),
        ("one\ntwo\tthree\0four\x1b[31m", "one two three four 31m"),
        ("[[b@U]] <voice name='x'>hello", "b@U voice name='x' hello"),
        ("  \u200b \ufeff ", ""),
        ("... !", ""),
    ],
)
def test_control_characters_and_markup_become_spaces(text: str, spoken: str) -> None:
    assert speakable(text) == spoken


@given(st.text(max_size=3_000))
def test_any_text_becomes_one_clean_line(text: str) -> None:
    spoken = speakable(text)
    assert spoken.isprintable()
    assert "  " not in spoken
    assert not set(spoken) & set("[]<>")
    assert len(spoken) <= LONGEST_TEXT
    assert speakable(spoken) == spoken.strip() or len(spoken) == LONGEST_TEXT
