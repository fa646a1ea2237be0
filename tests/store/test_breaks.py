"""Whatever breaks on the way, nothing is lost and nothing goes twice; the benchmark does more."""

from __future__ import annotations

import pytest

from tests.benchmarks.store import broken_again_and_again
from tests.store.breaks import KINDS
from tests.store.cluster import is_there


@pytest.mark.skipif(not is_there(), reason="no PostgreSQL 15 or later")
def test_each_kind_of_break_a_few_times() -> None:
    counts = broken_again_and_again(seed=1, breaks=3 * len(KINDS))
    assert counts["lost"] == counts["doubled"] == 0
    assert counts["shipper killed"] == counts["server killed"] == counts["line cut"] == 3
