"""The file of takes of one voice: features with what was said in them, and where each came from."""

from __future__ import annotations

import io
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError
from companion.recognition.own.adaptation import read_arrays
from companion.recognition.own.adapting import Frames, Take

MOST_BYTES = 64_000_000
MOST_TAKES = 600
"""What is older and was not enrolled goes first: a voice, a microphone and a bay change."""
_FEATURES = 256
_MOST_FRAMES = 2_000
_MOST_FEATURE = 1e4
_MOST_WORDS = 20
_HEADS = ("along", "other")
_SHA256 = re.compile(r"[0-9a-f]{64}|")
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")

How = Literal["enrolled", "confirmed"]


@dataclass(frozen=True)
class Kept:
    """A take as it is kept: said when enrolling, or read back in a job and confirmed.

    `day`: when, by the bay's calendar, or where that could not be known the first day since then
    of which it is known. `sound_sha256`: of its sound's file, "" where none is kept.
    """

    take: Take
    how: How
    day: str
    sound_sha256: str = ""


def newest(kept: Sequence[Kept]) -> tuple[Kept, ...]:
    """All of them, or as many as are kept at most: those enrolled, then the latest."""
    spare = len(kept) - MOST_TAKES
    left_out = [n for n, one in enumerate(kept) if one.how == "confirmed"][: max(0, spare)]
    return tuple(one for n, one in enumerate(kept) if n not in set(left_out))[-MOST_TAKES:]


def aged(kept: Sequence[Kept], today: str, undated: Collection[str]) -> tuple[Kept, ...]:
    """The same, those with a sound of a day that cannot be known as if from `today`.

    Such are those dated later than `today`, and those whose sound is one of `undated`.
    """
    return tuple(
        replace(one, day=today)
        if one.sound_sha256 and (one.day > today or one.sound_sha256 in undated)
        else one
        for one in kept
    )


def written(kept: Sequence[Kept]) -> bytes:
    """The file that they are kept as."""
    arrays: dict[str, npt.NDArray[np.generic]] = {
        "words": np.array([one.take.words for one in kept], dtype=np.str_),
        "how": np.array([one.how for one in kept], dtype=np.str_),
        "day": np.array([one.day for one in kept], dtype=np.str_),
        "sound": np.array([one.sound_sha256 for one in kept], dtype=np.str_),
    }
    for head in _HEADS:
        frames: list[Frames] = [getattr(one.take, head) for one in kept]
        width = max(len(each.tokens) for each in frames)
        arrays[f"{head}_count"] = np.array([len(each.features) for each in frames], np.int32)
        arrays[f"{head}_features"] = np.concatenate([each.features for each in frames]).astype(
            np.float16
        )
        arrays[f"{head}_tokens"] = np.array(
            [[*each.tokens, *[-1] * (width - len(each.tokens))] for each in frames], np.int16
        )
        arrays[f"{head}_shares"] = np.concatenate(
            [np.pad(each.shares, ((0, 0), (0, width - each.shares.shape[1]))) for each in frames]
        ).astype(np.float16)
    file = io.BytesIO()
    np.savez(file, **arrays)  # type: ignore[arg-type]
    return file.getvalue()


def read(content: bytes, name: str, token_count: int) -> tuple[Kept, ...]:
    """What `written` wrote; `name` tells in errors what it is, the heads have `token_count` tokens.

    Raises `EarsError` for anything else.
    """
    arrays = read_arrays(content, name)
    try:
        texts = {key: _texts(arrays[key]) for key in ("words", "how", "day", "sound")}
        count = len(texts["words"])
        _need(0 < count <= MOST_TAKES, "no takes, or too many")
        _need(all(len(one) == count for one in texts.values()), "columns of other lengths")
        _need(all(map(_DAY.fullmatch, texts["day"])), "a day that is none")
        _need(all(_SHA256.fullmatch(one) is not None for one in texts["sound"]), "no such hash")
        along, other = (_frames(arrays, head, count, token_count) for head in _HEADS)
        return tuple(
            Kept(Take(words, first, second), _how(how), day, sound)
            for words, how, day, sound, first, second in zip(
                texts["words"],
                texts["how"],
                texts["day"],
                texts["sound"],
                along,
                other,
                strict=True,
            )
        )
    except (KeyError, ValueError) as error:
        raise EarsError(f"{name}: holds no takes of a voice ({error})") from error


def _frames(
    arrays: dict[str, npt.NDArray[np.generic]], head: str, count: int, token_count: int
) -> list[Frames]:
    features = _numbers(arrays[f"{head}_features"], _MOST_FEATURE)
    shares = _numbers(arrays[f"{head}_shares"], 1.001)
    counts, tokens = arrays[f"{head}_count"], arrays[f"{head}_tokens"]
    _need(counts.dtype == np.int32 and counts.shape == (count,), "counts of another shape")
    _need(tokens.dtype == np.int16 and tokens.ndim == 2, "tokens of another shape")
    _need(tokens.shape[0] == count and 0 < tokens.shape[1] <= _MOST_WORDS, "tokens for others")
    each = counts.astype(np.int64)
    ends = np.cumsum(each)
    _need(bool(np.all((each >= 0) & (each <= _MOST_FRAMES))), "counts that are none")
    _need(features.shape == (int(ends[-1]), _FEATURES), "features of another shape")
    _need(shares.shape == (int(ends[-1]), tokens.shape[1]), "shares of another shape")
    found = []
    for number, end in enumerate(ends.tolist()):
        begin = end - int(each[number])
        own = [int(token) for token in tokens[number].tolist() if token >= 0]
        _need(bool(own) and max(own) < token_count, "tokens that the heads do not have")
        found.append(Frames(features[begin:end], tuple(own), shares[begin:end, : len(own)]))
    return found


def _numbers(array: npt.NDArray[np.generic], most: float) -> npt.NDArray[np.float32]:
    _need(array.dtype == np.float16 and array.ndim == 2, "numbers of another kind")
    numbers = array.astype(np.float32)
    _need(bool(np.all((numbers >= 0.0) & (numbers <= most))), "numbers out of range")
    return numbers


def _texts(array: npt.NDArray[np.generic]) -> list[str]:
    _need(array.dtype.kind == "U" and array.ndim == 1, "texts of another kind")
    return [str(text) for text in array.tolist()]


def _how(text: str) -> How:
    if text == "enrolled":
        return "enrolled"
    _need(text == "confirmed", f"{text!r} for how it came")
    return "confirmed"


def _need(holds: bool, found: str) -> None:
    if not holds:
        raise ValueError(found)
