"""Reads the encoder out of a Whisper model in the file layout of CTranslate2, and rounds it."""

from __future__ import annotations

import io
import struct
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from companion.recognition.own.weights import SCALE, in_eight_bits, positions

_TYPES = {0: "<f4", 1: "i1", 2: "<i2", 3: "<i4", 4: "<f2"}
_ENCODER = "encoder/"
_NOT_KEPT = ("num_heads", "position_encodings/encodings")
_LONG_AGO = (1980, 1, 1, 0, 0, 0)

Arrays = dict[str, npt.NDArray[Any]]


class _Places:
    """Numbers and texts, one behind the other."""

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.place = 0

    def number(self, form: str) -> int:
        (value,) = struct.unpack(form, self.taken(struct.calcsize(form)))
        return int(value)

    def text(self) -> str:
        return self.taken(self.number("<H")).rstrip(b"\0").decode()

    def taken(self, size: int) -> bytes:
        self.place += size
        return self.data[self.place - size : self.place]


def variables(model: Path) -> Arrays:
    """Every variable of the encoder by its name in the file, in single precision.

    The file is a run of: version, name and revision of the model's kind, then the variables
    (name, shape, type, bytes), all little-endian.
    """
    places = _Places(model.read_bytes())
    places.number("<I")
    if (kind := places.text()) != "WhisperSpec":
        raise ValueError(f"{model}: holds a {kind!r}; wanted a Whisper model of CTranslate2")
    places.number("<I")
    found: Arrays = {}
    for _ in range(places.number("<I")):
        name = places.text()
        shape = [places.number("<I") for _ in range(places.number("<B"))]
        number_type = _TYPES[places.number("<B")]
        values = places.taken(places.number("<I"))
        if name.startswith(_ENCODER):
            as_numbers = np.frombuffer(values, number_type).reshape(shape)
            found[name.removeprefix(_ENCODER)] = as_numbers.astype(np.float32)
    return found


def rounded(weights: Arrays) -> Arrays:
    """As they are kept: matrices in eight bits, each row with its scale, the rest in half."""
    kept: Arrays = {}
    for name, value in weights.items():
        if name in _NOT_KEPT:
            continue
        if name.endswith("/weight") and value.ndim == 2:
            kept[name], kept[name + SCALE] = in_eight_bits(value)
        else:
            kept[name] = value.astype(np.float16)
    theirs = weights["position_encodings/encodings"]
    assert np.allclose(positions(len(theirs)), theirs, atol=3e-4), "other positions than by formula"
    return kept


def write_weights(path: Path, kept: Arrays) -> None:
    """An .npz file whose bytes follow from the numbers alone."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, value in kept.items():
            held = io.BytesIO()
            np.lib.format.write_array(held, np.ascontiguousarray(value), allow_pickle=False)
            entry = zipfile.ZipInfo(name + ".npy", _LONG_AGO)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, held.getvalue())
