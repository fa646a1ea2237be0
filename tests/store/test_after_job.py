"""A job that is over is sent, by another process; what the store said is told once and shown."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.display.look import look
from companion.display.moment import Moment
from companion.display.page import view
from companion.display.watching import Watching
from companion.record.store_word import LastWord, keep, last_word
from companion.store.after_job import sending_alone, sign_path
from companion.store.connecting import NotReached
from tests.store.yard import Box, Yard, work

ANSWERS = ("words only", "yes", "bumper", "yes", "stop", "end the job", "yes")


@pytest.fixture
def settings(yard: Yard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A box's settings, with a store."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    box = yard.box(jobs=0)
    return _settings(tmp_path, box, box.store)


def _settings(folder: Path, box: Box, store: str) -> Path:
    file = folder / "settings.yaml"
    file.write_text(
        f"kind: settings\nrecord: {box.record}\nstore: {store}\n"
        f"store_password_file: {box.password_file}\n"
    )
    return file


def _job(settings: Path, *words: str) -> str:
    typed = "".join(f"{line}\n" for line in ANSWERS)
    done = CliRunner().invoke(main, ["start", "--settings", str(settings), *words], input=typed)
    assert done.exit_code == 8, (done.output, done.exception)
    return done.output


def _record(settings: Path) -> Path:
    return Path(settings.read_text().split("record: ")[1].split("\n")[0])


def _word(record: Path) -> LastWord:
    until = time.monotonic() + 90
    while (word := last_word(record)) is None:
        assert time.monotonic() < until, "nothing was sent"
        time.sleep(0.2)
    return word


def test_a_job_is_sent_when_it_is_over(settings: Path, yard: Yard) -> None:
    _job(settings)
    assert _word(_record(settings)).told == ""
    jobs, events = yard.counts()
    # The job, and the visit that it belongs to in the office's own session.
    assert jobs == 2
    assert events > 20
    assert yard.problems() == []


def test_on_a_box_of_services_a_sign_is_left_instead(
    settings: Path, yard: Yard, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "manager"))
    _job(settings)
    record = _record(settings)
    unit = (Path(__file__).parents[2] / "systemd" / "bay-companion-shipping.path").read_text()
    assert f"PathChanged=/var/lib/bay-companion/record.sqlite{sign_path(record).suffix}" in unit
    assert sign_path(record).read_text().startswith("20")
    assert last_word(record) is None
    assert yard.counts() == (0, 0)


def test_no_net_is_told_once_and_delays_nothing(settings: Path, tmp_path: Path) -> None:
    record = _record(settings)
    nowhere = f"host={tmp_path / 'nowhere'} dbname=x user=y"
    text = settings.read_text()
    store = text.split("store: ")[1].split("\n")[0]
    settings.write_text(text.replace(store, nowhere))
    assert "waits to be sent" not in _job(settings)
    assert "cannot be reached" in _word(record).told
    assert "waits to be sent" in _job(settings)
    # The same again, from the process that is going on now or from the timer, is no news.
    CliRunner().invoke(main, ["ship", "--settings", str(settings)])
    assert "waits to be sent" not in _job(settings)


def test_a_refusal_is_told_once_and_stays_on_the_screen(settings: Path, yard: Yard) -> None:
    record = _record(settings)
    keep(record, LastWord("2026-03-02T08:00:00.000Z", "it forks", "fork"))
    assert "does not take this box's record: it forks" in _job(settings)
    assert "it forks" not in _job(settings, "--language", "es")
    _job(settings)
    moments: list[Moment] = []
    watching = Watching(record, moments.append)
    keep(record, LastWord("2026-03-02T08:00:00.000Z", "it forks", "fork"))
    watching.start()
    until = time.monotonic() + 30
    while not (moments and moments[-1].store_told) and time.monotonic() < until:
        time.sleep(0.1)
    watching.stop()
    assert moments[-1].condition in ("over", "no_job")
    assert "this is not the record it had before" in view(moments[-1])


@pytest.mark.parametrize(
    ("code", "wanted"), [("en", "Tell your supervisor"), ("es", "Avisa a tu supervisor")]
)
def test_both_languages_say_it_and_only_where_no_job_goes_on(code: str, wanted: str) -> None:
    from companion.display.fold import Told
    from companion.facts.opening import Opened

    told = Told(opened=Opened(language=code))
    for what in ("older", "fork", "gap", "changed", "signature", "clock", "unreadable"):
        moment = look(told, store=LastWord("x", "told", what))
        assert wanted in moment.store_told, what
    assert wanted in look(told, store=LastWord("x", files_told="told")).store_told
    assert look(told, store=LastWord("x", "no net")).store_told == ""
    assert look(told).store_told == ""


def test_one_at_a_time_sends_a_record(settings: Path) -> None:
    with sending_alone(_record(settings)) as alone:
        assert alone
        done = CliRunner().invoke(main, ["ship", "--settings", str(settings)])
    assert "being sent at the moment" in done.output
    assert os.access(_record(settings), os.R_OK)


def test_an_older_last_word_is_read(tmp_path: Path) -> None:
    record = tmp_path / "bay.record"
    work(record, 0)
    state = tmp_path / "bay.record.store"
    state.write_text('{"at": "x", "told": "it forks", "refused": true}\n')
    assert last_word(record) == LastWord("x", "it forks", "other")
    assert NotReached("x").exit_code == 9
