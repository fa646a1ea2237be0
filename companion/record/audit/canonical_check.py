"""Whether stored text is canonical JSON, without writing it anew where that can be avoided.

Python's own JSON writer is many times faster than a writer of RFC 8785 and agrees with it but for
some numbers (`1.0`, some exponents, whole numbers of 2**53 and beyond), values that JSON has not
(NaN), and the order of keys beyond U+D800. Text that Python's writer gives back unchanged and that
holds none of these is therefore canonical; all other text goes through the canonical writer.
"""

from __future__ import annotations

import json
import re
from typing import Any

from companion.record.canonical import canonical_json, parsed_json

_MOST_DIGITS = 15
# Canonically 1.0 is 1, and only below 1e-6 and from 1e21 on has a number an exponent, of no more
# digits than it needs.
_POINT_NOUGHT = re.compile(r"\.0[,}\]]")
_OTHER_EXPONENT = re.compile(r"\de(-0|\+1\d(?!\d)|\+20(?!\d))")
_ORDERED_OTHERWISE = re.compile("[\ud800-\U0010ffff]")


class _Doubtful(ValueError):
    """A value that the two writers may write in different ways."""


def _small_number(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise _Doubtful
    return int(digits)


def _no_constant(_: str) -> None:
    raise _Doubtful


_read = json.JSONDecoder(parse_int=_small_number, parse_constant=_no_constant).decode
_write = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
).encode


def value_of_canonical(text: str) -> Any:
    """The value of the text; raises `ValueError` or `RecordError` when it is not canonical JSON."""
    try:
        value = _read(text)
        if _write(value) == text and not _may_be_written_otherwise(text):
            return value
    except _Doubtful:
        pass
    value = parsed_json(text)
    if canonical_json(value).decode("utf-8") != text:
        raise ValueError("it is JSON, but not in its canonical form")
    return value


def _may_be_written_otherwise(text: str) -> bool:
    # Looking for a short text is far quicker than for a pattern, and is mostly in vain.
    if ".0" in text and _POINT_NOUGHT.search(text):
        return True
    if ("e-0" in text or "e+" in text) and _OTHER_EXPONENT.search(text):
        return True
    return not text.isascii() and _ORDERED_OTHERWISE.search(text) is not None
