"""Prompts are rendered once and kept whole."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from companion.errors import VoiceError
from companion.speech.cache import PromptCache
from companion.speech.makers import EspeakMaker, MakerChain, is_complete_wav


def test_the_same_prompt_is_rendered_once(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    maker = tone_maker()
    cache = PromptCache(tmp_path / "prompts", MakerChain((maker,)))
    first, second = cache.prompt("say yes", 160), cache.prompt("say yes", 160)
    assert first == second
    assert maker.asked == 1
    assert is_complete_wav(first.path)


def test_text_speed_and_maker_each_make_another_prompt(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    cache = PromptCache(tmp_path, MakerChain((tone_maker("a"),)))
    other = PromptCache(tmp_path, MakerChain((tone_maker("b"),)))
    paths = {
        cache.prompt("say yes", 160).path,
        cache.prompt("say no", 160).path,
        cache.prompt("say yes", 120).path,
        other.prompt("say yes", 160).path,
    }
    assert len(paths) == 4


def test_another_voice_of_the_same_maker_makes_another_prompt(tmp_path: Path) -> None:
    """What was rendered in one language is never said in place of another's."""
    made = [
        PromptCache(tmp_path, MakerChain((EspeakMaker(voice),))).prompt("no", 160).path
        for voice in ("en-gb", "es")
    ]
    assert made[0].read_bytes() != made[1].read_bytes()


def test_a_prompt_outlives_the_program(tmp_path: Path, tone_maker: Callable[..., object]) -> None:
    PromptCache(tmp_path, MakerChain((tone_maker(),))).prompt("say yes", 160)
    later = tone_maker()
    PromptCache(tmp_path, MakerChain((later,))).prompt("say yes", 160)
    assert later.asked == 0


def test_a_damaged_prompt_is_rendered_again(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    maker = tone_maker()
    cache = PromptCache(tmp_path, MakerChain((maker,)))
    path = cache.prompt("say yes", 160).path
    path.write_bytes(path.read_bytes()[:100])
    assert is_complete_wav(cache.prompt("say yes", 160).path)
    assert maker.asked == 2


def test_a_failure_leaves_no_half_prompt(tmp_path: Path, tone_maker: Callable[..., object]) -> None:
    cache = PromptCache(tmp_path, MakerChain((tone_maker(failures=9),)))
    with pytest.raises(VoiceError):
        cache.prompt("say yes", 160)
    assert list(tmp_path.iterdir()) == []


def test_the_prompt_of_a_second_maker_is_kept_under_its_own_name(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    cache = PromptCache(tmp_path, MakerChain((tone_maker("a", failures=1), tone_maker("b"))))
    first = cache.prompt("say yes", 160)
    assert (first.maker, len(first.complaints)) == ("b", 1)
    assert cache.prompt("say yes", 160).path == first.path


def test_a_folder_that_cannot_be_made_is_named(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(VoiceError, match="cannot be made"):
        PromptCache(tmp_path / "file" / "prompts", MakerChain((tone_maker(),)))
