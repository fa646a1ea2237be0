"""Whether stored text is canonical JSON, without writing it anew where that can be avoided.

Python's own JSON writer is many times faster than a writer of RFC 8785 and agrees with it but for
three things: numbers (`1.0`, exponents, very large ones), the order of keys outside ASCII, and
values that JSON has not (NaN). Text that Python's writer gives back unchanged and that holds none
of these is therefore canonical; all other text goes through the canonical writer.
"""

from __future__ import annotations

import json
import re
from typing import Any

from companion.record.canonical import canonical_json, parsed_json

_WRITTEN_OTHERWISE = re.compile(
    r"\.0(?!\d)"  # 1.0 is canonically 1
    r"|\d[eE]"  # exponents have their own rules
    r"|(?<![\d.])\d{16}"  # whole numbers that a double may not carry
    r"|NaN|Infinity"
)
_read = json.JSONDecoder().decode
_write = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
).encode


def value_of_canonical(text: str) -> Any:
    """The value of the text; raises `ValueError` when it is not canonical JSON (RFC 8785)."""
    value = _read(text)
    if text.isascii() and _WRITTEN_OTHERWISE.search(text) is None and _write(value) == text:
        return value
    value = parsed_json(text)
    if canonical_json(value).decode("utf-8") != text:
        raise ValueError("it is JSON, but not in its canonical form")
    return value
