"""The inner loops made ready in the background, on every core, before they are needed.

What has been compiled is kept (see `geometry.kernels`), so this is work for the first run on a machine only. Compiling
holds the interpreter's lock, hence processes and not threads.
"""

import os
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

import cutroom.geometry.kernels as kernels

_MODULES = {"separate": "separate", "near": "first_overlap", "nofit": "no_fit", "outwards": "fewer_corners"}
"""What is compiled: modules, and the last kernel in each."""
_PROCESSES = (("separate",), ("near",), ("nofit", "outwards"))
"""What each process compiles: about as much as the others."""
_STROKES = {"tour": "pieces_way"}
"""What orders strokes: compiled in a process of its own once the nest's loops are, while the nest runs."""
FIRST_RUN = "getting ready, once on this machine: up to half a minute"
"""What is said while that is waited for."""
_running: list[subprocess.Popen[bytes]] = []
_waiting: list[str] = []
_aside: list[subprocess.Popen[bytes]] = []


def is_warm() -> bool:
    """What this version needs has been compiled before."""
    if "cutroom.nest.search" in sys.modules:
        return True
    return _is_kept(_MODULES)


def _is_kept(modules: Mapping[str, str]) -> bool:
    return all(any(kernels.cache.rglob(f"{module}.{kernel}-*.nbc")) for module, kernel in modules.items())


def start_warming() -> None:
    """Start compiling in the background, unless it is done or under way."""
    if _running or is_warm():
        return
    _running.extend(_compiling(*modules) for modules in _PROCESSES)


def warm_strokes() -> None:
    """Have the loops that order strokes compiled while the nest runs, unless they are: what is drawn or cut needs them.

    Call it before the nest begins: they wait for its own loops, which are wanted sooner.
    """
    if not _is_kept(_STROKES):
        _waiting.extend(_STROKES)


def _compiling(*modules: str) -> subprocess.Popen[bytes]:
    folder = str(Path(kernels.__file__).parents[3])
    path = os.pathsep.join(part for part in (folder, os.environ.get("PYTHONPATH", "")) if part)
    return subprocess.Popen(
        [sys.executable, "-P", "-c", "import " + ", ".join(f"{kernels.__name__}.{module}" for module in modules)],
        env={**os.environ, "PYTHONPATH": path},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,  # Ctrl-C ends the laying, not this: the next run is glad of it
    )


def _stop() -> None:
    """Leave the cores to what follows. Each loop is kept as it is done, so the next run goes on where this one ends."""
    for process in _running:
        process.terminate()
        process.wait()
    _running.clear()


def wait_until_warm(*, seconds: float | None, clock: Callable[[], float] = time.monotonic) -> bool:
    """Wait for the loops to be compiled.

    Args:
        seconds: How long at most; None for as long as it takes.
        clock: Seconds that only grow.

    Returns:
        Whether they are ready.
    """
    start_warming()
    start = clock()
    while any(process.poll() is None for process in _running):
        if seconds is not None and clock() - start >= seconds:
            _stop()
            return False
        time.sleep(0.02)
    while _waiting:
        _aside.append(_compiling(_waiting.pop()))
    return True
