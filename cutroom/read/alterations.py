"""The alterations of a style: `[[styles.blouse.alterations]]` tables, each one step, done in their order.

    do: What is done, in the words below. Asked for.
    piece: The piece it is done to, as the steps before have left it.

A place on an edge is written `["cap front", "3 in"]`: the edge, and the distance along it from its start, counter-
clockwise; a distance below 0 counts from its end, and `"50 %"`, `"start"` and `"end"` are understood.

    slash and spread: from, to (places); open (both ends alike), or open_from and open_to; gathers.
    add fullness: along, to (lists of edges that follow each other); open, or open_along and open_to; leave_start,
        leave_end (what of `along` stays as it is); slashes; gathers (true when left out).
    pivot: dart (`bust dart`), to (a place), leave (`dart` or `fullness`); share (how much of it is moved: 0.5 for half
        of it; the rest stays), name (of the dart opened there).
    split: from, to; seam (its name); into (names of the piece to the right of the line, and of the one to its left);
        through (points on the way), notches (distances along the line).
    cut off: from, to; keep (an edge of the part that is kept); edge, kind (of the new edge: `hem`); through.
    merge: pieces, edges (two of each), name.
    mirror: pieces.
    lengthen, shorten: from, to; by.
    extend: edge, by.
    true up: edges; leave_start, leave_end; points (0 for straight lines); gathers; square (to the edges beside).
    finish: edge; kind (`seam`, `hem`, `fold`); name.
    face: edges, width, name; cloth, allowance (of its edges).
    derive: name, cloth; offset, offsets (by edge), allowance; sewn (to the others derived for that cloth, as their
        pieces are; true for the cloth "lining" when left out).
    notch: at (a place); count, name.
    recut: cut, quantity.

`gathers = true` says that what the edges gain is gathered or eased in, so that their seams expect it.
"""

from collections.abc import Callable, Mapping
from typing import Annotated, Any, TypeVar

import msgspec

from cutroom.errors import OrderError
from cutroom.model.alteration import (
    CutOff,
    Derive,
    Extend,
    Facing,
    Finish,
    Fullness,
    Leave,
    Lengthen,
    Merge,
    Mirror,
    Pivot,
    Recut,
    SetNotch,
    Slash,
    Split,
    Spot,
    Step,
    TrueUp,
)
from cutroom.model.arrays import frozen_points
from cutroom.model.piece import Cut, EdgeKind
from cutroom.read.reading import Reading, echo, joined
from cutroom.read.shapes import Count, Flag, Length, LengthKey, Names, Number, PointsKey, Shape, Table, Text

T = TypeVar("T")
SpotKey = Annotated[
    tuple[str, Length], msgspec.Meta(description='a place on an edge such as ["hem", "3 in"] or ["hem", "50 %"]')
]
Lengths = Annotated[tuple[Length, ...], msgspec.Meta(description="a list of lengths")]


class _Step(Shape, frozen=True):
    do: Text | None = None
    piece: Text | None = None


class _Line(_Step, frozen=True):
    start: SpotKey | None = msgspec.field(default=None, name="from")
    to: SpotKey | None = None


class _SlashShape(_Line, frozen=True):
    open: LengthKey | None = None
    open_from: LengthKey | None = None
    open_to: LengthKey | None = None
    gathers: Flag | None = None


class _FullnessShape(_Step, frozen=True):
    along: Names | None = None
    to: Names | None = None
    open: LengthKey | None = None
    open_along: LengthKey | None = None
    open_to: LengthKey | None = None
    leave_start: LengthKey | None = None
    leave_end: LengthKey | None = None
    slashes: Count | None = None
    gathers: Flag | None = None


class _PivotShape(_Step, frozen=True):
    dart: Text | None = None
    to: SpotKey | None = None
    leave: Text | None = None
    share: Number | None = None
    name: Text | None = None


class _SplitShape(_Line, frozen=True):
    seam: Text | None = None
    into: Names | None = None
    through: PointsKey | None = None
    notches: Lengths | None = None


class _CutOffShape(_Line, frozen=True):
    keep: Text | None = None
    edge: Text | None = None
    kind: Text | None = None
    through: PointsKey | None = None


class _MergeShape(Shape, frozen=True):
    do: Text | None = None
    pieces: Names | None = None
    edges: Names | None = None
    name: Text | None = None


class _MirrorShape(Shape, frozen=True):
    do: Text | None = None
    pieces: Names | None = None


class _LengthenShape(_Line, frozen=True):
    by: LengthKey | None = None
    gathers: Flag | None = None


class _ExtendShape(_Step, frozen=True):
    edge: Text | None = None
    by: LengthKey | None = None


class _TrueUpShape(_Step, frozen=True):
    edges: Names | None = None
    leave_start: LengthKey | None = None
    leave_end: LengthKey | None = None
    points: Count | None = None
    gathers: Flag | None = None
    square: Flag | None = None


class _FinishShape(_Step, frozen=True):
    edge: Text | None = None
    kind: Text | None = None
    name: Text | None = None


class _FaceShape(_Step, frozen=True):
    edges: Names | None = None
    width: LengthKey | None = None
    name: Text | None = None
    cloth: Text | None = None
    allowance: LengthKey | None = None


class _DeriveShape(_Step, frozen=True):
    name: Text | None = None
    cloth: Text | None = None
    offset: LengthKey | None = None
    offsets: Table | None = None
    allowance: LengthKey | None = None
    sewn: Flag | None = None


class _NotchShape(_Step, frozen=True):
    at: SpotKey | None = None
    count: Count | None = None
    name: Text | None = None


class _RecutShape(_Step, frozen=True):
    cut: Text | None = None
    quantity: Count | None = None


def read_alteration(reading: Reading, raw: object, place: str) -> Step | None:
    """One alteration, or None after noting what is wrong with it.

    Args:
        reading: The file being read.
        raw: The table.
        place: Where it stands.
    """
    before = len(reading.found)
    do = raw.get("do") if isinstance(raw, dict) else None
    if not isinstance(raw, dict) or not isinstance(do, str):
        reading.asked(None, joined(place, "do"), "something must be done", 'do = "slash and spread"')
        return None
    if not reading.known(do, _READERS, joined(place, "do"), "alteration", OrderError):
        return None
    step = _READERS[do](_Keys(reading, f'{place} "{do}"', raw))
    return step if len(reading.found) == before else None


class _Keys:
    """The keys of one alteration, each read with its place."""

    def __init__(self, reading: Reading, place: str, raw: dict[str, Any]) -> None:
        self.reading, self.place, self.raw = reading, place, raw

    def shape(self, kind: type[Shape]) -> Any:
        return self.reading.table(kind, self.raw, self.place)

    def asked(self, value: T | None, key: str, write: str, blank: T) -> T:
        got = self.reading.asked(value, joined(self.place, key), "the step cannot be done without it", write)
        return blank if got is None else got

    def length(self, value: Length | None, key: str, *, negative: bool = False) -> float:
        return self.reading.length(value, joined(self.place, key), negative=negative) or 0.0

    def optional(self, value: Length | None, key: str) -> float | None:
        return self.reading.length(value, joined(self.place, key))

    def spot(self, value: tuple[str, Length] | None, key: str) -> Spot:
        edge, at = self.asked(value, key, f'{key} = ["hem", "3 in"]', ("", 0.0))
        place = joined(self.place, key)
        if isinstance(at, str):
            if at in {"start", "end"}:
                return Spot(edge, share=float(at == "end"))
            if at.rstrip().endswith("%"):
                return Spot(edge, share=self._share(at, place))
        return Spot(edge, self.reading.length(at, place, negative=True) or 0.0)

    def opens(self, both: Length | None, first: Length | None, second: Length | None, key: str) -> tuple[float, float]:
        if both is not None and (first is not None or second is not None):
            self.reading.fault(self.place, f"it has open and {key} or open_to as well", "Keep one of them", OrderError)
        if both is None and first is None and second is None:
            self.asked(None, "open", f'open = "1 1/2", or {key} and open_to for its ends', 0.0)
        if both is not None:
            return (self.length(both, "open"),) * 2
        return self.length(first, key), self.length(second, "open_to")

    def kind(self, value: str | None, usual: EdgeKind) -> EdgeKind:
        return self.reading.word(EdgeKind, value, joined(self.place, "kind"), OrderError) or usual

    def two(self, names: tuple[str, ...] | None, key: str) -> tuple[str, str]:
        names = self.asked(names, key, f'{key} = ["first", "second"]', ("", ""))
        if len(names) != 2:
            self.reading.fault(joined(self.place, key), f"{echo(list(names))} is not two names", "Write two names")
            return "", ""
        return names[0], names[1]

    def _share(self, written: str, place: str) -> float:
        try:
            share = float(written.rstrip().removesuffix("%")) / 100
        except ValueError:
            share = -1.0
        if not 0 <= share <= 1:
            self.reading.fault(place, f'"{written}" is not a share of an edge', 'Write "0 %" to "100 %"', OrderError)
            return 0.0
        return share


def _slash(keys: _Keys) -> Step:
    shape = keys.shape(_SlashShape)
    opens = keys.opens(shape.open, shape.open_from, shape.open_to, "open_from")
    return Slash(_piece(keys, shape), *_ends(keys, shape), *opens, gathers=bool(shape.gathers))


def _fullness(keys: _Keys) -> Step:
    shape = keys.shape(_FullnessShape)
    return Fullness(
        _piece(keys, shape),
        keys.asked(shape.along, "along", 'along = ["cap front", "cap back"]', ()),
        keys.asked(shape.to, "to", 'to = ["hem"]', ()),
        *keys.opens(shape.open, shape.open_along, shape.open_to, "open_along"),
        keys.length(shape.leave_start, "leave_start"),
        keys.length(shape.leave_end, "leave_end"),
        6 if shape.slashes is None else shape.slashes,
        gathers=True if shape.gathers is None else shape.gathers,
    )


def _pivot(keys: _Keys) -> Step:
    shape = keys.shape(_PivotShape)
    leave = keys.reading.word(Leave, shape.leave, joined(keys.place, "leave"), OrderError) or Leave.DART
    dart = keys.asked(shape.dart, "dart", 'dart = "bust dart"', "")
    share = 1.0 if shape.share is None else float(shape.share)
    return Pivot(_piece(keys, shape), dart, keys.spot(shape.to, "to"), leave, share, shape.name or "")


def _split(keys: _Keys) -> Step:
    shape = keys.shape(_SplitShape)
    seam = keys.asked(shape.seam, "seam", 'seam = "panel"', "")
    notches = tuple(keys.length(at, "notches") for at in shape.notches or ())
    into = keys.two(shape.into, "into")
    return Split(_piece(keys, shape), *_ends(keys, shape), seam, into, _through(keys, shape.through), notches)


def _cut_off(keys: _Keys) -> Step:
    shape = keys.shape(_CutOffShape)
    keep = keys.asked(shape.keep, "keep", 'keep = "cap front", an edge of the part that is kept', "")
    kind = keys.kind(shape.kind, EdgeKind.HEM)
    through = _through(keys, shape.through)
    return CutOff(_piece(keys, shape), *_ends(keys, shape), keep, shape.edge or "hem", kind, through)


def _merge(keys: _Keys) -> Step:
    shape = keys.shape(_MergeShape)
    (first, second), (one, two) = keys.two(shape.pieces, "pieces"), keys.two(shape.edges, "edges")
    return Merge(first, one, second, two, keys.asked(shape.name, "name", 'name = "yoke"', ""))


def _mirror(keys: _Keys) -> Step:
    shape = keys.shape(_MirrorShape)
    return Mirror(keys.asked(shape.pieces, "pieces", 'pieces = ["front"]', ()))


def _lengthen(keys: _Keys) -> Step:
    return _longer(keys, 1.0)


def _shorten(keys: _Keys) -> Step:
    return _longer(keys, -1.0)


def _longer(keys: _Keys, sign: float) -> Step:
    shape = keys.shape(_LengthenShape)
    by = keys.length(keys.asked(shape.by, "by", 'by = "1 in"', 0.0), "by")
    return Lengthen(_piece(keys, shape), *_ends(keys, shape), sign * by, gathers=bool(shape.gathers))


def _extend(keys: _Keys) -> Step:
    shape = keys.shape(_ExtendShape)
    by = keys.length(keys.asked(shape.by, "by", 'by = "1 in"', 0.0), "by", negative=True)
    return Extend(_piece(keys, shape), keys.asked(shape.edge, "edge", 'edge = "hem"', ""), by)


def _true_up(keys: _Keys) -> Step:
    shape = keys.shape(_TrueUpShape)
    points = 5 if shape.points is None else shape.points
    if points < 0:
        keys.reading.fault(joined(keys.place, "points"), f"{points} is less than none", "Write 0 or more", OrderError)
    edges = keys.asked(shape.edges, "edges", 'edges = ["hem"]', ())
    rests = keys.length(shape.leave_start, "leave_start"), keys.length(shape.leave_end, "leave_end")
    return TrueUp(_piece(keys, shape), edges, *rests, points, gathers=bool(shape.gathers), square=bool(shape.square))


def _finish(keys: _Keys) -> Step:
    shape = keys.shape(_FinishShape)
    kind = keys.kind(keys.asked(shape.kind, "kind", 'kind = "hem"', "seam"), EdgeKind.SEAM)
    return Finish(_piece(keys, shape), keys.asked(shape.edge, "edge", 'edge = "hem"', ""), kind, shape.name or "")


def _face(keys: _Keys) -> Step:
    shape = keys.shape(_FaceShape)
    return Facing(
        _piece(keys, shape),
        keys.asked(shape.edges, "edges", 'edges = ["neck"]', ()),
        keys.length(keys.asked(shape.width, "width", 'width = "2 in"', 0.0), "width"),
        keys.asked(shape.name, "name", 'name = "neck facing"', ""),
        shape.cloth or "self",
        keys.optional(shape.allowance, "allowance"),
    )


def _derive(keys: _Keys) -> Step:
    shape = keys.shape(_DeriveShape)
    offsets = {}
    for edge, written in (shape.offsets or {}).items():
        place = f"offsets.{edge}"
        value: Length | None = keys.reading.converted(written, LengthKey, joined(keys.place, place))
        offsets[edge] = keys.length(value, place, negative=True)
    return Derive(
        _piece(keys, shape),
        keys.asked(shape.name, "name", 'name = "front lining"', ""),
        keys.asked(shape.cloth, "cloth", 'cloth = "lining"', ""),
        keys.length(shape.offset, "offset", negative=True),
        offsets,
        keys.optional(shape.allowance, "allowance"),
        shape.sewn,
    )


def _notch(keys: _Keys) -> Step:
    shape = keys.shape(_NotchShape)
    count = 1 if shape.count is None else shape.count
    return SetNotch(_piece(keys, shape), keys.spot(shape.at, "at"), count, shape.name or "")


def _recut(keys: _Keys) -> Step:
    shape = keys.shape(_RecutShape)
    asked = keys.asked(shape.cut, "cut", 'cut = "pair"', "pair")
    cut = keys.reading.word(Cut, asked, joined(keys.place, "cut"), OrderError) or Cut.PAIR
    return Recut(_piece(keys, shape), cut, 1 if shape.quantity is None else shape.quantity)


def _piece(keys: _Keys, shape: _Step) -> str:
    return keys.asked(shape.piece, "piece", 'piece = "sleeve"', "")


def _ends(keys: _Keys, shape: _Line) -> tuple[Spot, Spot]:
    return keys.spot(shape.start, "from"), keys.spot(shape.to, "to")


def _through(keys: _Keys, written: tuple[tuple[Length, Length], ...] | None) -> Any:
    points = None if written is None else keys.reading.points(written, joined(keys.place, "through"))
    return frozen_points([]) if points is None else points


_READERS: Mapping[str, Callable[[_Keys], Step]] = {
    "slash and spread": _slash,
    "add fullness": _fullness,
    "pivot": _pivot,
    "split": _split,
    "cut off": _cut_off,
    "merge": _merge,
    "mirror": _mirror,
    "lengthen": _lengthen,
    "shorten": _shorten,
    "extend": _extend,
    "true up": _true_up,
    "finish": _finish,
    "face": _face,
    "derive": _derive,
    "notch": _notch,
    "recut": _recut,
}
