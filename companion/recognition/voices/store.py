"""Whose voices are learned beside a record: consent, takes, what was learned; all can be deleted.

A folder for each person and language, named by a hash, readable by its owner alone. Nothing of it
goes into the record, a backup or a store; a record knows a voice by its version alone.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from companion.errors import EarsError
from companion.recognition.own.adaptation import MOST_BYTES, Adaptation, read_adaptation
from companion.recognition.voices import takes as takes_file
from companion.recognition.voices.takes import Kept, newest
from companion.record.clips import ClipStore
from companion.record.durable import make_folder, read_plain, sync_folder, write_whole

_FOLDERS_RIGHTS, _RIGHTS = 0o700, 0o600
_PERSON, _TAKES, _LEARNED, _SOUNDS = "person.json", "takes.npz", "learned.npz", "sounds"
_MOST_PERSON_BYTES = 10_000
_NAME_DIGITS = 32
_MOST_TOKENS = 1 << 15
"""Of any heads: more than a file of takes can name."""
_Day = Annotated[str, Field(pattern=r"^\d{4}-\d{2}-\d{2}$")]


class Person(BaseModel):
    """Who allowed what, and when. `sound_since`: "" where the sound is not to be kept.

    `heads`: the fingerprint of the heads that the takes are features of.
    """

    model_config = ConfigDict(extra="forbid", frozen=True)

    kind: Literal["voice"] = "voice"
    name: Annotated[str, Field(min_length=1, max_length=200)]
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
        if left:
            _write(self.folder / _TAKES, takes_file.written(left))
        else:
            (self.folder / _TAKES).unlink(missing_ok=True)
        wanted = {one.sound_sha256 for one in left}
        sounds = self.folder / _SOUNDS
        for file in sounds.glob("*.flac") if sounds.is_dir() else ():
            if file.stem not in wanted:
                file.unlink(missing_ok=True)
        return left

    def keep_learned(self, adaptation: Adaptation | None) -> None:
        """What was learned, instead of what was before; None: nothing."""
        if adaptation is None:
            (self.folder / _LEARNED).unlink(missing_ok=True)
        else:
            _write(self.folder / _LEARNED, adaptation.written())

    def put_sound(self, sound: bytes) -> str:
        """Keep the sound of a take, where that is allowed; its hash, else ""."""
        if not self.person.sound_since:
            return ""
        make_folder(self.folder / _SOUNDS, _FOLDERS_RIGHTS)
        name = ClipStore(self.folder / _SOUNDS).put(sound)
        os.chmod(self.sound_file(name), _RIGHTS)
        return name

    def let_sound_go(self, before: str) -> int:
        """Delete the sound of takes from before that day (as they have it); how many there were.

        What was learned stays. Raises `EarsError`.
        """
        kept = self.takes(_MOST_TOKENS)
        old = {one.sound_sha256 for one in kept if one.day < before} - {""}
        if old:
            self.keep([replace(one, sound_sha256="") if one.day < before else one for one in kept])
        return len(old)

    def sound_file(self, sha256: str) -> Path:
        """Where the sound of a take lies."""
        return self.folder / _SOUNDS / f"{sha256}.flac"


class VoiceStore:
    """The voices beside a record."""

    def __init__(self, record: Path) -> None:
        self.folder = record.with_name(record.name + ".voices")

    def voices(self) -> Iterator[Voice]:
        """Every one, by name. Raises `EarsError` for one whose file is not as it was made."""
        if not self.folder.is_dir():
            return
        found = [
            voice
            for folder in self.folder.iterdir()
            if not folder.is_symlink() and (voice := self._read(folder)) is not None
        ]
        yield from sorted(found, key=lambda voice: (voice.person.name, voice.person.language))

    def find(self, name: str, language: str) -> Voice | None:
        """A person's voice in a language, by the name in any case; None where there is none."""
        return self._read(self._folder_of(name, language)) if name.strip() else None

    def allow(self, person: Person) -> Voice:
        """Begin to keep a voice, or keep more or less of it: what is no longer allowed goes."""
        folder = self._folder_of(person.name, person.language)
        try:
            make_folder(folder, _FOLDERS_RIGHTS)
        except OSError as error:
            raise _unwritable(folder, error) from error
        _write(folder / _PERSON, person.model_dump_json(indent=1).encode())
        voice = Voice(folder, person)
        if not person.sound_since:
            shutil.rmtree(folder / _SOUNDS, ignore_errors=True)
        return voice

    def forget(self, name: str) -> list[Person]:
        """Delete everything of a person, in every language; whom that was."""
        wanted = _read_as(name)
        gone = []
        for voice in list(self.voices()):
            if _read_as(voice.person.name) == wanted:
                # Out of sight first: what is half deleted is nobody's voice.
                away = voice.folder.with_name(f".forgotten-{voice.folder.name}")
                try:
                    os.rename(voice.folder, away)
                    sync_folder(self.folder)
                    shutil.rmtree(away)
                except OSError as error:
                    raise _unwritable(voice.folder, error) from error
                gone.append(voice.person)
        for left in self.folder.glob(".forgotten-*") if self.folder.is_dir() else ():
            shutil.rmtree(left, ignore_errors=True)
        return gone

    def _folder_of(self, name: str, language: str) -> Path:
        digest = hashlib.sha256(f"{_read_as(name)}\0{language}".encode()).hexdigest()
        return self.folder / digest[:_NAME_DIGITS]

    def _read(self, folder: Path) -> Voice | None:
        if folder.name.startswith(".") or folder.is_symlink():
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
        raise EarsError(f"{path}: cannot be read ({error.strerror})") from error
    if content is None:
        raise EarsError(f"{path}: is no plain file, or larger than {most_bytes} bytes")
    return content


def _write(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content, _RIGHTS)
    except OSError as error:
        raise _unwritable(path, error) from error


def _unwritable(path: Path, error: OSError) -> EarsError:
    return EarsError(
        f"{path}: cannot be written ({error.strerror}); wanted: room beside the record, and the "
        "right to write there"
    )
