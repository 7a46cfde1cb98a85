"""Other people's programs that tests read our files with."""

import os
import shutil

import pytest


def require_tool(name: str) -> str:
    """Path of a program; without it the test is skipped, or fails when CUTROOM_REQUIRE_TOOLS=1 is set."""
    path = shutil.which(name)
    if path is not None:
        return path
    if os.environ.get("CUTROOM_REQUIRE_TOOLS") == "1":
        pytest.fail(f"{name} is not installed and CUTROOM_REQUIRE_TOOLS=1 asks for it")
    pytest.skip(f"{name} is not installed")
