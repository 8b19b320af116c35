"""A test that .ci/run needs cannot go missing by being skipped."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parent
SKIPPED = """
import pytest

@pytest.mark.browser
def test_a():
    pytest.skip("no browser here")

@pytest.fixture
def document():
    pytest.skip("no document here")

@pytest.mark.api_document
def test_b(document):
    pass

def test_c():
    pytest.skip("not needed")
"""


@pytest.mark.parametrize(
    ("needs", "outcome"),
    [
        ("", "3 skipped"),
        ("browser", "1 failed, 2 skipped"),
        ("browser,api_document", "1 failed, 1 skipped, 1 error"),
        ("brwoser", "no tests are marked brwoser"),
    ],
)
def test_a_skipped_test_fails_where_it_is_needed(tmp_path: Path, needs: str, outcome: str) -> None:
    file = tmp_path / "test_skipped.py"
    file.write_text(SKIPPED, "utf-8")
    ran = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "conftest", "-W", "ignore", "test_skipped.py"],
        cwd=tmp_path,
        env={
            **os.environ,
            "CORNERMAN_NEEDS": needs,
            "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1",
            "PYTHONPATH": f"{TESTS}{os.pathsep}{TESTS.parent}",
        },
        capture_output=True,
        text=True,
        check=False,
    )
    assert outcome in ran.stdout + ran.stderr
    assert (ran.returncode == 0) is (needs == "")
