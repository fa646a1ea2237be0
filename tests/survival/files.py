"""Damaged files: mutated, cut, huge, binary, deep, and what is no file at all.

Whatever a file holds, reading it ends in one of two ways: it is taken, and then a whole rehearsed
job runs on it without an error of the program; or a `CompanionError` names the file.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from random import Random

from companion.errors import CompanionError
from companion.job.loader import JobPaths, LoadedJob
from companion.language.grammar import Grammar
from companion.language.loader import load_language
from companion.recognition.port import SoundEnded
from companion.recognition.source import read_sound
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.settings.describing import as_json, explain
from companion.settings.reading import find_settings
from companion.simulation.errors import RehearsalError
from companion.speech.silent import SilentVoice

NAMES = ("job", "vehicle", "mount", "bay")
NUMBER = re.compile(rb"-?\d+(?:\.\d+)?")
ODD_NUMBERS = (
    b".nan", b".inf", b"-.inf", b"1e999", b"-1", b"0", b"1e-300", b"9" * 400, b"0x1F", b"1_000",
    b"1:30", b"0.1", b"1000000", b"yes", b"~", b"''", b"[1, 2]", b"{a: 1}", b"\"12\"", b"2700.5",
)  # fmt: skip
ODD_TEXTS = (
    b"!!python/object/apply:os.system ['true']",
    b"&a [*a]",
    b"\x00",
    b"\xff\xfe",
    b"\t",
    b"{" * 300,
    b"[" * 3000,
    b"- " * 2000,
    b"<<: *nobody",
    "\u202e‮".encode(),
    b"? ",
    b"%YAML 9.9\n---\n",
    b"---\n---\n",
    b"a" * 100_000,
    b"../../../../etc/passwd",
    b"{file_that_is_not}",
    b"id: finish",
)
Mutation = Callable[[Random, bytes], bytes]


def flip_a_byte(random: Random, content: bytes) -> bytes:
    """One byte becomes another."""
    at = random.randrange(len(content))
    return content[:at] + bytes([random.randrange(256)]) + content[at + 1 :]


def cut(random: Random, content: bytes) -> bytes:
    """The end is missing."""
    return content[: random.randrange(len(content))]


def drop_a_line(random: Random, content: bytes) -> bytes:
    """One line is missing."""
    lines = content.splitlines(keepends=True) or [b"x"]
    del lines[random.randrange(len(lines))]
    return b"".join(lines)


def double_a_line(random: Random, content: bytes) -> bytes:
    """One line stands twice."""
    lines = content.splitlines(keepends=True)
    at = random.randrange(len(lines))
    return b"".join([*lines[: at + 1], *lines[at:]])


def swap_lines(random: Random, content: bytes) -> bytes:
    """Two lines change places."""
    lines = content.splitlines(keepends=True)
    first, second = random.randrange(len(lines)), random.randrange(len(lines))
    lines[first], lines[second] = lines[second], lines[first]
    return b"".join(lines)


def _a_number(random: Random, content: bytes) -> re.Match[bytes] | None:
    found = list(NUMBER.finditer(content))
    return random.choice(found) if found else None


def odd_number(random: Random, content: bytes) -> bytes:
    """A number becomes something that may be none."""
    chosen = _a_number(random, content)
    if chosen is None:
        return content
    return content[: chosen.start()] + random.choice(ODD_NUMBERS) + content[chosen.end() :]


def other_unit(random: Random, content: bytes) -> bytes:
    """A number as it would be in another unit, or with its sign turned."""
    chosen = _a_number(random, content)
    if chosen is None:
        return content
    value = float(chosen[0]) * random.choice((1000, 0.001, 25.4, 57.3, 1 / 57.3, -1, 10, 0.1))
    return content[: chosen.start()] + f"{value:.6g}".encode() + content[chosen.end() :]


def odd_text(random: Random, content: bytes) -> bytes:
    """Something strange stands in the middle."""
    at = random.randrange(len(content))
    return content[:at] + random.choice(ODD_TEXTS) + content[at:]


def other_word(random: Random, content: bytes) -> bytes:
    """One word of the file stands where another did."""
    words = list(re.finditer(rb"[A-Za-z_]{2,}", content))
    if not words:
        return content
    place, word = random.choice(words), random.choice(words)
    return content[: place.start()] + word[0] + content[place.end() :]


MUTATIONS: tuple[Mutation, ...] = (
    flip_a_byte,
    cut,
    drop_a_line,
    double_a_line,
    swap_lines,
    odd_number,
    other_unit,
    odd_text,
    other_word,
)


def mutated(random: Random, content: bytes) -> bytes:
    """The content with one to three mutations."""
    for _ in range(random.choice((1, 1, 1, 2, 3))):
        content = random.choice(MUTATIONS)(random, content) or b"x"
    return content


def job_files(folder: Path, seed: int, count: int) -> Counter[str]:
    """So many damaged job, vehicle, mount or bay files; what came of them.

    Raises whatever the program raised beside a CompanionError, with the seed and the file kept.
    """
    shipped = JobPaths()
    seen: Counter[str] = Counter()
    for number in range(count):
        random = Random(f"{seed} {number} file")
        name = random.choice(NAMES)
        path = folder / f"{name}.yaml"
        path.write_bytes(mutated(random, getattr(shipped, name).read_bytes()))
        try:
            seen[_try_job(JobPaths(**{name: path}), path, number)] += 1
        except Exception as error:
            error.add_note(f"seed {seed}, file {number} ({name}): kept as {path}")
            raise
    return seen


def _try_job(paths: JobPaths, path: Path, seed: int) -> str:
    try:
        loaded = assembly.load(paths)
    except CompanionError as error:
        _names(path, error)
        return "refused"
    return _rehearse(loaded, seed)


def _rehearse(loaded: LoadedJob, seed: int) -> str:
    """A whole job on files that were taken; only the rehearsal bay may find them impossible."""
    try:
        rehearsal = make_rehearsal(loaded, seed)
        run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), MemoryLog())
    except RehearsalError:
        return "taken, no bay for it"
    except SoundEnded:
        return "taken, the technician gave up"
    return "taken, a whole job"


def _names(path: Path, error: CompanionError) -> None:
    text = str(error)
    if path.name not in text:
        raise AssertionError(f"the message does not name {path.name}: {text}")
    if len(text) > 20_000:
        raise AssertionError(f"a message of {len(text)} characters")


SETTINGS = """kind: settings
job_file: my_job.yaml
technician: "A. Example"
record: record.sqlite
keep_sound: true
keep_sound_days: 90
ears: own
microphone: USB
deaf_after_speaking_s: 0.5
pedal_key: KEY_F13
voice: speaker
voice_speed_wpm: 160
loudness_in_quiet_db: -8.0
loudness_limit_db: -2.0
earcons: false
display_host: 127.0.0.1
display_port: 8170
"""


def settings_files(folder: Path, seed: int, count: int) -> Counter[str]:
    """So many damaged settings files: refused with the file's name, or settings that can be told.

    What is taken is explained as `companion settings --explain` does, and again as JSON.
    """
    seen: Counter[str] = Counter()
    path = folder / "settings.yaml"
    for number in range(count):
        random = Random(f"{seed} {number} settings")
        path.write_bytes(mutated(random, SETTINGS.encode()))
        try:
            read = find_settings(path)
            json.dumps(as_json(read), allow_nan=False)
            explain(read)
        except CompanionError as error:
            _names(path, error)
            seen["refused"] += 1
        except Exception as error:
            error.add_note(f"seed {seed}, file {number}: kept as {path}")
            raise
        else:
            seen["taken"] += 1
    return seen


def grammar_files(seed: int, count: int) -> Counter[str]:
    """So many damaged grammars: refused with the file's name, or still able to hear."""
    folder = Path(__file__).parents[2] / "grammars" / "en"
    texts = {file.name: file.read_bytes() for file in sorted(folder.glob("*.grammar"))}
    seen: Counter[str] = Counter()
    for number in range(count):
        random = Random(f"{seed} {number} grammar")
        name = random.choice(sorted(texts))
        try:
            text = mutated(random, texts[name]).decode("utf-8")
        except UnicodeDecodeError:
            seen["not text"] += 1
            continue
        others = {other: kept.decode("utf-8") for other, kept in texts.items() if other != name}
        try:
            Grammar.from_texts({**others, name: text}, load_language("en").speaker)
        except CompanionError as error:
            if "grammar" not in str(error):
                raise AssertionError(f"grammar {number}: no file is named: {error}") from error
            seen["refused"] += 1
        except Exception as error:
            error.add_note(f"seed {seed}, grammar {number} ({name})")
            raise
        else:
            seen["taken"] += 1
    return seen


def sound_files(folder: Path, seed: int, count: int, whole: bytes) -> Counter[str]:
    """So many damaged sound files: refused with the file's name, or heard as 16 kHz sound."""
    seen: Counter[str] = Counter()
    for number in range(count):
        random = Random(f"{seed} {number} sound")
        path = folder / "answer.wav"
        damage = random.choice((flip_a_byte, cut, _damage_the_head, _damage_the_head))
        path.write_bytes(damage(random, whole))
        try:
            read_sound(path)
        except CompanionError as error:
            _names(path, error)
            seen["refused"] += 1
        except Exception as error:
            error.add_note(f"seed {seed}, sound {number}: kept as {path}")
            raise
        else:
            seen["taken"] += 1
    return seen


def _damage_the_head(random: Random, content: bytes) -> bytes:
    head = bytearray(content[:44])
    for _ in range(random.randrange(1, 5)):
        head[random.randrange(4, len(head))] = random.choice((0, 1, 127, 128, 255))
    return bytes(head) + content[44:]
