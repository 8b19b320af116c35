"""A busy evening with faults, a minute of it. By hand: `python tests/soaking 30`."""

from __future__ import annotations

from pathlib import Path

import pytest
from databases import database_at
from soaking.evening import Evening

MOST_GROWTH = 0.10
"""In half a minute; leaks of an evening are looked for by hand, over half an hour."""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="looks at processes as Linux shows them")
async def test_a_busy_evening_with_faults_loses_nothing_and_leaks_nothing(tmp_path: Path) -> None:
    report = await Evening(60.0, 1, database_at(tmp_path), tmp_path).pass_by()
    assert report.logged > 30
    assert len(report.faults) > 3
    assert (report.lost, report.invented, report.wrong_sums) == ([], [], [])
    assert (report.unanswered, report.doubled) == ([], [])
    assert report.signs == []
    assert report.stopped_with == 0
    assert report.growth < MOST_GROWTH
