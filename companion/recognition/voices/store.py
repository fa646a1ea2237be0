"""Whose voices are learned beside a record: consent, takes, what was learned; all can be deleted.

A folder for each person and language, named by a hash, readable by its owner alone. Nothing of it
goes into the record, a backup or a store; a record knows a voice by its version alone.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from string import ascii_lowercase
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import CompanionError, EarsError
from companion.recognition.own.adaptation import MOST_BYTES, Adaptation, read_adaptation
from companion.recognition.voices import takes as takes_file
from companion.recognition.voices.refusals import (
    LONGEST_NAME,
    undeletable,
    unreadable,
    unwritable,
)
from companion.recognition.voices.sounds import Sounds, at_work, delete
from companion.recognition.voices.takes import Kept, aged, newest
from companion.record.durable import make_folder, read_plain, sync_folder, write_whole

_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600
_PERSON, _TAKES, _LEARNED, _SOUNDS = "person.json", "takes.npz", "learned.npz", "sounds"
_MOST_PERSON_BYTES = 10_000
_NAME_DIGITS = 32
_VOICES_NAME = re.compile(rf"[0-9a-f]{{{_NAME_DIGITS}}}")
_FORGOTTEN = ".forgotten-"
_HALF_WRITTEN = re.compile(r"\.(person|takes|learned)-[^/]+")
_LANGUAGE_LENGTHS = (2, 3)
_CODING = ("utf-8", "surrogatepass")
"""A terminal with another encoding may hand over signs that are no text: nobody is called so."""
_MOST_TOKENS = 1 << 15
"""Of any heads: more than a file of takes can name."""
_Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class Person(BaseModel):
    """Who allowed what, and when. `sound_since`: "" where the sound is not to be kept.

    `heads`: the fingerprint of the heads that the takes are features of.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    kind: Literal["voice"] = "voice"
    name: Annotated[str, Field(min_length=1, max_length=LONGEST_NAME)]
    language: Annotated[str, Field(pattern=r"^[a-z]{2,3}$")]
    heads: Annotated[str, Field(pattern=r"^[0-9a-f]{16}$")]
    features_since: _Day
    sound_since: _Day | Literal[""] = ""


@dataclass(frozen=True)
class Voice:
    """One person's voice in one language, as it lies in its folder."""

    folder: Path
    person: Person

    def takes(self, token_count: int) -> tuple[Kept, ...]:
        """Every take, the oldest first. Raises `EarsError` where the file is not as it was made."""
        content = _content(self.folder / _TAKES, takes_file.MOST_BYTES)
        if content is None:
            return ()
        return takes_file.read(content, str(self.folder / _TAKES), token_count)

    def adaptation(self) -> Adaptation | None:
        """What was learned; None where nothing was. Raises `EarsError` as `takes` does."""
        content = _content(self.folder / _LEARNED, MOST_BYTES)
        if content is None:
            return None
        return read_adaptation(content, str(self.folder / _LEARNED))

    def keep(self, kept: Sequence[Kept]) -> tuple[Kept, ...]:
        """These takes instead of those before, the newest of them; sounds that no take has go."""
        left = newest(kept)
        self._keep_takes(left)
        self._sounds.keep_only(_sounds_of(left))
        return left

    def keep_learned(self, adaptation: Adaptation | None) -> None:
        """What was learned, instead of what was before; None: nothing."""
        if adaptation is None:
            delete(self.folder / _LEARNED)
        else:
            _write(self.folder / _LEARNED, adaptation.written())

    def put_sound(self, sound: bytes) -> str:
        """Keep the sound of a take, where that is allowed; its hash, else "".

        Raises `CompanionError` where it cannot be written.
        """
        return self._sounds.put(sound) if self.person.sound_since else ""

    def let_sound_go(self, before: str, today: str) -> int:
        """Delete the sound of takes from before that day, and what cuts left; how many sounds.

        What was learned stays. `today` is to be a day that something vouched for. A sound that was
        kept while nothing did, or is dated later than `today`, has the age of a sound of `today`
        from now on: the first expiry that sees it begins to count. Not known is whether a clock
        that was vouched for was right, nor, for sounds kept by companions that left no mark,
        whether the clock was behind: those are as old as their takes say.

        Raises `CompanionError`.
        """
        for name in _half_written(self.folder):
            delete(name)
        kept = self.takes(_MOST_TOKENS)
        undated = self._sounds.undated()
        dated = aged(kept, today, undated)
        left = tuple(
            replace(one, sound_sha256="")
            if one.day < before or not self.person.sound_since
            else one
            for one in dated
        )
        if [(one.day, one.sound_sha256) for one in left] != [
            (one.day, one.sound_sha256) for one in kept
        ]:
            self._keep_takes(left)
        named, wanted = _sounds_of(kept), _sounds_of(left)
        self._sounds.dated(wanted & undated)
        if not self.person.sound_since:
            return self._sounds.keep_only(())
        return self._sounds.remove(named - wanted) + self._sounds.sweep(wanted)

    def sound_file(self, sha256: str) -> Path:
        """Where the sound of a take lies."""
        return self._sounds.file(sha256)

    @property
    def _sounds(self) -> Sounds:
        return Sounds(self.folder / _SOUNDS)

    def _keep_takes(self, kept: tuple[Kept, ...]) -> None:
        if kept:
            _write(self.folder / _TAKES, takes_file.written(kept))
        else:
            delete(self.folder / _TAKES)


@dataclass(frozen=True)
class Found:
    """The voices by name, and what is wrong with each that is not as it was made."""

    voices: tuple[Voice, ...] = ()
    damaged: tuple[CompanionError, ...] = ()


@dataclass(frozen=True)
class LetGo:
    """How many sounds went, and what hindered others from going."""

    sounds: int = 0
    hindered: tuple[CompanionError, ...] = ()


@dataclass(frozen=True)
class Forgotten:
    """Whose voice went, in which language."""

    name: str
    language: str


class VoiceStore:
    """The voices beside a record."""

    def __init__(self, record: Path) -> None:
        self.folder = record.with_name(record.name + ".voices")

    def look(self) -> Found:
        """Every one, past those whose file is not as it was made.

        Raises `EarsError` where the folder itself cannot be read.
        """
        voices, damaged = [], []
        for folder in self._folders():
            try:
                voice = self._read(folder)
            except EarsError as error:
                damaged.append(error)
                continue
            if voice is not None:
                voices.append(voice)
        voices.sort(key=lambda voice: (voice.person.name, voice.person.language))
        return Found(tuple(voices), tuple(damaged))

    def let_sound_go(self, before: str, today: str) -> LetGo:
        """Of every voice, as `Voice.let_sound_go`; what was half forgotten goes as well.

        What hinders one does not hinder the others.
        """
        hindered: list[CompanionError] = []
        count = 0
        try:
            found = self.look()
        except EarsError as error:
            return LetGo(hindered=(error,))
        hindered += found.damaged
        for voice in found.voices:
            try:
                count += voice.let_sound_go(before, today)
            except CompanionError as error:
                hindered.append(error)
        try:
            self._finish_forgetting()
        except EarsError as error:
            hindered.append(error)
        return LetGo(count, tuple(hindered))

    def find(self, name: str, language: str) -> Voice | None:
        """A person's voice in a language, by the name in any case; None where there is none."""
        return self._read(self._folder_of(name, language)) if name.strip() else None

    def allow(self, person: Person) -> Voice:
        """Begin to keep a voice, or keep more or less of it: what is no longer allowed goes."""
        folder = self._folder_of(person.name, person.language)
        try:
            make_folder(folder, _FOLDERS_RIGHTS)
        except OSError as error:
            raise unwritable(folder, error) from error
        _write(folder / _PERSON, person.model_dump_json(indent=1).encode())
        voice = Voice(folder, person)
        if not person.sound_since:
            _delete_folder(folder / _SOUNDS)
        return voice

    def forget(self, name: str) -> list[Forgotten]:
        """Delete everything of a person, in every language; whom that was.

        Found by the folders' names alone: no damaged file, of this person or another, hinders it.
        Raises `EarsError` where something stays.
        """
        places = {self._folder_of(name, code).name: code for code in _language_codes()}
        gone = []
        for folder in self._folders():
            if folder.name not in places:
                continue
            called = self._name_in(folder) or " ".join(name.split())
            # Out of sight first: what is half deleted is nobody's voice. By a new name each time,
            # as an earlier forgetting of the same person may have been cut short.
            try:
                os.rename(folder, self.folder / f"{_FORGOTTEN}{secrets.token_hex(8)}")
                sync_folder(self.folder)
            except OSError as error:
                raise undeletable(folder, error) from error
            gone.append(Forgotten(called, places[folder.name]))
        self._finish_forgetting()
        return gone

    def _finish_forgetting(self) -> None:
        """Delete what was put out of sight; past what cannot be deleted, which is raised then."""
        stays: EarsError | None = None
        for folder in self._subfolders():
            if folder.name.startswith(_FORGOTTEN):
                try:
                    _delete_folder(folder)
                except EarsError as error:
                    stays = stays or error
        if stays is not None:
            raise stays

    def _folders(self) -> list[Path]:
        """Those that are named as voices are; what else lies there is nobody's voice."""
        return [one for one in self._subfolders() if _VOICES_NAME.fullmatch(one.name)]

    def _subfolders(self) -> list[Path]:
        try:
            with os.scandir(self.folder) as found:
                names = [each.name for each in found if each.is_dir(follow_symlinks=False)]
        except FileNotFoundError:
            return []
        except OSError as error:
            raise unreadable(self.folder, error) from error
        return [self.folder / name for name in sorted(names)]

    def _name_in(self, folder: Path) -> str:
        try:
            voice = self._read(folder)
        except EarsError:
            return ""
        return "" if voice is None else voice.person.name

    def _folder_of(self, name: str, language: str) -> Path:
        digest = hashlib.sha256(f"{_read_as(name)}\0{language}".encode(*_CODING)).hexdigest()
        return self.folder / digest[:_NAME_DIGITS]

    def _read(self, folder: Path) -> Voice | None:
        if os.path.islink(folder):
            return None
        content = _content(folder / _PERSON, _MOST_PERSON_BYTES)
        if content is None:
            return None
        try:
            person = Person.model_validate_json(content)
        except ValidationError as error:
            raise EarsError(
                f"{folder / _PERSON}: does not say whose voice this is ({error.error_count()} "
                f"errors); wanted: as 'companion voice enrol' wrote it, or delete {folder}"
            ) from error
        if folder != self._folder_of(person.name, person.language):
            raise EarsError(f"{folder}: holds the voice of {person.name!r}, which is not its place")
        return Voice(folder, person)


def _read_as(name: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())


def _content(path: Path, most_bytes: int) -> bytes | None:
    """Of a plain file of one's own; None where none is there."""
    try:
        content = read_plain(path, most_bytes)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise unreadable(path, error) from error
    if content is None:
        raise EarsError(f"{path}: is no plain file, or larger than {most_bytes} bytes")
    return content


def _write(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content, _RIGHTS)
    except OSError as error:
        raise unwritable(path, error) from error


def _delete_folder(folder: Path) -> None:
    try:
        shutil.rmtree(folder)
    except FileNotFoundError:
        return
    except OSError as error:
        raise undeletable(folder, error) from error


def _half_written(folder: Path) -> list[Path]:
    """What a cut left of files of a voice, named by `write_whole`; none that is written now."""
    try:
        names = sorted(os.listdir(folder))
    except OSError as error:
        raise unreadable(folder, error) from error
    return [folder / n for n in names if _HALF_WRITTEN.fullmatch(n) and not at_work(folder / n)]


def _sounds_of(kept: Sequence[Kept]) -> frozenset[str]:
    return frozenset(one.sound_sha256 for one in kept) - {""}


def _language_codes() -> Iterator[str]:
    """Every code that a voice's language can have: a folder's name does not tell it back."""
    for length in _LANGUAGE_LENGTHS:
        yield from map("".join, product(ascii_lowercase, repeat=length))
