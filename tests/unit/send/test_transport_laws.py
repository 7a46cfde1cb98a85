"""Every kind of line keeps the laws of lines."""

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.transport_laws import LAWS, RIGS, Rig


@pytest.mark.parametrize("kind", RIGS)
@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_every_kind_of_line_keeps_the_law(kind: str, law: Callable[[Rig], None], tmp_path: Path) -> None:
    folder = tmp_path / "line"
    folder.mkdir()
    rig = RIGS[kind](folder)
    try:
        law(rig)
    finally:
        rig.close()
