"""What is wrong in a job file is said with its place, and all of it at once."""
# ruff: noqa: E501 - one planted fault to a line reads as the table it is

from pathlib import Path

import pytest

from cutroom.errors import CutroomError, FaultsError
from cutroom.read.job import read_job

_JOB = {
    "unit": 'unit = "in"',
    "clients": "[clients.ines]\nbust = 36",
    "style": '[styles.blouse]\nblock = "blouse"',
    "garment": '[[garments]]\nstyle = "blouse"\nfor = "ines"\nfabric = "linen"',
    "fabric": (
        '[fabrics.linen]\nwidth = 60\nspread = "open"\nnap = "none"\nface = "up"\nshrinkage = "not tested"\nselvedge = 1'
    ),
    "write": '[write]\nfiles = ["report-html"]',
}
_PIECE = """[styles.blouse]
[[styles.blouse.pieces]]
name = "front"
cut = "fold"
grain = "down"
edges = [
  { name = "centre", kind = "fold", points = [[0, 20], [0, 0]] },
  { name = "hem", kind = "hem", points = [[0, 0], [10, 0]] },
  { name = "side", points = [[10, 0], [10, 20]] },
  { name = "waist", points = [[10, 20], [0, 20]] },
]"""


def _faults(folder: Path, part: str = "", old: str = "", new: str = "", *, piece: bool = False) -> list[str]:
    """The faults of a good job in which one thing was changed."""
    parts = _JOB | ({"style": _PIECE} if piece else {})
    if part:
        assert old in parts[part]
        parts = parts | {part: parts[part].replace(old, new) if old else new}
    path = folder / "job.toml"
    path.write_text("\n".join(parts.values()), encoding="utf-8")
    try:
        read_job(path, blocks=("blouse", "skirt", "sleeve"))
    except FaultsError as error:
        faults = list(error.faults)
    except CutroomError as error:
        faults = [error]
    else:
        faults = []
    assert all(fault.file == str(path) and fault.fix for fault in faults)
    return [str(fault).removeprefix(f"{path}: ") for fault in faults]


def test_the_job_they_are_planted_in_is_good(tmp_path: Path) -> None:
    assert _faults(tmp_path) == []
    assert _faults(tmp_path, piece=True) == []


@pytest.mark.parametrize(
    ("part", "old", "new", "said"),
    [
        ("unit", '"in"', '"ell"', 'unit: there is no unit "ell". Write one of in, cm or mm.'),
        ("unit", 'unit = "in"', "", 'unit: it is missing: a bare number must stand in something. Write unit = "in", "cm" or "mm".'),
        ("unit", 'unit = "in"', 'unit = "in"\ntitel = "x"', 'titel: there is no such key here. Write "title" if that is meant'),
        ("clients", "36", '"14.3/8"', "clients.ines.bust: '14.3/8' is not a length. Write a whole number, a decimal or a fraction"),
        ("clients", "36", '"36 ell"', "clients.ines.bust: 'ell' is not a unit of length."),
        ("clients", "36", "0", "clients.ines.bust: 0 is no body measure. Write a length above 0."),
        ("clients", "36", "-36", "clients.ines.bust: -36 is no body measure."),
        ("clients", "36", "true", "clients.ines.bust: true is not a length: a number, or text such as '5 3/4'"),
        ("clients", "36", "36\n[sizes.ines]\nbust = 1", "sizes.ines: there is a client of that name too."),
        ("clients", "[clients.ines]\nbust = 36", "clients.ines = 36", "clients.ines: 36 is not a table of measures."),
        ("style", '"blouse"', '"blose"', 'styles.blouse.block: there is no block "blose". Write "blouse" if that is meant'),
        ("style", 'block = "blouse"', "", "styles.blouse: it has neither a block nor pieces."),
        ("style", '"blouse"', '"blouse"\nallowance = "1/2 x"', "styles.blouse.allowance: 'x' is not a unit of length."),
        ("style", '"blouse"', '"blouse"\nallowance = -1', "styles.blouse.allowance: -1 is less than nothing. Write 0 or more."),
        ("style", '"blouse"', '"blouse"\nhem = 12', "styles.blouse.hem: 304.8 mm is no allowance, wanted less than 200 mm."),
        ("style", '"blouse"', '"blouse"\nallowances = { "a.b" = -1 }', 'styles.blouse.allowances."a.b": -1 is less than nothing.'),
        ("style", '"blouse"', '"blouse"\noptions = { cap = "5 3/x" }', "styles.blouse.options.cap: '5 3/x' is not a length."),
        ("style", '"blouse"', '"blouse"\noptions = { cap = { a = 1 } }', 'options.cap: {"a":1} is not a length, a list of lengths'),
        ("style", '"blouse"', '"blouse"\npieces = [{}]', "styles.blouse, piece 1, name: it is missing"),
        ("garment", '"blouse"', '"skirt"', 'garment 1, style: there is no style "skirt". Write one of blouse.'),
        ("garment", '"ines"', '"inez"', 'garment 1, for: there is no client or size "inez". Write "ines" if that is meant'),
        ("garment", '"linen"', '"wool"', 'garment 1, fabric: there is no fabric "wool". Write one of linen.'),
        ("garment", "[[garments]]", '[[garments]]\nname = "B"\ncopies = 0', 'garment "B", copies: 0 is no garment. Write 1 or more'),
        ("garment", "[[garments]]", '[[garments]]\ncopies = "two"', 'garment 1, copies: "two" is not a whole number.'),
        ("garment", "[[garments]]", '[[garments]]\nfabrics = { a = "linen" }', "garment 1: it has fabric and fabrics as well."),
        ("garment", 'fabric = "linen"', "", "garment 1, fabric: it is missing: it must be cut from something."),
        ("garment", 'style = "blouse"', "", "garment 1, style: it is missing"),
        ("garment", 'for = "ines"', "", "garment 1, for: it is missing"),
        ("garment", _JOB["garment"], "", "garments: the order asks for no garment. Add a line [[garments]]"),
        ("garment", "", f'{_JOB["garment"]}\n{_JOB["garment"]}', 'two lines of the order have that name for "ines".'),
        ("fabric", "width = 60", "", "fabrics.linen.width: it is missing: the marker must fit the narrowest roll"),
        ("fabric", 'spread = "open"', "", "fabrics.linen.spread: it is missing: it decides whether a piece laid once"),
        ("fabric", 'nap = "none"', "", "fabrics.linen.nap: it is missing: on cloth with nap"),
        ("fabric", 'face = "up"', "", 'fabrics.linen.face: it is missing: with the cloth lying the other side up'),
        ("fabric", 'shrinkage = "not tested"', "", "fabrics.linen.shrinkage: it is missing: a garment cut without it"),
        ("fabric", "width = 60", "widht = 60", 'fabrics.linen.widht: there is no such key here. Write "width" if that is meant'),
        ("fabric", "60", "0", "fabrics.linen.width: 0 is not more than nothing. Write a length above 0."),
        ("fabric", "selvedge = 1", "selvedge = 30", "fabrics.linen: nothing is left of a width of 1524 mm"),
        ("fabric", '"open"', '"zigzag"', 'fabrics.linen.spread: there is no word for it "zigzag". Write one of open, folded'),
        ("fabric", '"none"', '"oneway"', 'fabrics.linen.nap: there is no word for it "oneway". Write "one-way" if that is meant'),
        ("fabric", '"open"', '"face-to-face"\nplies = 3', "fabrics.linen.plies: 3 is odd, and face-to-face plies lie in pairs."),
        ("fabric", "60", "60\nplies = 0", "fabrics.linen.plies: 0 is no lay. Write 1 or more."),
        ("fabric", "60", "60\nprice = -1", "fabrics.linen.price: -1 is not a price."),
        ("fabric", "60", "60\ngap = -1", "fabrics.linen.gap: -1 is less than nothing."),
        ("fabric", '"not tested"', '"none"', 'fabrics.linen.shrinkage: "none" does not say what shrinks which way.'),
        ("fabric", '"not tested"', '{ warp = "3" , weft = "2 %" }', 'fabrics.linen.shrinkage.warp: "3" is not a percentage.'),
        ("fabric", '"not tested"', '{ warp = "3 %" }', "fabrics.linen.shrinkage.weft: it is missing: cloth shrinks along and"),
        ("fabric", '"not tested"', '{ warp = [50, 40], weft = "0 %" }', "shrinkage.warp: the cloth would change by 20 %, wanted at"),
        ("fabric", '"not tested"', '{ warp = 3, weft = "0 %" }', "fabrics.linen.shrinkage.warp: 3 is not a percentage such as"),
        ("write", '["report-html"]', '["report-pdf"]', 'write.files: there is no kind of file "report-pdf".'),
        ("write", '["report-html"]', "[]", "write.files: it is missing: nothing would be written."),
        ("write", _JOB["write"], "", "write: it is missing: nothing would be written."),
        ("write", '["report-html"]', '["marker-hpgl"]', "write.plotter: it is missing: each machine takes its own HPGL."),
        ("write", '["report-html"]', '["tiles-pdf"]', "write.paper: it is missing: tiles must fit the sheets in the printer."),
        ("write", "[write]", '[write]\npaper = "A9"', 'write.paper: there is no paper "A9". Write one of A0, A1'),
        ("write", "[write]", '[write]\nplotter = "rol-pen"', 'write.plotter: there is no plotter "rol-pen".'),
        ("write", "[write]", '[write]\nplotter = "ours.toml"', "write.plotter: there is no file"),
        ("write", "[write]", "[write]\nsquare_measured = 0", "write.square_measured: 0 is not more than nothing."),
        ("write", "[write]", '[write]\ngo_on = "yes"', 'write.go_on: "yes" is not true or false.'),
    ],
)  # fmt: skip
def test_one_fault_is_named_with_its_place(tmp_path: Path, part: str, old: str, new: str, said: str) -> None:
    faults = _faults(tmp_path, part, old, new)
    assert len([fault for fault in faults if said in fault]) == 1, faults
    assert len(faults) == 1 or said.endswith("piece 1, name: it is missing"), faults


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("[10, 0], [10, 20]", "[10, 1], [10, 20]", 'edge "hem": it ends at (10 in, 0 in) but edge "side" starts at (10 in, 1 in), 1 in'),
        ("[10, 20], [0, 20]]", "[10, 20], [0, 19]]", 'edge "waist": it ends at (0 in, 19 in) but edge "centre" starts at'),
        ("[0, 20], [0, 0]]", "[0, 20], [1, 10], [0, 0]]", 'edge "centre": the fold is not straight, it strays 25.40 mm.'),
        ("[10, 0], [10, 20]]", "[10, 0], [-5, 10], [10, 20]]", "its outline crosses itself at"),
        ("[10, 0], [10, 20]]", "[10, 0], [12, 10], [-4, 10], [10, 20]]", "crosses itself"),
        ('kind = "fold"', 'kind = "fold", allowance = 1', "allowance: a fold is not cut, so it has no allowance."),
        ('kind = "fold", ', "", "cut: it is cut on the fold and has no fold edge."),
        ('cut = "fold"', 'cut = "pair"', 'edge "centre": it is a fold edge of a piece cut pair.'),
        ('cut = "fold"', "", "cut: it is missing: without it a left or a right is forgotten."),
        ('cut = "fold"', 'cut = "double"', 'cut: there is no word for it "double". Write one of pair, single or fold.'),
        ('grain = "down"', "", "grain: it is missing: a piece laid off its grain twists."),
        ('grain = "down"', 'grain = "south"', 'grain: there is no grain "south". Write one of up, down, left or right.'),
        ('grain = "down"', "grain = [[1, 1], [1, 1]]", "grain: the grainline has no length."),
        ('name = "side", ', "", "edge 3, name: it is missing"),
        ('name = "side"', 'name = "hem"', 'edge "hem": the piece has two edges of that name.'),
        ('kind = "hem"', 'kind = "hemm"', 'edge "hem", kind: there is no word for it "hemm". Write "hem" if that is meant'),
        ('name = "side"', 'name = "side", allowance = 8', "allowance: its allowance is 203.2 mm, wanted 0 to less than 200."),
        ('name = "side"', 'name = "side", allowance = -1', 'edge "side", allowance: -1 is less than nothing.'),
        (
            'name = "side"', 'name = "side", notches = [{ at = 25 }]',
            'edge "side", notch 1, at: it stands 25 in along an edge that is 20 in long. Write 0 to 20 in',
        ),
        ('name = "side"', 'name = "side", notches = [{ at = 1, count = 4 }]', "notch 1, count: 4 is not a number of notches."),
        ('name = "side"', 'name = "side", notches = [{ count = 1 }]', "notch 1, at: it is missing"),
        ("[10, 0], [10, 20]", "[10, 0, 3], [10, 20]", 'edge "side", points: [[10,0,3],[10,20]] is not a list of points'),
        ("[10, 0], [10, 20]", '[10, "x"], [10, 20]', "edge \"side\", point 1, y: 'x' is not a length."),
        ("points = [[10, 0], [10, 20]]", "points = [[10, 0]]", 'edge "side", points: it is missing: an edge has two ends.'),
        ("points = [[10, 0], [10, 20]]", "points = [[10, 0], [10, 0]]", 'edge "side": all its points are in one place.'),
        ('cut = "fold"', 'cut = "fold"\nquantity = 0', "quantity: 0 is none. Write 1 or more."),
        ('cut = "fold"', 'cut = "fold"\nhand = "both"', 'hand: there is no word for it "both". Write one of left or right.'),
        ('cut = "fold"', 'cut = "fold"\ndrills = [{ at = [11, 4] }]', "drill 1: (11 in, 4 in) is outside the piece."),
        ('cut = "fold"', 'cut = "fold"\ndrills = [{}]', "drill 1, at: it is missing"),
        ('cut = "fold"', 'cut = "fold"\nlines = [{ points = [[1, 1]] }]', "line 1, points: it is missing: a line has two ends."),
        ('cut = "fold"', 'cut = "fold"\ncloth = "lining"', 'style "blouse" has pieces of "lining", and no fabric is named for it.'),
        ("[styles.blouse]", "[styles.blouse]\nallowances = { sid = 1 }", 'allowances: there is no edge "sid". Write "side"'),
        ("[styles.blouse]", "[styles.blouse]\noptions = { a = 1 }", "styles.blouse.options: options are for a block"),
        ("[styles.blouse]", '[styles.blouse]\nblock = "blouse"', "styles.blouse: it has a block and pieces as well."),
        (
            "[styles.blouse]", '[styles.blouse]\nseams = [{ first = ["front.side"], second = ["back.side"] }]',
            'styles.blouse, seam 1, second: there is no edge "back.side".',
        ),
        ("[styles.blouse]", "[styles.blouse]\nseams = [{ first = ['front.side'] }]", "seam 1, second: it is missing"),
    ],
)  # fmt: skip
def test_a_fault_of_a_piece_is_named_with_its_place(tmp_path: Path, old: str, new: str, said: str) -> None:
    faults = _faults(tmp_path, "style", old, new, piece=True)
    assert len(faults) == 1, faults
    assert said in faults[0]
    assert "styles.blouse" in faults[0] or "garment" in faults[0]


def test_a_hem_wider_than_the_piece_is_refused(tmp_path: Path) -> None:
    style = _PIECE.replace("20]", "3]").replace('kind = "hem"', 'kind = "hem", allowance = 3')
    (fault,) = _faults(tmp_path, "style", _JOB["style"], style)
    assert 'edge "hem": its hem is 3 in, wider than the piece' in fault


def test_a_half_that_crosses_its_fold_is_refused(tmp_path: Path) -> None:
    style = _PIECE.replace("[10, 20], [0, 20]]", "[10, 20], [-3, 24], [0, 20]]")
    (fault,) = _faults(tmp_path, "style", _JOB["style"], style)
    assert 'edge "centre": part of the piece lies beyond its fold.' in fault


def test_two_pieces_of_one_name_are_refused(tmp_path: Path) -> None:
    style = f"{_PIECE}\n{_PIECE.removeprefix('[styles.blouse]')}"
    (fault,) = _faults(tmp_path, "style", _JOB["style"], style)
    assert fault.startswith('styles.blouse, piece "front": the style has two pieces of that name.')


def test_all_faults_are_reported_together_in_the_order_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(
        'unit = "ell"\n[clients.ines]\nbust = "36 1/"\nwrist = 0\n[styles.blouse]\nblok = "blouse"\n'
        '[[garments]]\nstyle = "blous"\nfor = "ines"\nfabric = "linen"\ncopies = 0\n'
        '[fabrics.linen]\nwidth = "wide"\nnap = "up"\n[write]\nfiles = ["pdf"]\n',
        encoding="utf-8",
    )
    with pytest.raises(FaultsError) as caught:
        read_job(path)
    assert [fault.place for fault in caught.value.faults] == [
        "unit",
        "clients.ines.bust",
        "clients.ines.wrist",
        "styles.blouse.blok",
        "fabrics.linen.width",
        "fabrics.linen.nap",
        "fabrics.linen.spread",
        "fabrics.linen.shrinkage",
        "fabrics.linen.face",
        "garment 1, style",
        "garment 1, copies",
        "write.files",
    ]


def test_a_profile_that_is_wrong_is_named_by_its_own_file(tmp_path: Path) -> None:
    (tmp_path / "ours.toml").write_text('unit = "mm"\nwidth = 900\n', encoding="utf-8")
    path = tmp_path / "job.toml"
    path.write_text("\n".join(_JOB.values()) + '\nplotter = "ours.toml"', encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        read_job(path)
    assert {fault.file for fault in caught.value.faults} == {str(tmp_path / "ours.toml")}
    assert caught.value.faults[0].place == "frame"


def test_a_file_that_is_not_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(CutroomError, match=r"none\.toml: there is no such file\. Check its name and its folder\."):
        read_job(tmp_path / "none.toml")


def test_a_folder_is_not_a_job(tmp_path: Path) -> None:
    with pytest.raises(CutroomError, match="it is a folder, not a file"):
        read_job(tmp_path)


def test_what_is_not_toml_is_said_with_line_and_column(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text('unit = "in"\nbust = 36 1/2\n', encoding="utf-8")
    with pytest.raises(CutroomError, match=r"job\.toml: line 2, column 11: it is not TOML there"):
        read_job(path)
    path.write_text('unit = "in', encoding="utf-8")
    with pytest.raises(CutroomError, match="it is not TOML there"):
        read_job(path)


def test_what_is_not_text_is_said(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b'unit = "in"\ntitle = "\xff"\n')
    with pytest.raises(CutroomError, match="byte 22 is not UTF-8 text"):
        read_job(path)
