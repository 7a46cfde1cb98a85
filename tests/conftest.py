"""Every test runs in a folder of its own; random examples are few and the same in every run.

`pytest --hypothesis-profile explore` draws new ones: what it finds becomes an example beside its test.
"""

from pathlib import Path

import pytest
from hypothesis import settings

from cutroom.nest.warm import wait_until_warm

settings.register_profile("same", max_examples=60, deadline=None, derandomize=True)
settings.register_profile("explore", max_examples=300, deadline=None, print_blob=True)
settings.load_profile("same")


@pytest.fixture(scope="session", autouse=True)
def compiled_loops() -> None:
    """The nest's inner loops are ready, so that no test's seconds go into compiling them."""
    wait_until_warm(seconds=None)


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The test's own empty folder, no profiles of the user's own, and a terminal of fixed width."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("CUTROOM_PROFILES", str(tmp_path / "own-profiles"))
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path
