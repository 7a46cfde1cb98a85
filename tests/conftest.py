"""Every test runs in a folder of its own; random examples are few and reproducible in CI."""

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("here", max_examples=60, deadline=None)
settings.register_profile("ci", max_examples=60, deadline=None, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "here")


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The test's own empty folder, and a terminal of fixed width."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path
