"""Lines that cannot be opened say why; no machine has two senders; nothing leaves its folder."""

import errno
import os
import pty
import resource
import signal
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cutroom.errors import DeviceError
from cutroom.model.profile import Connection, Flow, Line
from cutroom.send.address import names_a_line, parse_address, split_host
from cutroom.send.faults import SilentError, line_fault
from cutroom.send.files import open_file, open_spool
from cutroom.send.lines import opened
from cutroom.send.lock import same_machine


@pytest.mark.parametrize(
    ("text", "line", "address"),
    [
        ("serial:/dev/ttyUSB0", Line.SERIAL, "/dev/ttyUSB0"),
        ("serial:COM3", Line.SERIAL, "COM3"),
        ("tcp:plotter:9100", Line.NETWORK, "plotter:9100"),
        ("tcp:plotter", Line.NETWORK, "plotter"),
        ("spool:out/jobs", Line.SPOOL, "out/jobs"),
        ("file:resumed.plt", Line.FILE, "resumed.plt"),
        ("output", Line.OUTPUT, ""),
        ("-", Line.OUTPUT, ""),
    ],
)
def test_an_address_says_its_line(text: str, line: Line, address: str) -> None:
    assert names_a_line(text)
    assert parse_address(text) == (line, address)


@pytest.mark.parametrize("text", ["serial:", "tcp:", "tcp:plotter:x", "tcp:plotter:0", "tcp::9100", "tcp:h:65536"])
def test_a_wrong_address_is_refused(text: str) -> None:
    with pytest.raises(DeviceError) as caught:
        parse_address(text)
    assert caught.value.exit_code == 4


def test_a_profile_is_no_address() -> None:
    assert not names_a_line("roll-pen-plotter")
    assert not names_a_line("profiles/ours.toml")


def test_a_host_has_port_9100_when_none_is_said() -> None:
    assert split_host("plotter") == ("plotter", 9100)  # raw printing port, common practice
    assert split_host("[::1]") == ("::1", 9100)
    assert split_host("[::1]:9101") == ("::1", 9101)


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        return int(server.getsockname()[1])


@pytest.mark.parametrize(
    ("connection", "said"),
    [
        (Connection(Line.SERIAL, "/dev/cutroom-none", flow=Flow.NONE), "there is no such port"),
        (Connection(Line.SERIAL, "/dev/null", flow=Flow.NONE), "it is no serial port"),
        (Connection(Line.NETWORK, f"127.0.0.1:{_free_port()}"), "it refuses to be connected"),
        (Connection(Line.NETWORK, "no-such-machine.invalid:9100"), "no machine in the network is called"),
        (Connection(Line.SPOOL, "none"), "there is no such folder"),
        (Connection(Line.FILE, "."), "it is a folder, not a file"),
        (Connection(Line.FILE, "none/job.plt"), "there is no such port or folder"),
        (Connection(Line.SERIAL), "its profile gives no address"),
    ],
)
def test_a_machine_that_is_not_there_is_said(connection: Connection, said: str) -> None:
    with pytest.raises(DeviceError, match=said) as caught, opened(connection, job="job.plt"):
        pass
    assert caught.value.exit_code == 4
    assert caught.value.fix


def test_a_port_that_another_program_has_is_busy() -> None:
    master, slave = pty.openpty()
    connection = Connection(Line.SERIAL, os.ttyname(slave))
    from cutroom.send.serial_line import SerialLine

    with SerialLine(connection), pytest.raises(DeviceError, match="something else is using it"):
        SerialLine(connection)
    os.close(master)
    os.close(slave)


def test_no_machine_has_two_senders(tmp_path: Path) -> None:
    connection = Connection(Line.FILE, str(tmp_path / "job.plt"))
    other = Connection(Line.FILE, str(tmp_path / "." / "job.plt"))
    with opened(connection, job="a"), pytest.raises(DeviceError, match=f"process {os.getpid()} is sending to it"), \
            opened(other, job="b"):  # fmt: skip
        pass
    with opened(other, job="b"):  # it is free again
        pass


def test_a_sender_that_was_killed_leaves_no_lock(tmp_path: Path) -> None:
    path = tmp_path / "job.plt"
    code = (
        "import time; from pathlib import Path; from cutroom.model.profile import *; "
        "from cutroom.send.lines import opened\n"
        f"with opened(Connection(Line.FILE, {str(path)!r}), job='a'):\n    print('held', flush=True); time.sleep(60)"
    )
    other = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, cwd=Path(__file__).parents[3])
    assert other.stdout is not None
    assert other.stdout.readline() == b"held\n"
    connection = Connection(Line.FILE, str(path))
    with pytest.raises(DeviceError, match=f"process {other.pid} is sending"), opened(connection, job="b"):
        pass
    other.send_signal(signal.SIGKILL)
    other.wait()
    other.stdout.close()
    with opened(connection, job="b"):
        pass


def test_two_names_of_a_host_are_one_machine() -> None:
    assert same_machine(Connection(Line.NETWORK, "127.0.0.1")) == same_machine(
        Connection(Line.NETWORK, "127.0.0.1:9100")
    )


@pytest.mark.parametrize("name", ["../job.plt", "/etc/job.plt", "a/b", "..", "", ".hidden", "a\\b", "a\0b"])
def test_a_job_never_leaves_its_spool_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(DeviceError, match="would lead out of the spool folder"):
        open_spool(tmp_path, name)
    assert not list(tmp_path.iterdir())


def test_a_job_never_follows_a_link_out_of_its_folder(tmp_path: Path) -> None:
    outside = tmp_path / "outside"
    outside.mkdir()
    spool = tmp_path / "spool"
    spool.mkdir()
    (spool / "job.plt").symlink_to(outside / "job.plt")
    with open_spool(spool, "job.plt") as job:
        job.send(b"IN;", 1)
        job.finish(1)
    assert not list(outside.iterdir())
    assert (spool / "job-2.plt").read_bytes() == b"IN;"


def test_jobs_of_one_name_do_not_replace_each_other(tmp_path: Path) -> None:
    for number in range(3):
        with open_spool(tmp_path, "job.plt") as job:
            job.send(f"IN;SP{number};".encode(), 1)
            job.finish(1)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job-2.plt", "job-3.plt", "job.plt"]
    assert (tmp_path / "job-3.plt").read_bytes() == b"IN;SP2;"


def test_a_disk_that_is_full_is_said_and_leaves_nothing(tmp_path: Path) -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, hard))  # the real refusal of the operating system
    try:
        with open_file(tmp_path / "job.plt") as job:
            assert job.send(b"x" * 4096, 1) == 4096
            with pytest.raises(DeviceError, match="too large for the disk"):
                job.send(b"x" * 4096, 1)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert not list(tmp_path.iterdir())


def test_a_host_that_never_answers_is_given_up_in_time() -> None:
    with socket.socket() as full:  # a listener whose waiting room is full takes no more callers
        full.bind(("127.0.0.1", 0))
        full.listen(0)
        address = full.getsockname()
        waiting = []
        for _ in range(4):
            caller = socket.socket()
            caller.setblocking(False)
            caller.connect_ex(address)
            waiting.append(caller)
        time.sleep(0.05)
        connection = Connection(Line.NETWORK, f"127.0.0.1:{address[1]}", answer_s=0.2)
        with pytest.raises(DeviceError, match=r"it did not answer in 0\.2 s"), opened(connection, job="a"):
            pass
        for caller in waiting:
            caller.close()


def test_only_a_line_whose_time_ran_out_counts_as_a_machine_that_says_nothing() -> None:
    assert isinstance(line_fault(TimeoutError(errno.ETIMEDOUT, "timed out"), "tcp:plotter"), SilentError)
    for number in (errno.EHOSTUNREACH, errno.EPIPE, errno.EBUSY, errno.EDOM):
        assert not isinstance(line_fault(OSError(number, "no"), "tcp:plotter"), SilentError)
