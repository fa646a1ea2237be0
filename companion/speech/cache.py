"""Rendered prompts kept as files, named by what they depend on."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from dataclasses import dataclass
from pathlib import Path

from companion.errors import VoiceError
from companion.speech.makers import MakerChain, SpeechMaker, is_complete_wav


@dataclass(frozen=True)
class Rendered:
    """One prompt as a file; `complaints` only when it was made just now."""

    path: Path
    maker: str
    complaints: tuple[str, ...] = ()


class PromptCache:
    """A folder of prompts, `<sha256 of text, voice, speed and maker>.wav`.

    Files appear whole or not at all, so that a power cut leaves no half prompt.
    Raises `VoiceError` if the folder cannot be made or written.
    """

    def __init__(self, folder: Path, makers: MakerChain) -> None:
        self._folder = folder
        self._makers = makers
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise VoiceError(
                f"{folder}: the folder for prompts cannot be made ({error})"
            ) from error

    def prompt(self, text: str, speed_wpm: int) -> Rendered:
        """The prompt from the folder, or made now by the first maker that can."""
        for maker in self._makers.usable():
            path = self._path(text, speed_wpm, maker)
            if is_complete_wav(path):
                return Rendered(path, maker.name)
        return self._make(text, speed_wpm)

    def _path(self, text: str, speed_wpm: int, maker: SpeechMaker) -> Path:
        identity = json.dumps([text, maker.voice, speed_wpm, maker.name])
        return self._folder / f"{hashlib.sha256(identity.encode()).hexdigest()}.wav"

    def _make(self, text: str, speed_wpm: int) -> Rendered:
        try:
            handle, name = tempfile.mkstemp(suffix=".part.wav", dir=self._folder)
        except OSError as error:
            raise VoiceError(f"{self._folder}: no prompt can be written ({error})") from error
        os.close(handle)
        part = Path(name)
        try:
            made = self._makers.make(text, speed_wpm, part)
            path = self._path(text, speed_wpm, made.maker)
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
        return Rendered(path, made.maker.name, made.complaints)
