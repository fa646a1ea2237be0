"""What is kept of voices goes when it should: after a cut, by a wrong clock, past damaged ones."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.commands.voices import enrol_after_practice
from companion.errors import CompanionError, EarsError
from companion.recognition.voices import sounds as sounds_module
from companion.recognition.voices.refusals import require_name
from companion.recognition.voices.store import Person, Voice, VoiceStore
from companion.record import open_record
from companion.record.left_over import AT_WORK_S
from companion.runtime import assembly
from tests.recognition.test_kept_voices import ANA, SOUND, TODAY, TOKENS, kept, learned

SINCE = {"sound_since": "2031-05-01"}
BEN = ANA.model_copy(update={"name": "B. Sample"})
BEFORE = "2031-05-15"


@pytest.fixture
def store(tmp_path: Path) -> VoiceStore:
    return VoiceStore(tmp_path / "bay.record")


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> dict[str, bool]:
    """Whether something vouches for the computer's date: yes, until a test says otherwise."""
    vouched = {"now": True}
    monkeypatch.setattr("companion.record.clock.time_is_synchronised", lambda: vouched["now"])
    return vouched


def with_sound(store: VoiceStore, person: Person = ANA, **told: str) -> tuple[Voice, str]:
    voice = store.allow(person.model_copy(update=SINCE))
    name = voice.put_sound(SOUND)
    voice.keep([kept(sound_sha256=name, **told)])
    return voice, name


def made_before(path: Path, seconds: float) -> None:
    moment = time.time() - seconds
    os.utime(path, (moment, moment))


# After a cut.


def test_a_cut_within_expiry_leaves_no_sound_for_ever(
    store: VoiceStore, clock: dict[str, bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    voice, name = with_sound(store)

    def cut(*_: object) -> int:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(sounds_module.ClipStore, "remove", cut)
        with pytest.raises(KeyboardInterrupt):
            voice.let_sound_go(BEFORE, TODAY)
    assert [one.sound_sha256 for one in voice.takes(TOKENS)] == [""]
    assert voice.sound_file(name).is_file()
    made_before(voice.sound_file(name), AT_WORK_S + 60)
    assert voice.let_sound_go(BEFORE, TODAY) == 1
    assert not voice.sound_file(name).exists()


@pytest.mark.parametrize("age_s", [AT_WORK_S + 60, -10 * 365 * 86_400])
def test_a_sound_that_no_take_names_goes_unless_it_is_just_being_kept(
    store: VoiceStore, clock: dict[str, bool], age_s: float
) -> None:
    """Also one that a clock that ran ahead has dated."""
    voice, name = with_sound(store, day="2031-06-01")
    stray = voice.put_sound(SOUND[::-1])
    assert voice.let_sound_go(BEFORE, TODAY) == 0
    assert voice.sound_file(stray).is_file()
    made_before(voice.sound_file(stray), age_s)
    assert voice.let_sound_go(BEFORE, TODAY) == 1
    assert not voice.sound_file(stray).exists()
    assert voice.sound_file(name).is_file()


def test_what_is_half_written_goes_unless_it_is_just_being_written(
    store: VoiceStore, clock: dict[str, bool]
) -> None:
    voice, name = with_sound(store, day="2031-06-01")
    remnants = [
        voice.folder / ".takes-abcdefgh",
        voice.folder / ".learned-abcdefgh",
        voice.folder / ".person-abcdefgh",
        voice.sound_file(name).with_name(f".{name[:8]}-abcdefgh"),
    ]
    for remnant in remnants:
        remnant.write_bytes(b"half")
    voice.let_sound_go(BEFORE, TODAY)
    assert all(remnant.exists() for remnant in remnants)
    for remnant in remnants:
        made_before(remnant, AT_WORK_S + 60)
    voice.let_sound_go(BEFORE, TODAY)
    assert not any(remnant.exists() for remnant in remnants)


def test_sound_whose_consent_was_taken_back_goes_although_a_cut_left_it(
    store: VoiceStore, clock: dict[str, bool]
) -> None:
    voice, name = with_sound(store, day="2031-06-01")
    without = Voice(voice.folder, ANA)
    (voice.folder / "person.json").write_text(ANA.model_dump_json(), encoding="utf-8")
    assert without.let_sound_go(BEFORE, TODAY) == 1
    assert not voice.sound_file(name).exists()
    assert [one.sound_sha256 for one in without.takes(TOKENS)] == [""]


# By a wrong clock.


def test_a_sound_from_the_future_ages_from_the_first_expiry_that_sees_it(
    store: VoiceStore, clock: dict[str, bool]
) -> None:
    voice, name = with_sound(store, day="2040-01-01")
    assert voice.let_sound_go("2031-06-01", TODAY) == 0
    assert [one.day for one in voice.takes(TOKENS)] == [TODAY]
    assert voice.let_sound_go(TODAY, "2031-08-01") == 0
    assert voice.sound_file(name).is_file()
    assert voice.let_sound_go("2031-07-02", "2031-08-02") == 1
    assert not voice.sound_file(name).exists()


def test_a_sound_of_a_clock_that_was_behind_does_not_go_too_early(
    store: VoiceStore, clock: dict[str, bool]
) -> None:
    clock["now"] = False
    voice, name = with_sound(store, day="2001-01-01")
    assert voice.let_sound_go("2031-06-01", TODAY) == 0
    assert [one.day for one in voice.takes(TOKENS)] == [TODAY]
    assert voice.let_sound_go("2031-07-01", "2031-08-01") == 0
    assert voice.sound_file(name).is_file()
    assert voice.let_sound_go("2031-07-02", "2031-08-02") == 1
    assert list((voice.folder / "sounds").iterdir()) == []


def test_a_sound_of_a_vouched_clock_is_as_old_as_its_take(
    store: VoiceStore, clock: dict[str, bool]
) -> None:
    voice, _ = with_sound(store, day="2001-01-01")
    assert voice.let_sound_go("2031-06-01", TODAY) == 1


# Forgetting that was cut short.


def test_a_forgetting_that_was_cut_short_hinders_no_later_one(store: VoiceStore) -> None:
    for _ in range(2):
        voice, _ = with_sound(store)
        voice.folder.rename(voice.folder.with_name(f".forgotten-{voice.folder.name}"))
        with_sound(store)
        assert [one.name for one in store.forget("ana example")] == ["Ana Example"]
        assert list(store.folder.iterdir()) == []


def test_expiry_ends_a_forgetting_that_was_cut_short(store: VoiceStore) -> None:
    voice, _ = with_sound(store)
    voice.folder.rename(voice.folder.with_name(f".forgotten-{voice.folder.name}"))
    assert store.let_sound_go(BEFORE, TODAY).hindered == ()
    assert list(store.folder.iterdir()) == []


# Past what is no voice, or a damaged one.


@pytest.fixture
def littered(store: VoiceStore, clock: dict[str, bool]) -> VoiceStore:
    """A voice, a damaged one, and things that somebody left among them."""
    with_sound(store)
    voice, _ = with_sound(store, BEN)
    (voice.folder / "person.json").write_text("{", encoding="utf-8")
    (store.folder / "notes.txt").write_text("whose?", encoding="utf-8")
    (store.folder / "old").mkdir()
    (store.folder / ("0" * 32)).write_text("no folder", encoding="utf-8")
    return store


def test_voices_are_found_past_damaged_ones_and_other_things(littered: VoiceStore) -> None:
    found = littered.look()
    assert [one.person.name for one in found.voices] == ["Ana Example"]
    assert [type(one) for one in found.damaged] == [EarsError]


@pytest.mark.parametrize(
    ("name", "called"), [("ana example", "Ana Example"), ("b. sample", "b. sample")]
)
def test_somebody_is_forgotten_past_damaged_ones_and_also_where_the_file_is_damaged(
    littered: VoiceStore, name: str, called: str
) -> None:
    before = len(list(littered.folder.iterdir()))
    assert [(one.name, one.language) for one in littered.forget(name)] == [(called, "en")]
    assert len(list(littered.folder.iterdir())) == before - 1
    assert littered.forget(name) == []


def test_expiry_goes_on_past_a_damaged_voice_and_tells_of_it(
    littered: VoiceStore, tmp_path: Path
) -> None:
    record = tmp_path / "bay.record"
    open_record(record).close()
    voice = littered.look().voices[0]
    name = voice.takes(TOKENS)[0].sound_sha256
    voice.keep([kept(day="2020-01-01", sound_sha256=name)])
    expire = ["clips", "expire", "--days", "30", "--yes", "--record", str(record)]
    done = CliRunner().invoke(main, expire)
    assert done.exit_code == EarsError.exit_code
    assert "1 sound of learned voices deleted" in done.output
    assert "does not say whose voice this is" in done.output
    assert not voice.sound_file(name).exists()


def test_expiry_goes_on_past_damaged_takes(littered: VoiceStore) -> None:
    first = littered.allow(ANA.model_copy(update={**SINCE, "name": "A. First"}))
    (first.folder / "takes.npz").write_bytes(b"spoiled")
    let_go = littered.let_sound_go(BEFORE, TODAY)
    assert let_go.sounds == 1
    assert len(let_go.hindered) == 2


def test_the_list_goes_on_past_damaged_ones_and_tells_of_them(
    littered: VoiceStore, tmp_path: Path
) -> None:
    last = littered.allow(ANA.model_copy(update={"name": "Z. Last"}))
    last.keep_learned(learned())
    first = littered.allow(ANA.model_copy(update={"name": "A. First"}))
    (first.folder / "learned.npz").write_bytes(b"spoiled")
    done = CliRunner().invoke(main, ["voice", "list", "--record", str(tmp_path / "bay.record")])
    assert done.exit_code == EarsError.exit_code
    assert "Ana Example" in done.output
    assert "Z. Last" in done.output
    assert "does not say whose voice this is" in done.output
    assert "learned.npz" in done.output


# Plain refusals.

AS_NOBODY = """
import os, sys
from pathlib import Path
from companion.errors import CompanionError
from companion.recognition.voices.store import VoiceStore
if os.geteuid() == 0:
    os.setuid(65534)  # the administrator may read anywhere, so read as nobody
store = VoiceStore(Path(sys.argv[1]))
for ask in (store.look, lambda: store.find("Ana Example", "en"), lambda: store.forget("Ana")):
    try:
        print(ask())
    except CompanionError as error:
        print(error)
"""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """One that everybody may enter, unlike a test's own."""
    with tempfile.TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        yield Path(folder)


def test_a_folder_that_others_may_not_read_is_refused_plainly(open_folder: Path) -> None:
    record = open_folder / "bay.record"
    voices = VoiceStore(record).folder
    VoiceStore(record).allow(ANA)
    voices.chmod(0)
    command = [sys.executable, "-c", AS_NOBODY, str(record)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, check=False)
    finally:
        voices.chmod(0o700)
    told = done.stdout.splitlines()
    assert done.stderr == ""
    assert len(told) == 3
    assert all(line.startswith(str(voices)) and "cannot be read" in line for line in told)
    assert all("wanted: " in line for line in told)


@pytest.mark.parametrize("command", [["list"], ["export", "Ana Example", "out"]])
def test_what_cannot_be_looked_at_ends_a_command_plainly(
    tmp_path: Path, command: list[str]
) -> None:
    (tmp_path / "bay.record.voices").write_text("no folder", encoding="utf-8")
    words = ["voice", *command, "--record", str(tmp_path / "bay.record")]
    done = CliRunner().invoke(main, words)
    assert done.exit_code == EarsError.exit_code
    assert "bay.record.voices" in done.output
    assert "wanted: " in done.output


@pytest.mark.parametrize("name", ["", "   ", "x" * 201, "a\udce9"])
def test_a_name_that_none_can_have_is_refused_before_anything_is_asked(
    tmp_path: Path, name: str
) -> None:
    with pytest.raises(EarsError, match="1 to 200 characters"):
        require_name(name)
    words = ["voice", "enrol", name, "--record", str(tmp_path / "bay.record")]
    done = CliRunner().invoke(main, words, input="y\ny\n")
    assert done.exit_code == EarsError.exit_code
    assert "1 to 200 characters" in done.output
    assert "personal data" not in done.output
    assert list(tmp_path.iterdir()) == []


def test_after_practice_a_name_that_none_can_have_is_asked_for_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    lines = iter(["y", "x" * 201, "Ana", "n"])
    devices = (assembly.EarsChoice("own"), assembly.VoiceChoice("silent"))
    record = tmp_path / "bay.record"
    enrol_after_practice(assembly.language("en"), record, *devices, lines, ())
    told = capsys.readouterr().out
    assert "found 201 characters" in told
    assert told.index("found 201") < told.index("personal data")
    assert list(lines) == []


def test_a_name_is_kept_with_single_spaces() -> None:
    assert require_name("  Ana   Example ") == "Ana Example"
    assert len(require_name("x" * 200)) == 200


def test_a_sound_that_cannot_be_kept_is_refused_plainly(store: VoiceStore) -> None:
    voice = store.allow(ANA.model_copy(update=SINCE))
    (voice.folder / "sounds").write_text("no folder", encoding="utf-8")
    with pytest.raises(CompanionError, match="cannot be written"):
        voice.put_sound(SOUND)
