"""What is kept of voices: with consent, for its owner alone, checked when read, deletable."""

from __future__ import annotations

import os
import stat
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import EarsError
from companion.recognition.own.adaptation import Adaptation, Added
from companion.recognition.own.adapting import Frames, Take
from companion.recognition.voices import takes as takes_file
from companion.recognition.voices.store import Person, VoiceStore
from companion.recognition.voices.takes import MOST_TAKES, Kept, newest

HEADS = "0123456789abcdef"
TOKENS = 311
SOUND = np.random.default_rng(1).integers(-900, 900, 8000).astype("<i2").tobytes()
ANA = Person(name="Ana Example", language="en", heads=HEADS, features_since="2031-05-01")


def frames(generator: np.random.Generator, tokens: tuple[int, ...], count: int) -> Frames:
    shares = generator.random((count, len(tokens))).astype(np.float32)
    return Frames(
        generator.random((count, 256)).astype(np.float32) * 4,
        tokens,
        shares / shares.sum(axis=1, keepdims=True),
    )


def kept(words: str = "four two", seed: int = 1, **told: str) -> Kept:
    generator = np.random.default_rng(seed)
    tokens = (0, *range(5, 5 + len(words.split())))
    take = Take(words, frames(generator, tokens, 9), frames(generator, tokens, 17))
    return replace(Kept(take, "enrolled", "2031-05-01"), **told)


def learned() -> Adaptation:
    zero = Added(np.zeros((TOKENS, 256), np.float32), np.ones(TOKENS, np.float32))
    return Adaptation.of(zero, zero, HEADS)


TODAY = "2031-07-01"


@pytest.fixture
def vouched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("companion.record.clock.time_is_synchronised", lambda: True)


@pytest.fixture
def store(tmp_path: Path) -> VoiceStore:
    return VoiceStore(tmp_path / "bay.record")


def test_takes_are_read_as_they_were_written() -> None:
    both = (kept(), kept("nine", 2, how="confirmed", sound_sha256="a" * 64))
    found = takes_file.read(takes_file.written(both), "file", TOKENS)
    assert [(one.take.words, one.how, one.day, one.sound_sha256) for one in found] == [
        ("four two", "enrolled", "2031-05-01", ""),
        ("nine", "confirmed", "2031-05-01", "a" * 64),
    ]
    for before, after in zip(both, found, strict=True):
        for head in ("along", "other"):
            first, second = getattr(before.take, head), getattr(after.take, head)
            assert first.tokens == second.tokens
            assert np.allclose(first.features, second.features, atol=2e-3)
            assert np.allclose(first.shares, second.shares, atol=1e-3)


@settings(max_examples=80, deadline=None)
@given(place=st.floats(0, 1), flip=st.integers(1, 255), cut=st.booleans())
def test_a_spoiled_file_of_takes_is_refused_or_holds_takes(
    place: float, flip: int, cut: bool
) -> None:
    content = bytearray(takes_file.written((kept(), kept("nine", 2))))
    at = min(len(content) - 1, int(place * len(content)))
    if cut:
        del content[at:]
    else:
        content[at] ^= flip
    try:
        found = takes_file.read(bytes(content), "file", TOKENS)
    except EarsError:
        return
    for one in found:
        assert len(one.take.along.features) == len(one.take.along.shares)
        assert max(one.take.other.tokens) < TOKENS


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"how": "guessed"}, "guessed"),
        ({"day": "yesterday"}, "day"),
        ({"sound_sha256": "../../etc/passwd"}, "hash"),
    ],
)
def test_what_is_no_take_is_refused(change: dict[str, str], told: str) -> None:
    with pytest.raises(EarsError, match=told):
        takes_file.read(takes_file.written((kept(**change),)), "file", TOKENS)


def test_tokens_that_the_heads_lack_are_refused() -> None:
    with pytest.raises(EarsError, match="tokens"):
        takes_file.read(takes_file.written((kept(),)), "file", 6)


def test_the_oldest_confirmed_go_first_and_the_enrolled_stay() -> None:
    confirmed = [kept("nine", n, how="confirmed") for n in range(MOST_TAKES)]
    left = newest([kept(), *confirmed])
    assert len(left) == MOST_TAKES
    assert left[0].how == "enrolled"
    assert left[1] is confirmed[1]


def test_a_voice_is_for_its_owner_alone(store: VoiceStore) -> None:
    voice = store.allow(ANA.model_copy(update={"sound_since": "2031-05-01"}))
    voice.keep([kept(sound_sha256=voice.put_sound(SOUND))])
    voice.keep_learned(learned())
    for folder, _, files in os.walk(store.folder):
        assert stat.S_IMODE(os.stat(folder).st_mode) == 0o700
        for name in files:
            assert stat.S_IMODE(os.stat(os.path.join(folder, name)).st_mode) == 0o600


def test_a_voice_is_found_by_its_name_in_any_case_and_its_language(store: VoiceStore) -> None:
    store.allow(ANA)
    for name in ("ana example", " Ana  Example ", "ANA EXAMPLE"):
        found = store.find(name, "en")
        assert found is not None
        assert found.person == ANA
    assert store.find("Ana Example", "es") is None
    assert store.find("", "en") is None
    assert [one.person.name for one in store.look().voices] == ["Ana Example"]


def test_without_consent_to_sound_none_is_kept(store: VoiceStore) -> None:
    voice = store.allow(ANA)
    assert voice.put_sound(SOUND) == ""
    assert not list(store.folder.rglob("*.flac"))


def test_consent_to_sound_that_is_taken_back_deletes_it(store: VoiceStore) -> None:
    voice = store.allow(ANA.model_copy(update={"sound_since": "2031-05-01"}))
    voice.keep([kept(sound_sha256=voice.put_sound(SOUND))])
    assert list(store.folder.rglob("*.flac"))
    store.allow(ANA)
    assert not list(store.folder.rglob("*.flac"))


def test_a_sound_goes_with_its_take(store: VoiceStore) -> None:
    voice = store.allow(ANA.model_copy(update={"sound_since": "2031-05-01"}))
    name = voice.put_sound(SOUND)
    voice.keep([kept(sound_sha256=name)])
    assert voice.sound_file(name).is_file()
    voice.keep([kept()])
    assert not voice.sound_file(name).exists()


def test_old_sound_goes_and_what_it_taught_stays(store: VoiceStore, vouched: None) -> None:
    voice = store.allow(ANA.model_copy(update={"sound_since": "2031-05-01"}))
    old, new = voice.put_sound(SOUND), voice.put_sound(SOUND[::-1])
    voice.keep([kept(sound_sha256=old), kept("nine", day="2031-06-01", sound_sha256=new)])
    assert voice.let_sound_go("2031-05-15", TODAY) == 1
    assert [one.sound_sha256 for one in voice.takes(TOKENS)] == ["", new]
    assert not voice.sound_file(old).exists()
    assert voice.sound_file(new).is_file()
    assert voice.let_sound_go("2031-05-15", TODAY) == 0


def test_forgetting_leaves_nothing_of_the_person_and_all_of_others(store: VoiceStore) -> None:
    for language in ("en", "es"):
        voice = store.allow(ANA.model_copy(update={"language": language}))
        voice.keep([kept()])
        voice.keep_learned(learned())
    store.allow(ANA.model_copy(update={"name": "B. Sample"}))
    gone = store.forget("ana example")
    assert sorted(one.language for one in gone) == ["en", "es"]
    assert [one.person.name for one in store.look().voices] == ["B. Sample"]
    assert len(list(store.folder.iterdir())) == 1
    assert store.forget("ana example") == []


def test_what_was_half_deleted_is_deleted_with_the_next(store: VoiceStore) -> None:
    voice = store.allow(ANA)
    away = voice.folder.with_name(f".forgotten-{voice.folder.name}")
    voice.folder.rename(away)
    assert store.look().voices == ()
    store.forget("nobody")
    assert not away.exists()


def test_a_voice_in_another_ones_place_is_refused(store: VoiceStore) -> None:
    ana = store.allow(ANA)
    other = store.allow(ANA.model_copy(update={"name": "B. Sample"}))
    (other.folder / "person.json").write_bytes((ana.folder / "person.json").read_bytes())
    with pytest.raises(EarsError, match="not its place"):
        store.find("B. Sample", "en")


def test_a_link_is_not_followed(store: VoiceStore, tmp_path: Path) -> None:
    voice = store.allow(ANA)
    elsewhere = tmp_path / "learned"
    elsewhere.write_bytes(learned().written())
    (voice.folder / "learned.npz").symlink_to(elsewhere)
    with pytest.raises(EarsError, match=r"learned\.npz"):
        voice.adaptation()


def test_a_person_file_that_says_something_else_is_refused(store: VoiceStore) -> None:
    voice = store.allow(ANA)
    (voice.folder / "person.json").write_text('{"name": "Ana Example", "more": 1}')
    with pytest.raises(EarsError, match="whose voice"):
        store.find("Ana Example", "en")
