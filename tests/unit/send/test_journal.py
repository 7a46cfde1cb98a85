"""The journal of a sending: whatever is torn off its end, what it says is true."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutroom.errors import FileError
from cutroom.send.items import Start
from cutroom.send.journal import Journal, journal_of, read_journal
from cutroom.send.resume import begun, standing

RECORDS = [
    begun("ab" * 32, Start(), 1024),
    {"what": "ahead", "byte": 300, "done": None, "seen": None},
    {"what": "ahead", "byte": 600, "done": 120, "seen": 250},
    {"what": "ahead", "byte": 900, "done": 120, "seen": 510},
]


def written(folder: Path) -> bytes:
    journal = Journal(folder / "whole.journal")
    for record in RECORDS:
        journal.note(record)
    journal.close()
    return journal.path.read_bytes()


def test_what_is_noted_is_read_again(tmp_path: Path) -> None:
    written(tmp_path)
    assert read_journal(tmp_path / "whole.journal") == RECORDS
    now = standing(RECORDS)
    assert now is not None
    assert (now.done, now.seen, now.ahead, now.memory) == (120, 510, 900, 1024)


def test_torn_at_any_byte_it_says_what_was_whole_and_goes_on(tmp_path: Path) -> None:
    data = written(tmp_path)
    ends = [index + 1 for index, byte in enumerate(data) if byte == 10]
    path = tmp_path / "torn.journal"
    for cut in range(len(data) + 1):
        path.write_bytes(data[:cut])
        journal = Journal(path)
        whole = sum(end <= cut for end in ends)
        assert journal.records == RECORDS[:whole]
        journal.note({"what": "rested", "byte": 7, "done": None})
        journal.close()
        assert read_journal(path) == [*RECORDS[:whole], {"what": "rested", "byte": 7, "done": None}]


@given(place=st.integers(0, 10_000), bit=st.integers(0, 7))
def test_a_changed_bit_is_never_believed(tmp_path_factory: pytest.TempPathFactory, place: int, bit: int) -> None:
    """Whatever bit of a journal turns over, its records are the true ones up to there, or it is refused."""
    folder = tmp_path_factory.mktemp("bits")
    data = bytearray(written(folder))
    data[place % len(data)] ^= 1 << bit
    path = folder / "bits.journal"
    path.write_bytes(data)
    try:
        records = read_journal(path)
    except FileError as fault:
        records = []
        refused = str(fault)
    else:
        refused = ""
    assert records == RECORDS[: len(records)]
    assert not refused or ("--from-stroke" in refused and "line" in refused)


def test_it_lies_beside_its_file_and_follows_no_link(tmp_path: Path) -> None:
    assert journal_of(tmp_path / "a.plt") == tmp_path / "a.plt.journal"
    (tmp_path / "a.plt.journal").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(FileError, match="cannot be written"):
        Journal(tmp_path / "a.plt.journal")
    assert not (tmp_path / "elsewhere").exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_where_nothing_can_be_written_it_says_so(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    with pytest.raises(FileError, match="Copy the file to a folder of your own"):
        Journal(tmp_path / "a.journal")


def test_what_may_have_gone_out_is_never_behind_what_is_done() -> None:
    stopped = standing([*RECORDS, {"what": "rested", "byte": 700, "done": 650}])
    assert stopped is not None
    assert (stopped.done, stopped.ahead, stopped.rested) == (650, 700, 700)
    damaged = standing([*RECORDS, {"what": "damaged", "byte": 510}])
    assert damaged is not None
    assert (damaged.done, damaged.seen, damaged.ahead, damaged.damaged) == (120, 510, 900, True)
    off = standing([*RECORDS, {"what": "off"}])
    assert off is not None
    assert (off.done, off.seen, off.off) == (120, 120, True)
    assert standing([]) is None
