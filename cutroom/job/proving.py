"""Files proved again: a whole folder by its manifest on any day, or one file that came back from elsewhere."""

import hashlib
from dataclasses import dataclass
from pathlib import Path

from cutroom.errors import CutroomError, FileError, OrderError, ProfileError
from cutroom.model.cutter import Cutter, Language
from cutroom.model.finding import Finding, Severity
from cutroom.model.profile import Paper, Plotter
from cutroom.proof.cut import prove_cut
from cutroom.proof.prove import prove_file
from cutroom.proof.proved import Proved
from cutroom.proof.words import stop
from cutroom.read.cutter import list_cutters, read_cutter
from cutroom.read.made import Drawn, Listed, Manifest, read_bytes, read_drawn, read_manifest
from cutroom.read.printer import read_sheet
from cutroom.read.profile import list_plotters, read_plotter
from cutroom.read.profile_files import names_a_file

UNPROVEN = {"report-html", "marker-json"}
"""Kinds of which only the bytes are held against the manifest."""
_CUTS = {language.value for language in Language}


@dataclass(frozen=True, slots=True, eq=False)
class Row:
    """What proving one file again showed.

    Attributes:
        path: Its name.
        kind: Its kind.
        compared: What was compared, in words.
        deviation: Largest deviation (mm), or None where nothing is measured.
        findings: What does not agree.
    """

    path: str
    kind: str
    compared: str
    deviation: float | None
    findings: tuple[Finding, ...]

    @property
    def passed(self) -> bool:
        """Nothing was found for which it is refused."""
        return all(finding.severity is not Severity.STOP for finding in self.findings)


def prove_folder(manifest: Path) -> tuple[Row, ...]:
    """Prove every file of a folder again.

    Args:
        manifest: Its `manifest.json`, or the folder.

    Raises:
        CutroomError: There is no such manifest, or its markers are not kept whole.
    """
    path = manifest / "manifest.json" if manifest.is_dir() else manifest
    listed = read_manifest(path)
    drawn = {one.marker.name: one for one in _markers(listed)}
    if not drawn and any(file.kind not in UNPROVEN for file in listed.files):
        raise OrderError(
            "it lists no marker-json, in which the markers are kept whole",
            "It was made by an earlier version: make the job again",
            str(path),
        )
    return tuple(_row(file, listed, drawn) for file in listed.files)


def _markers(listed: Manifest) -> list[Drawn]:
    return [read_drawn(listed.folder / file.path) for file in listed.files if file.kind == "marker-json"]


def _row(file: Listed, listed: Manifest, drawn: dict[str, Drawn]) -> Row:
    try:
        data = read_bytes(listed.folder / file.path)
    except FileError as error:
        return Row(file.path, file.kind, "nothing", None, (stop(file.path, error.what, error.fix),))
    findings: tuple[Finding, ...] = ()
    if hashlib.sha256(data).hexdigest() != file.sha256:
        findings = (
            stop(file.path, "its bytes are not those that were written", "Take it from the folder it was made in"),
        )
    if file.kind in UNPROVEN:
        return Row(file.path, file.kind, "its bytes", None, findings)
    try:
        proved = _proved(file, data, listed, drawn)
    except CutroomError as error:
        return Row(file.path, file.kind, "nothing", None, (*findings, stop(file.path, error.what, error.fix)))
    return Row(file.path, file.kind, proved.compared, proved.deviation, (*findings, *proved.findings))


def _proved(file: Listed, data: bytes, listed: Manifest, drawn: dict[str, Drawn]) -> Proved:
    if file.kind == "pieces-dxf":
        from cutroom.proof.pieces import prove_pieces  # loads a DXF reader, which takes half a second

        pieces = {piece.key: piece for one in drawn.values() for piece in one.marker.pieces}
        return prove_pieces(data, tuple(pieces.values()))
    one = drawn.get(file.marker)
    if one is None:
        raise OrderError(f'the marker "{file.marker}" is not there whole', "Make the job again")
    return prove_one(file.kind, data, one, listed.plotter, listed.paper, listed.cutters.get(file.kind))


def prove_one(
    kind: str, data: bytes, drawn: Drawn, plotter: Plotter | None, paper: Paper | None, cutter: Cutter | None
) -> Proved:
    """Prove the bytes of one file of a marker.

    Raises:
        ProfileError: The machine or the paper it is for is not known.
    """
    if kind in _CUTS:
        if cutter is None:
            raise ProfileError(f"the cutter that takes this {kind} is not known", "Name it", place="cutter")
        return prove_cut(kind, data, drawn.marker, cutter)
    for wanted, given, word in (("marker-hpgl", plotter, "plotter"), ("tiles-pdf", paper, "paper")):
        if kind == wanted and given is None:
            raise ProfileError(f"the {word} that this {kind} is for is not known", "Name it", place=word)
    return prove_file(kind, data, drawn.marker, lower=drawn.lower, upper=drawn.upper, plotter=plotter, paper=paper)


def prove_against(file: Path, marker: Path, *, machine: str = "", paper: str = "", kind: str = "") -> Row:
    """Prove one file against a marker.

    Args:
        file: The file.
        marker: A file of the kind `marker-json`.
        machine: Name or path of the plotter's or cutter's profile, where the file is for one.
        paper: Name of the paper or the printer, for tiles.
        kind: Kind of file; empty to tell it from its bytes and what it is for.

    Raises:
        CutroomError: A file cannot be read, or what it is for is not known.
    """
    drawn, data = read_drawn(marker), read_bytes(file)
    plotter, cutter = _machine(machine)
    sheet = read_sheet(paper) if paper else None
    kind = kind or _kind_of(data, str(file), cutter, sheet)
    proved = prove_one(kind, data, drawn, plotter, sheet, cutter)
    return Row(file.name, kind, proved.compared, proved.deviation, proved.findings)


def _machine(name: str) -> tuple[Plotter | None, Cutter | None]:
    if not name:
        return None, None
    if names_a_file(name):
        try:
            return None, read_cutter(name)
        except CutroomError:
            return read_plotter(name), None
    if name in list_cutters() and name not in list_plotters():
        return None, read_cutter(name)
    return read_plotter(name), None


def _kind_of(data: bytes, name: str, cutter: Cutter | None, paper: Paper | None) -> str:
    """The kind of a file, told from how it begins and what it is for."""
    head = data[:2000].lstrip(b"\xef\xbb\xbf \r\n\t")
    if cutter is not None:
        return cutter.language.value
    if head.startswith(b"%PDF"):
        return "tiles-pdf" if paper is not None else "marker-pdf"
    if b"<svg" in head:
        return "marker-svg"
    if head[:2].upper() == b"IN" or b";SP" in head[:400].upper():
        return "marker-hpgl"
    if b"SECTION" in head:
        return "marker-dxf"
    raise FileError("it is no kind of file that is known", "Name its kind, or the machine it is for", name)
