"""sqlite_utils, loaded alone.

It loads pandas where that happens to be installed: 100 MB and half a second for nothing that a
record needs. A name bound to None counts as not installed.
"""

from __future__ import annotations

import sys

if "pandas" in sys.modules:
    import sqlite_utils
else:
    sys.modules["pandas"] = None  # type: ignore[assignment]
    try:
        import sqlite_utils
    finally:
        del sys.modules["pandas"]

__all__ = ["sqlite_utils"]
