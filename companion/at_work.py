"""`python -m companion.at_work RECORD`: whether a job is being done in it right now.

Ends with 0 when there is one, with 1 when there is none. An upgrade and the nightly restart ask
before they end a companion.
"""

from __future__ import annotations

import sys
from pathlib import Path

from companion.errors import CompanionError
from companion.record.going_on import is_a_job_going_on


def main(arguments: list[str]) -> int:
    """0: a job is going on; 1: none is, or there is no record that could be read."""
    try:
        return 0 if is_a_job_going_on(Path(arguments[0])) else 1
    except CompanionError:
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
