"""Compiled loops on bare arrays: import these only where a nest is made.

A loop is compiled together with the loops it calls, but numba looks only at its own file to tell whether what it kept
is still good. So what is kept lies in a folder named after all files here: change one, and all are compiled afresh.
"""

import contextlib
import hashlib
import os
import shutil
import sys
from pathlib import Path

_OLD = 86_400.0
"""Seconds after which what an earlier version kept is cleared away."""


def _cache() -> Path:
    """The folder for this version's compiled loops: beside the sources, or the user's where that cannot be written."""
    here = Path(__file__).parent
    text = b"".join(source.read_bytes() for source in sorted(here.glob("*.py")))
    beside = here / "__pycache__"
    free = os.access(beside if beside.exists() else here, os.W_OK)
    given = os.environ.get("NUMBA_CACHE_DIR")
    base = Path(given) if given else beside if free else Path.home() / ".cache" / "cutroom"
    if base.name.startswith("loops-"):  # handed on by the process that started this one
        base = base.parent
    return base / f"loops-{hashlib.sha256(text).hexdigest()[:16]}"


cache = _cache()
os.environ["NUMBA_CACHE_DIR"] = str(cache)
if "numba" in sys.modules:
    sys.modules["numba"].config.CACHE_DIR = str(cache)
with contextlib.suppress(OSError):
    if not cache.exists():
        cache.mkdir(parents=True)
        for folder in cache.parent.glob("loops-*"):
            if cache.stat().st_mtime - folder.stat().st_mtime > _OLD:
                shutil.rmtree(folder, ignore_errors=True)
