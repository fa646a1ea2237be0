"""The command line as a person meets it: what it shows, how it ends, what it leaves behind."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
import shlex
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import click
import numpy as np
import pytest
import soundfile
from click.testing import CliRunner, Result

from companion.cli import SECTIONS, main
from companion.commands.grouping import OnDemand
from companion.facts.opening import Opened
from companion.job.loader import JobPaths
from companion.record import Entry, SqliteLog, open_for_reading, open_record
from companion.record.migrations import TRIGGER_NAMES

GROUPS = {name: it for name, it in main.commands.items() if isinstance(it, click.Group)}
COMMANDS = {
    **main.commands,
    **{
        f"{group} {name}": command
        for group, it in GROUPS.items()
        for name, command in it.commands.items()
    },
}
ALSO_AT_THE_TOP = {"review report", "review explain", "review export"}
FIRST_ANSWERS = ("words only", "yes", "bumper", "yes", *("done",) * 2)
RULES = ("421", "yes", "420", "yes", "four one nine millimetres", "yes")


@pytest.fixture
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty data folder in place of the person's own."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data" / "bay-companion"


def companion(*arguments: str | Path, typed: tuple[str, ...] = ()) -> Result:
    lines = "".join(f"{line}\n" for line in typed)
    result = CliRunner().invoke(main, [str(a) for a in arguments], input=lines)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def accepted(record: Path) -> dict[str, str]:
    """The accepted readings of the newest job."""
    with open_for_reading(record) as database:
        events = database.events(database.sessions()[-1].session_id)
        return {e.body["reading_id"]: e.body["value"] for e in events if e.kind == "accepted"}


@pytest.fixture(scope="module")
def rehearsed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of a whole rehearsed job."""
    record = tmp_path_factory.mktemp("rehearsed") / "record.sqlite"
    assert companion("rehearse", "--seed", "1", "--record", record).exit_code == 0
    return record


@pytest.fixture
def copied(rehearsed: Path, tmp_path: Path) -> Path:
    """A copy of that record, to be damaged."""
    copy = tmp_path / "copy.sqlite"
    with sqlite3.connect(rehearsed) as source, sqlite3.connect(copy) as target:
        source.backup(target)
    source.close()
    target.close()
    return copy


# What it shows


def test_every_command_stands_once_in_the_list_with_its_whole_sentence() -> None:
    listed = sorted(name for names in SECTIONS.values() for name in names)
    assert listed == sorted(name for name in main.commands if not COMMANDS[name].hidden)
    shown = " ".join(companion("--help").output.split())
    for name in listed:
        told = COMMANDS[name].get_short_help_str(limit=200)
        assert f"{name} {told}" in shown


def test_the_help_teaches_with_examples_and_tells_every_exit_code() -> None:
    shown = companion("--help")
    assert shown.exit_code == 0
    assert "companion rehearse --seed 1" in shown.output
    assert "companion start --technician" in shown.output
    assert all(re.search(rf"^\s+{code}  ", shown.output, re.MULTILINE) for code in range(9))


@pytest.mark.parametrize("group", [main, COMMANDS["review"]])
def test_a_list_of_commands_tells_what_each_says_of_itself(group: click.Group) -> None:
    told = group.commands
    assert isinstance(told, OnDemand)
    assert told.first_sentences == {
        name: command.get_short_help_str(limit=200) for name, command in told.items()
    }


@pytest.mark.parametrize(
    ("arguments", "not_needed"),
    [
        (
            ["--help"],
            {"companion.runtime.assembly", "companion.record", "numpy", "pydantic", "starlette"},
        ),
        (["verify", "--help"], {"companion.runtime.assembly", "soundfile", "starlette", "jinja2"}),
        (["report", "--help"], {"companion.runtime.assembly", "soundfile", "starlette"}),
        (["display", "--help"], {"companion.runtime.assembly", "soundfile", "starlette", "rich"}),
        (["start", "--help"], {"starlette"}),
    ],
)
def test_a_command_loads_only_what_it_needs(arguments: list[str], not_needed: set[str]) -> None:
    code = (
        "import sys; from companion.cli import main; "
        "main(sys.argv[1:], standalone_mode=False); print(*sys.modules, file=sys.stderr)"
    )
    ended = subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
    )
    assert not_needed.isdisjoint(ended.stderr.split())


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_shows_a_use_of_itself_and_where_the_exit_codes_stand(command: str) -> None:
    shown = companion(*command.split(), "--help")
    assert shown.exit_code == 0
    # A command that is in a group and at the top shows itself at the top.
    name = command if command not in ALSO_AT_THE_TOP else command.removeprefix("review ")
    assert re.search(rf"Example.*: +companion {name}\b", shown.output)
    assert shown.output.endswith("What the exit codes mean: companion --help\n")


@pytest.mark.parametrize("command", [name for name in COMMANDS if name not in GROUPS])
def test_the_examples_in_the_help_name_only_options_that_there_are(command: str) -> None:
    found = COMMANDS[command]
    known = {
        option
        for parameter in found.params
        if isinstance(parameter, click.Option)
        for option in (*parameter.opts, *parameter.secondary_opts)
    }
    help_text = found.help or ""
    examples = re.findall(r"Example[^:]*: +companion (.*)", help_text)
    assert set(re.findall(r" (--[a-z0-9-]+)", " ".join(examples))) <= known


def test_the_version_is_told() -> None:
    assert re.match(r"companion, version \d+\.\d+", companion("--version").output)


@pytest.mark.parametrize("arguments", [("nonsense",), ("start", "--nonsense"), ("hear", "x.wav")])
def test_a_wrong_command_line_ends_with_two(arguments: tuple[str, ...]) -> None:
    assert companion(*arguments).exit_code == 2


# A job


def test_the_files_and_the_record_that_were_chosen_stand_in_the_command_to_go_on_with(
    data_folder: Path, tmp_path: Path
) -> None:
    vehicle, record = tmp_path / "my car.yaml", tmp_path / "mine.sqlite"
    vehicle.write_bytes(JobPaths().vehicle.read_bytes())
    chosen = ("--vehicle", vehicle, "--record", record)
    ended = companion("start", *chosen, "--technician", "A. Example", typed=FIRST_ANSWERS)
    told = re.search(r"To continue: companion (resume .*)", ended.output)
    assert told is not None
    resumed = companion(*shlex.split(told[1]), typed=())
    assert "I am back." in resumed.output


def test_a_job_with_typed_answers_says_how_to_go_on_when_they_end(data_folder: Path) -> None:
    ended = companion("start", "--technician", "A. Example", typed=(*FIRST_ANSWERS, *RULES))
    assert ended.exit_code == 8
    assert "EXAMPLE FILES" in ended.output
    assert "Interrupted; nothing is lost. To continue: companion resume\n" in ended.output
    assert accepted(data_folder / "record.sqlite") == {
        "rule_rear_left_mm": "421",
        "rule_rear_right_mm": "420",
        "rule_front_left_mm": "419",
    }


def test_a_resumed_job_says_where_it_was_and_keeps_every_accepted_reading(
    data_folder: Path,
) -> None:
    companion("start", typed=(*FIRST_ANSWERS, *RULES, "419"))
    record = data_folder / "record.sqlite"
    before = accepted(record)
    resumed = companion("resume", typed=("not touched", "yes", "419", "420", "yes"))
    assert resumed.exit_code == 8
    first_said = next(line for line in resumed.output.splitlines() if "says" in line)
    assert "I am back. We were at ruler on the floor, front right wheel." in first_said
    assert "Say not touched, or was moved." in first_said
    assert "Floor rule, rear left" not in resumed.output
    assert accepted(record) == {**before, "rule_front_right_mm": "419", "rule_stand_mm": "420"}
    assert companion("verify").exit_code == 0


def test_a_reading_not_yet_confirmed_is_asked_again_after_a_break(data_folder: Path) -> None:
    companion("start", typed=(*FIRST_ANSWERS, "421"))
    assert accepted(data_folder / "record.sqlite") == {}
    resumed = companion("resume", typed=("421", "420", "419", "yes"))
    assert "I am back. We were at ruler on the floor, rear left wheel." in resumed.output
    assert accepted(data_folder / "record.sqlite") == {
        "rule_rear_left_mm": "421",
        "rule_rear_right_mm": "420",
        "rule_front_left_mm": "419",
    }


def test_a_job_that_is_over_is_not_resumed(rehearsed: Path) -> None:
    refused = companion("resume", "--record", rehearsed)
    assert refused.exit_code == 7
    assert "holds no interrupted job" in refused.output
    with open_for_reading(rehearsed) as database:
        session = database.sessions()[-1].session_id
    refused = companion("resume", session, "--record", rehearsed)
    assert refused.exit_code == 7
    assert "This session is over" in refused.output


def test_the_folder_of_a_record_is_for_its_owner_alone(tmp_path: Path) -> None:
    companion("start", "--record", tmp_path / "new" / "record.sqlite", typed=FIRST_ANSWERS)
    assert (tmp_path / "new").stat().st_mode & 0o077 == 0


def test_a_session_that_never_began_is_passed_over(data_folder: Path) -> None:
    companion("start", typed=FIRST_ANSWERS)
    with open_record(data_folder / "record.sqlite") as database:
        database.create_session()
    assert "I am back." in companion("resume", typed=()).output


def test_a_job_is_not_resumed_with_other_files(data_folder: Path, tmp_path: Path) -> None:
    companion("start", typed=FIRST_ANSWERS)
    other = tmp_path / "vehicle.yaml"
    other.write_text(JobPaths().vehicle.read_text(encoding="utf-8") + "# another line\n")
    refused = companion("resume", "--vehicle", other)
    assert refused.exit_code == 7
    assert "files have changed since the session began: vehicle" in refused.output


def test_a_box_goes_on_with_a_broken_off_job_or_begins_a_new_one(
    data_folder: Path, tmp_path: Path
) -> None:
    assert "I am back." not in companion("start", "--or-resume", typed=()).output
    assert "I am back." in companion("start", "--or-resume", typed=FIRST_ANSWERS).output
    record = data_folder / "record.sqlite"
    assert "I am back." in companion("start", "--or-resume", typed=("stop",)).output
    with open_for_reading(record) as database:
        assert len(database.sessions()) == 1
    companion("start", "--or-resume", typed=("stop", "end the job", "yes"))
    fresh = companion("start", "--or-resume", typed=FIRST_ANSWERS)
    assert "I am back." not in fresh.output

    other = tmp_path / "vehicle.yaml"
    other.write_text(JobPaths().vehicle.read_text(encoding="utf-8") + "# another line\n")
    changed = companion("start", "--or-resume", "--vehicle", other, typed=())
    assert "The last job cannot be continued" in changed.output
    assert "Starting a new one." in changed.output
    assert "1 of 16  Job card" in changed.output


def test_what_was_signed_off_is_not_gone_on_with(data_folder: Path) -> None:
    companion("start", typed=FIRST_ANSWERS)
    record = data_folder / "record.sqlite"
    with open_record(record) as database:
        log = SqliteLog(database, database.sessions()[-1].session_id)
        log.append([Entry("stopped", {"why": "the floor is too uneven"})])
    signed = companion("sign", "--by", "A. Example", "--role", "technician")
    assert "ended: stopped (the floor is too uneven)" in signed.output
    assert "holds no interrupted job" in companion("resume").output
    assert "I am back." not in companion("start", "--or-resume").output


def test_ending_a_job_by_word_ends_with_eight(data_folder: Path) -> None:
    ended = companion("start", typed=("stop", "end the job", "yes"))
    assert ended.exit_code == 8
    assert "The job has ended without a result" in ended.output
    assert "stopped" in companion("review", "list").output


# Rehearsing


def test_a_rehearsal_ends_inside_and_leaves_a_record_and_a_report(tmp_path: Path) -> None:
    record, report = tmp_path / "r.sqlite", tmp_path / "r.html"
    done = companion("rehearse", "--seed", "3", "--record", record, "--report", report)
    assert done.exit_code == 0
    assert "Result: inside" in done.output
    assert "Hidden truth of the bay" in done.output
    assert companion("verify", "--record", record).exit_code == 0
    assert "inside the entered limits" in report.read_text(encoding="utf-8")


def test_the_same_seed_gives_the_same_rehearsal(tmp_path: Path) -> None:
    told = [companion("rehearse", "--seed", "5", "--slips", "2").output for _ in range(2)]
    without_ids = [re.sub(r"session \S+\.", "", text) for text in told]
    assert without_ids[0] == without_ids[1]
    assert "Slip made:" in told[0]


# The record


def test_sessions_lists_every_job_with_its_end(rehearsed: Path) -> None:
    for command in (("review", "list"), ("sessions",)):
        told = companion(*command, "--record", rehearsed).output.splitlines()
        titles, line, zone, count = told
        assert titles.split()[:2] == ["Session", "Opened"]
        assert re.fullmatch(r"\d{8}-\S+ +\d{4}-\d\d-\d\d .* inside *", line)
        assert zone.startswith("Times are ")
        assert count == "1 to 1 of 1"


def test_a_record_that_is_not_there_ends_with_seven(tmp_path: Path) -> None:
    for command in (
        ["review", "list"],
        ["verify"],
        ["report"],
        ["export"],
        ["explain", "aim_yaw_deg"],
    ):
        result = companion(*command, "--record", tmp_path / "none.sqlite")
        assert result.exit_code == 7, command
        assert "there is no such record file" in result.output


def test_verify_says_unbroken_and_ends_with_nought(rehearsed: Path) -> None:
    result = companion("verify", "--record", rehearsed)
    assert (result.exit_code, result.output.split(":")[0]) == (0, "Unbroken")


def test_verify_names_the_event_of_which_one_byte_was_changed(copied: Path) -> None:
    connection = sqlite3.connect(copied)
    triggers = connection.execute(
        "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
    ).fetchall()
    assert {name for name, _ in triggers} == TRIGGER_NAMES
    for name, _ in triggers:
        connection.execute(f"DROP TRIGGER {name}")
    seq, body = connection.execute(
        "SELECT seq, body FROM event WHERE kind = 'accepted' ORDER BY seq"
    ).fetchone()
    value = json.loads(body)["value"]
    other = value[:-1] + ("7" if value[-1] != "7" else "1")
    changed = body.replace(f'"value":"{value}"', f'"value":"{other}"')
    assert sum(a != b for a, b in zip(body, changed, strict=True)) == 1
    connection.execute("UPDATE event SET body = ? WHERE seq = ?", (changed, seq))
    for _, sql in triggers:
        connection.execute(sql)
    connection.commit()
    connection.close()
    result = companion("verify", "--record", copied)
    assert result.exit_code == 7
    assert f"event {seq}: its content is not what its hash was made of" in result.output
    assert result.output.rstrip().endswith("Broken.")


def test_verify_finds_a_dropped_end_by_the_head_from_the_report(
    copied: Path, tmp_path: Path
) -> None:
    with open_for_reading(copied) as database:
        session = database.sessions()[-1]
    assert companion("verify", "--record", copied, "--head", session.head_hash).exit_code == 0
    connection = sqlite3.connect(copied)
    (sql,) = connection.execute(
        "SELECT sql FROM sqlite_schema WHERE name = 'event_is_never_deleted'"
    ).fetchone()
    connection.execute("DROP TRIGGER event_is_never_deleted")
    connection.execute("DELETE FROM event WHERE seq = ?", (session.event_count,))
    connection.execute(sql)
    connection.commit()
    connection.close()
    by_the_box = companion("verify", "--record", copied)
    assert by_the_box.exit_code == 7
    assert "the box signed event" in by_the_box.output
    assert "its tail was dropped or it was rewritten" not in by_the_box.output
    result = companion("verify", "--record", copied, "--head", session.head_hash)
    assert result.exit_code == 7
    assert "its tail was dropped or it was rewritten" in result.output


def test_a_file_that_is_no_record_ends_with_seven(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite"
    record.write_text("this is no database, whatever its name says\n" * 100)
    for command in (["verify"], ["review", "list"], ["start"]):
        result = companion(*command, "--record", record)
        assert result.exit_code == 7, (command, result.output)
        assert "record.sqlite" in result.output


def test_a_record_that_cannot_be_written_ends_with_seven(tmp_path: Path) -> None:
    blocked = tmp_path / "a_file"
    blocked.write_text("in the way of a folder")
    result = companion("start", "--record", blocked / "record.sqlite", typed=FIRST_ANSWERS)
    assert result.exit_code == 7
    assert "a_file" in result.output


def test_a_record_in_use_is_refused_and_names_the_process(data_folder: Path) -> None:
    companion("start", typed=FIRST_ANSWERS)
    record = data_folder / "record.sqlite"
    script = (
        "import sys; from pathlib import Path; from companion.record import open_record\n"
        "with open_record(Path(sys.argv[1])): print('open', flush=True); sys.stdin.read()"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", script, record],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout is not None
    assert child.stdout.readline() == "open\n"
    refused = companion("start", typed=FIRST_ANSWERS)
    child.communicate("")
    assert refused.exit_code == 7
    assert f"already open for writing (process {child.pid})" in refused.output


def test_export_writes_every_event_or_every_reading(rehearsed: Path, tmp_path: Path) -> None:
    lines = companion("export", "--record", rehearsed).output.splitlines()
    events = [json.loads(line) for line in lines]
    assert [event["seq"] for event in events] == list(range(1, len(events) + 1))
    assert events[0]["kind"] == "opened"
    assert events[-1]["kind"] == "finished"

    out = tmp_path / "readings.csv"
    told = companion("export", "--record", rehearsed, "--form", "readings", "--out", out)
    rows = list(csv.DictReader(io.StringIO(out.read_text(encoding="utf-8"))))
    readings = [event["body"] for event in events if event["kind"] == "accepted"]
    assert told.output == f"{len(readings)} lines: {out}\n"
    assert [row["reading_id"] for row in rows] == [body["reading_id"] for body in readings]
    assert [row["value"] for row in rows] == [body["value"] for body in readings]

    as_csv = companion("export", "--record", rehearsed, "--form", "csv").output
    assert len(list(csv.reader(io.StringIO(as_csv)))) == len(events) + 1


def test_a_report_is_written_where_it_is_wanted(rehearsed: Path, tmp_path: Path) -> None:
    out = tmp_path / "job.html"
    assert companion("report", "--record", rehearsed, "--out", out).exit_code == 0
    with open_for_reading(rehearsed) as database:
        head = database.sessions()[-1].head_hash
    shown = out.read_text(encoding="utf-8")
    assert head in shown.replace(" ", "")


@pytest.mark.parametrize("command", ["report", "export"])
def test_where_nothing_can_be_written_the_folder_is_named(
    rehearsed: Path, tmp_path: Path, command: str
) -> None:
    out = tmp_path / "no_such_folder" / "job.out"
    result = companion(command, "--record", rehearsed, "--out", out)
    assert result.exit_code in (1, 7)
    assert f"{out}: " in result.output
    assert "wanted" in result.output or "choose" in result.output


def test_explain_follows_a_result_back_and_lists_what_there_is(rehearsed: Path) -> None:
    shown = companion("explain", "aim_yaw_deg", "--record", rehearsed)
    assert shown.exit_code == 0
    assert "Formula: aim_error" in shown.output
    unknown = companion("explain", "nothing_such", "--record", rehearsed)
    assert unknown.exit_code == 1
    assert "holds nothing called 'nothing_such'" in unknown.output
    assert "aim_elevation_deg" in unknown.output


@pytest.mark.parametrize("command", [["report"], ["export"], ["explain", "aim_yaw_deg"]])
def test_a_session_that_is_not_in_the_record_ends_with_seven(
    rehearsed: Path, command: list[str]
) -> None:
    result = companion(*command, "no-such-session", "--record", rehearsed)
    assert result.exit_code == 7
    assert "holds no session 'no-such-session'" in result.output


# Files and words


def test_the_shipped_files_are_right_and_their_stages_are_shown() -> None:
    shown = companion("files")
    assert shown.exit_code == 0
    assert "EXAMPLE FILES, NOT A MAKER'S VALUES" in shown.output
    first = r"^  1  Job card: taken_over, heads_out, consent, reason$"
    assert re.search(first, shown.output, re.MULTILINE)
    assert re.search(r"^ 16  Result: finish$", shown.output, re.MULTILINE)


@pytest.mark.parametrize(
    ("wrong", "found", "wanted"),
    [
        ("wheelbase_mm: long", "wheelbase_mm: found 'long'", "a number"),
        ("wheelbase_mm: -2700", "wheelbase_mm: found -2700", "more than 0"),
        ("wheelbase_metres: 2.7", "wheelbase_metres: found 2.7", "no field of this name"),
    ],
)
def test_a_wrong_file_is_named_with_line_what_was_found_and_what_is_wanted(
    tmp_path: Path, wrong: str, found: str, wanted: str
) -> None:
    lines = JobPaths().vehicle.read_text(encoding="utf-8").splitlines()
    place = next(n for n, line in enumerate(lines) if line.startswith("wheelbase_mm:"))
    file = tmp_path / "my_vehicle.yaml"
    file.write_text("\n".join([*lines[:place], wrong, *lines[place + 1 :]]))
    for command in (["files"], ["start", "--record", tmp_path / "r.sqlite"], ["rehearse"]):
        result = companion(*command, "--vehicle", file)
        assert result.exit_code == 3
        (told,) = [line for line in result.output.splitlines() if found in line]
        assert f"my_vehicle.yaml line {place + 1}, {found}; wanted: " in told
        assert wanted in told
        assert "Traceback" not in result.output
    assert not (tmp_path / "r.sqlite").exists()


def test_a_file_that_is_not_there_ends_with_three(tmp_path: Path) -> None:
    result = companion("files", "--bay", tmp_path / "no_bay.yaml")
    assert result.exit_code == 3
    assert "no_bay.yaml" in result.output


def test_phrases_are_those_that_the_step_takes() -> None:
    shown = companion("phrases", "spot_left_mm")
    assert shown.exit_code == 0
    assert "repeat" in shown.output
    unknown = companion("phrases", "no_such_step")
    assert unknown.exit_code == 3
    assert "spot_left_mm" in unknown.output


# Ears


@pytest.fixture(scope="module")
def spoken_reading(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A synthetic voice reading a distance."""
    flite = shutil.which("flite")
    assert flite is not None, "flite is one of the system packages that the tests need"
    sound = tmp_path_factory.mktemp("sound") / "reading.wav"
    words = "one two zero four millimetres"
    subprocess.run([flite, "-voice", "slt", "-t", words, "-o", str(sound)], check=True)
    return sound


def test_a_sound_file_is_heard_as_the_answer_to_a_step(spoken_reading: Path) -> None:
    result = companion("hear", spoken_reading, "--step", "plate_distance_mm")
    assert result.exit_code == 0
    assert "heard       one two zero four" in result.output
    assert "means       one two zero four millimetres" in result.output


def test_a_sound_longer_than_any_answer_is_refused_in_words(tmp_path: Path) -> None:
    long = tmp_path / "long.wav"
    soundfile.write(long, np.zeros(30 * 16_000, dtype=np.int16), 16_000)
    result = companion("hear", long, "--step", "plate_distance_mm")
    assert result.exit_code == 5
    assert "longer than 20 s" in result.output


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("start", "--pedal", "KEY_FOO"), "KEY_FOO"),
        (("start", "--model", "/nowhere"), "--ears vosk"),
        (("hear", "x.wav", "--step", "consent", "--ears", "sphinx", "--model", "/nowhere"), "vosk"),
    ],
)
def test_an_option_that_would_be_ignored_is_refused(arguments: tuple[str, ...], said: str) -> None:
    result = companion(*arguments)
    assert result.exit_code in (2, 5)
    assert said in result.output


def test_a_job_goes_on_with_the_files_it_began_with_wherever_they_lie(tmp_path: Path) -> None:
    record, mine = ("--record", tmp_path / "record.sqlite"), tmp_path / "my car.yaml"
    text = JobPaths().vehicle.read_text(encoding="utf-8")
    mine.write_text(text.replace("Example hatchback", "Grey one"), encoding="utf-8")
    companion("start", *record, "--vehicle", mine, typed=FIRST_ANSWERS)
    assert "Grey one" in companion("resume", *record).output
    moved = mine.rename(tmp_path / "moved.yaml")
    gone = companion("resume", *record)
    assert gone.exit_code == 3
    assert f"{mine}: the vehicle file that this job began with is no longer there" in gone.output
    assert "Grey one" in companion("resume", *record, "--vehicle", moved).output
    moved.rename(mine)
    assert "Grey one" in companion("resume", *record).output


def test_the_record_of_a_job_names_no_home_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its events go to the store as they are, and the folder is called after a person."""
    home = tmp_path / "ada.lovelace"
    (home / "cars").mkdir(parents=True)
    monkeypatch.setenv("HOME", str(home))
    record, mine = home / "record.sqlite", home / "cars" / "my car.yaml"
    text = JobPaths().vehicle.read_text(encoding="utf-8")
    mine.write_text(text.replace("Example hatchback", "Grey one"), encoding="utf-8")
    companion("start", "--record", record, "--vehicle", mine, typed=FIRST_ANSWERS)
    with open_for_reading(record) as database:
        (session,) = database.sessions()
        kept = tuple(database.events(session.session_id))
    opened = next(event.fact for event in kept if isinstance(event.fact, Opened))
    assert opened.file_paths == {"vehicle": "~/cars/my car.yaml"}
    assert not any("lovelace" in json.dumps(event.body, default=str) for event in kept)
    assert "Grey one" in companion("resume", "--record", record).output
    # From another account what lies there is not taken for it.
    monkeypatch.setenv("HOME", str(tmp_path / "somebody else"))
    gone = companion("resume", "--record", record)
    assert gone.exit_code == 3
    assert "the vehicle file that this job began with is no longer there" in gone.output


def test_a_job_begun_and_dropped_is_not_the_last(tmp_path: Path) -> None:
    record = ("--record", tmp_path / "record.sqlite")
    over = companion("start", *record, typed=(*FIRST_ANSWERS, "stop", "end the job", "yes"))
    companion("start", *record, typed=FIRST_ANSWERS)
    with open_for_reading(tmp_path / "record.sqlite") as database:
        ended, dropped = (session.session_id for session in database.sessions())
    assert ended in over.output
    out = ("--out", tmp_path / "report.html")
    companion("report", *record, *out)
    page = (tmp_path / "report.html").read_text(encoding="utf-8")
    assert (ended in page, dropped in page) == (True, False)
    signed = companion("sign", *record, "--by", "A. Example", "--role", "technician")
    assert f"Session {ended} ended: stopped" in signed.output
    assert dropped in companion("resume", *record).output


def test_a_typed_note_is_kept_as_it_was_typed_and_is_no_refusal(tmp_path: Path) -> None:
    record, note = ("--record", tmp_path / "record.sqlite"), "Rear LEFT tyre at 0.5 bar, 12 mm out"
    told = companion("start", *record, typed=(*FIRST_ANSWERS, "note", note)).output
    after = told[told.index("Speak your note.") :]
    assert f"hears  {note}" in after
    assert "Note kept." in after
    assert "no answer here" not in after
    shown = companion("review", "show", *record).output
    assert shown.count(note) == 2
    with open_for_reading(tmp_path / "record.sqlite") as database:
        (session,) = [s.session_id for s in database.newest_first() if s.event_count]
        told_of = {event.kind: event.body for event in database.events(session)}
    assert told_of["noted"]["words"] == note
    assert told_of["refused"]["reason"] == "note"


@pytest.mark.parametrize("command", [("rehearse",), ("check", "--no-speaking")])
def test_a_model_that_nothing_would_look_at_is_refused(command: tuple[str, ...]) -> None:
    result = companion(*command, "--model", "/nowhere")
    assert result.exit_code == 2
    assert "--ears vosk" in result.output


def test_what_is_to_be_done_after_a_job_can_be_done_as_it_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    record = ("--record", tmp_path / "my record.sqlite")
    over = (*FIRST_ANSWERS, "stop", "end the job", "yes")
    ended = companion("start", *record, "--technician", "A. Example", typed=over)
    told = ended.output.splitlines()[-1]
    how = re.fullmatch(r"The report: (.*) writes (.*)\. Its sign-off: (.*)", told)
    assert how is not None, told
    companion("start", *record, typed=over)
    companion("resume", *record)
    assert companion(*shlex.split(how[3])[1:]).exit_code == 0
    assert companion(*shlex.split(how[1])[1:]).exit_code == 0


def test_a_sound_file_that_is_no_answer_to_the_step_means_nothing(spoken_reading: Path) -> None:
    result = companion("hear", spoken_reading, "--step", "consent")
    assert result.exit_code == 1
    assert result.output.splitlines()[-1].split() == ["means", "nothing"]


def test_a_sound_file_that_is_not_there_ends_with_five(tmp_path: Path) -> None:
    result = companion("hear", tmp_path / "none.wav", "--step", "plate_distance_mm")
    assert result.exit_code == 5
    assert "none.wav" in result.output


def test_vosk_without_a_model_says_how_to_get_one(spoken_reading: Path) -> None:
    arguments = ("hear", spoken_reading, "--step", "plate_distance_mm", "--ears", "vosk")
    result = companion(*arguments)
    assert result.exit_code == 5
    assert "companion fetch-ears" in result.output


def test_an_archive_with_another_hash_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    archive, into = tmp_path / "model.zip", tmp_path / "ears"
    with zipfile.ZipFile(archive, "w") as writing:
        writing.writestr("model/conf/model.conf", "--sample-frequency=16000\n")
    wrong = hashlib.sha256(b"something else").hexdigest()
    arguments = ("fetch-ears", "--from-file", archive, "--into", into, "--sha256")
    result = companion(*arguments, wrong)
    assert result.exit_code == 5
    assert wrong in result.output
    assert not into.exists()
    assert companion(*arguments, "not a hash").exit_code == 5


def test_an_address_that_is_not_https_is_refused(tmp_path: Path) -> None:
    arguments = ("fetch-ears", "--url", "http://127.0.0.1/model.zip", "--sha256", "0" * 64)
    result = companion(*arguments, "--into", tmp_path / "ears")
    assert result.exit_code == 5
    assert "https" in result.output
    without_hash = companion("fetch-ears", "--url", "https://127.0.0.1/model.zip")
    assert without_hash.exit_code == 2


def test_the_installed_command_shows_errors_plainly(tmp_path: Path) -> None:
    command = Path(sys.executable).with_name("companion")
    ended = subprocess.run(
        [command, "files", "--bay", tmp_path / "none.yaml"], capture_output=True, text=True
    )
    assert ended.returncode == 3
    assert ended.stderr.startswith("companion: ")
    assert "Traceback" not in ended.stderr
    assert ended.stdout == ""


def test_files_say_before_any_work_what_nothing_could_pass(tmp_path: Path) -> None:
    bay = tmp_path / "bay.yaml"
    text = JobPaths().bay.read_text(encoding="utf-8")
    bay.write_text(
        text.replace("doubt_deg: 0.006", "doubt_deg: 0.3")
        + "\nunusual: [floor.line_laser_doubt_deg]\n",
        encoding="utf-8",
    )
    assert "Nothing could pass" not in companion("files").output
    shown = companion("files", "--bay", bay)
    assert shown.exit_code == 0
    assert "Nothing could pass at aim inside the vehicle's tolerance" in shown.output
    assert (
        "Most of it comes from aim_error.floor_slope_up_deg: bay.floor.line_laser_doubt_deg."
        in shown.output
    )


@pytest.mark.parametrize(
    ("name", "where"), [("list", "companion review list"), ("show", "companion visit show")]
)
def test_a_command_of_a_group_asked_for_at_the_top_is_told_where_it_is(
    name: str, where: str
) -> None:
    told = companion(name)
    assert told.exit_code == 2
    assert f"'{where}'" in told.output


@pytest.mark.parametrize("group", sorted(GROUPS))
def test_what_a_groups_help_says_of_a_command_is_a_whole_sentence(group: str) -> None:
    listed = companion(group, "--help").output.partition("Commands:")[2]
    assert listed
    assert "..." not in listed.replace("last ...", "")


def test_the_example_that_practises_the_screws_names_their_stage() -> None:
    example = re.search(r"the screws.*--stage (\d+)", COMMANDS["practise"].help or "")
    assert example is not None
    stages = companion("files").output
    assert re.search(rf"^ *{example[1]}  Adjusting screws:", stages, re.MULTILINE)
