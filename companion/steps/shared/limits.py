"""The limits of a result, as a job file gives them."""

from __future__ import annotations

from companion.job.job_file import NumberOrSource


def check_one_kind(
    low: NumberOrSource | None, high: NumberOrSource | None, within: NumberOrSource | None
) -> None:
    """Either low and high, or how far from the centre. Raises `ValueError`."""
    both = low is not None and high is not None
    neither = low is None and high is None
    if not (both and within is None) and not (neither and within is not None):
        raise ValueError("wanted: either low and high, or within")
