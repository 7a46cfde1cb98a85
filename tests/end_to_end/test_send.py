"""`send` as a person meets it: real ports, real sockets, real signals, and what is left when it breaks off."""

import hashlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from cutroom.cli import main
from cutroom.send.journal import read_journal
from cutroom.standin.compare import compare, drawn_by
from cutroom.standin.machine import Kind, Machine
from cutroom.standin.motion import Motion
from cutroom.standin.serve import Link, NetworkLink, PortLink, serve

ROOT = Path(__file__).parents[2]
FAST = Motion(400, 800, 8000, 30, 0.02, 0.1, 0.5)


def a_drawing(frames: int = 1, strokes: int = 40, *, frame_length: int = 32767) -> bytes:
    """A plot of frames that each begin with a stroke on their start line."""
    drawn = []
    for number in range(frames):
        words = ["SP1;PU0,0;PD0,58400;"]
        for stroke in range(strokes):
            x = 200 + stroke * (frame_length - 400) // strokes
            words.append(f"PU{x},{100 + number};PD{x},{400 + stroke},{x + 150},{900 + stroke};")
        drawn.append("".join(words))
    return f"IN;VS40;{'PU;PG;'.join(drawn)}PU;SP0;PG;".encode()


def proven(data: bytes, name: str = "cloth-marker.plt", *, kind: str = "marker-hpgl", passed: bool = True) -> Path:
    """A file with a manifest that proves it."""
    folder = Path("out")
    folder.mkdir(exist_ok=True)
    path = folder / name
    path.write_bytes(data)
    row = {"path": name, "kind": kind}
    manifest = {
        "files": [row | {"sha256": hashlib.sha256(data).hexdigest()}],
        "proof": [row | {"passed": passed}],
    }
    (folder / "manifest.json").write_text(json.dumps(manifest), encoding="utf-8")
    return path


def a_profile(connection: str = "", *, frame: float = 819.175) -> Path:
    path = Path("ours.toml")
    pens = "\n".join(f"{role} = 1" for role in ("cut", "seam", "notch", "grain", "drill", "label", "fabric", "sheet"))
    path.write_text(f'unit = "mm"\nwidth = 1750\nframe = {frame}\nlargest = 70000\nend = "PU;SP0;PG;"\n[pens]\n{pens}\n'
                    f"{connection}", encoding="utf-8")  # fmt: skip
    return path


SERIAL = '[connection]\nline = "serial"\nanswer_s = 3\npatience_s = 20\nflow = '


class Standing:
    """A stand-in at work in a thread."""

    def __init__(self, link: Link, machine: Machine, hurry: float, baud: int) -> None:
        self.link, self.machine = link, machine
        self._over = threading.Event()
        self._thread = threading.Thread(
            target=serve,
            args=(link, machine),
            kwargs={"baud": baud, "hurry": hurry, "until": lambda _: self._over.is_set()},
        )
        self._thread.start()

    @property
    def address(self) -> str:
        return self.link.name

    def finished(self) -> Machine:
        """The machine, once it has drawn all it holds."""
        quiet = time.monotonic()
        until = quiet + 60
        while time.monotonic() < until and time.monotonic() - quiet < 0.3:
            time.sleep(0.02)
            if not self.machine.idle:
                quiet = time.monotonic()
        self.close()
        return self.machine

    def close(self) -> None:
        if self._thread.is_alive():
            self._over.set()
            self._thread.join()
            self.link.close()


@pytest.fixture
def stand_ins() -> Iterator[list[Standing]]:
    """Stand-ins, closed in any case."""
    started: list[Standing] = []
    yield started
    for one in started:
        one.close()


def on_a_port(stand_ins: list[Standing], *, memory: int = 512, hurry: float = 200, xon: bool = False) -> Standing:
    one = Standing(PortLink(), Machine(Kind(FAST, memory, xon_xoff=xon)), hurry, 9600)
    stand_ins.append(one)
    return one


def on_the_network(stand_ins: list[Standing], *, hurry: float = 300) -> Standing:
    one = Standing(NetworkLink("127.0.0.1", 0), Machine(Kind(FAST, 4096)), hurry, 9600)
    stand_ins.append(one)
    return one


@pytest.mark.parametrize("flow", ["enquiry", "xon-xoff"])
def test_a_proven_file_is_drawn_whole_over_a_serial_port(flow: str, stand_ins: list[Standing]) -> None:
    path = proven(a_drawing(2))
    standing = on_a_port(stand_ins, xon=flow == "xon-xoff")
    profile = a_profile(f'{SERIAL}"{flow}"')
    assert main(["send", str(path), "--to", str(profile), "--at", standing.address, "--yes"]) == 0
    machine = standing.finished()
    assert compare(machine.drawn, drawn_by(path.read_bytes())).none
    assert read_journal(Path(f"{path}.journal"))[-1] == {"what": "whole"}


def test_a_proven_file_is_drawn_whole_over_the_network(
    stand_ins: list[Standing], capsys: pytest.CaptureFixture[str]
) -> None:
    path = proven(a_drawing())
    standing = on_the_network(stand_ins)
    assert main(["send", str(path), "--to", standing.address, "--yes"]) == 0
    assert compare(standing.finished().drawn, drawn_by(path.read_bytes())).none
    said = capsys.readouterr().err
    assert "Local safety codes" in said
    assert "never leave it running alone" in said
    assert f"Sent: 41 strokes, {path.stat().st_size} bytes" in said


def test_nothing_moves_before_somebody_says_yes(stand_ins: list[Standing], capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing())
    standing = on_the_network(stand_ins)
    assert main(["send", str(path), "--to", standing.address]) == 1
    assert "Nothing was sent" in capsys.readouterr().err
    assert standing.finished().drawn == []
    assert not Path(f"{path}.journal").exists()


def test_the_same_file_another_day_needs_a_yes_again(
    stand_ins: list[Standing], capsys: pytest.CaptureFixture[str]
) -> None:
    path = proven(a_drawing())
    standing = on_the_network(stand_ins)
    assert main(["send", str(path), "--to", standing.address, "--yes"]) == 0
    drawn = len(standing.finished().drawn)
    again = on_the_network(stand_ins)
    capsys.readouterr()
    assert main(["send", str(path), "--to", again.address]) == 1
    said = capsys.readouterr().err
    assert "Local safety codes" in said
    assert "Nothing was sent" in said
    assert drawn == 41
    assert again.finished().drawn == []


def test_checking_says_what_would_be_sent_and_opens_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing(3))
    motion = "[motion]\nspeed = 400\ntravel_speed = 800\nacceleration = 8000\nlift_s = 0.1\n"
    profile = a_profile(f'{SERIAL}"enquiry"\nbaud = 600\n{motion}')
    code = main(["send", str(path), "--to", str(profile), "--at", "serial:/dev/none", "--from-frame", "2", "--check"])
    said = capsys.readouterr().err
    assert code == 0
    assert "123 strokes in 3 frames, 2.44 m of paper" in said
    assert "it begins with stroke 42, in frame 2" in said
    assert "proven" in said
    size = path.stat().st_size
    line = round(size * 10 / 600)  # ten signals to a letter: the line is slower than the machine
    assert f"about {line // 60} min {line % 60:02d} s for the whole" in said
    assert not Path(f"{path}.journal").exists()


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        ("bytes", "its bytes have changed since"),
        ("proof", "its proof did not pass"),
        ("manifest", "there is no manifest.json beside it"),
        ("unknown", "the manifest beside it does not know it"),
        ("nonsense", "cannot be read (it is no JSON)"),
        ("shape", "cannot be read (it is no manifest of this program)"),
    ],
)
def test_nothing_unproven_is_sent_unless_told_so(spoil: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing(), passed=spoil != "proof")
    manifest = path.parent / "manifest.json"
    if spoil == "bytes":
        path.write_bytes(path.read_bytes().replace(b"PD0,58400", b"PD0,58401"))
    elif spoil == "manifest":
        manifest.unlink()
    elif spoil == "unknown":
        path = path.rename(path.with_name("other.plt"))
    elif spoil == "nonsense":
        manifest.write_text("{", encoding="utf-8")
    elif spoil == "shape":
        manifest.write_text('{"files": 3, "proof": [1]}', encoding="utf-8")
    assert main(["send", str(path), "--to", "file:got.plt"]) == 3
    assert said in capsys.readouterr().err
    assert not Path("got.plt").exists()
    assert main(["send", str(path), "--to", "file:got.plt", "--unproven"]) == 0
    assert Path("got.plt").read_bytes() == path.read_bytes()


def test_an_unproven_file_that_is_not_what_its_name_says_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    Path("drawing.plt").write_bytes(b"%PDF-1.7 not a plot")
    assert main(["send", "drawing.plt", "--to", "file:got.plt", "--unproven"]) == 1
    assert "it is no HPGL" in capsys.readouterr().err
    Path("text.xyz").write_bytes(b"anything")
    assert main(["send", "text.xyz", "--to", "file:got.plt", "--unproven"]) == 1
    assert "--as-is" in capsys.readouterr().err
    assert main(["send", "text.xyz", "--to", "file:got.plt", "--unproven", "--as-is"]) == 0
    assert Path("got.plt").read_bytes() == b"anything"


def test_a_long_plot_that_jams_in_frame_5_is_taken_up_there() -> None:
    """Eight frames of 32,767 plotter units; the job of a long plot and a jam: the resume file is frames 5 to 8."""
    data = a_drawing(8)
    path = proven(data)
    profile = a_profile()
    assert main(["send", str(path), "--to", str(profile), "--at", "file:rest.plt", "--from-frame", "5"]) == 0
    rest = Path("rest.plt").read_bytes()
    frames = data.removeprefix(b"IN;VS40;").split(b"PG;")
    tail = b"PG;".join(frames[4:])
    assert rest.endswith(tail)  # byte for byte
    head = rest.removesuffix(tail)
    assert head.startswith(b"IN;VS40;SP1;PU0,200;PD400,200;PU200,0;PD200,400;")  # a cross at the start line
    assert head.count(b"PD") == 4  # and one at its other end
    assert max(abs(int(n)) for n in head.replace(b"PU", b",").replace(b"PD", b",").replace(b";", b"").split(b",")
               if n.isdigit()) <= 58400  # fmt: skip
    whole = [run for run in drawn_by(data) if run.frame >= 4]
    again = drawn_by(rest)[4:]  # after four arms of crosses
    assert [run.points for run in again] == [run.points for run in whole]


@pytest.mark.parametrize("stroke", [1, 2, 41, 42, 60, 82])
def test_from_any_stroke_the_parts_joined_are_the_whole(stroke: int) -> None:
    data = a_drawing(2)
    path = proven(data)
    arguments = ["send", str(path), "--to", "file:rest.plt", "--from-stroke", str(stroke), "--no-marks"]
    assert main(arguments) == 0
    strokes = [(run.pen, run.points) for run in drawn_by(data)]
    rest = [(run.pen, run.points) for run in drawn_by(Path("rest.plt").read_bytes())]
    assert strokes[stroke - 1 :] == rest


def test_from_a_length_everything_beyond_it_is_drawn(capsys: pytest.CaptureFixture[str]) -> None:
    data = a_drawing(3)
    path = proven(data)
    profile = a_profile()
    send = ["send", str(path), "--to", str(profile), "--at", "file:rest.plt", "--no-marks"]
    assert main([*send, "--from-length", "1m"]) == 0
    rest = [(run.pen, run.points) for run in drawn_by(Path("rest.plt").read_bytes())]
    frame = 819.175
    beyond = [
        (run.pen, run.points)
        for run in drawn_by(data)
        if run.frame == 2 or max(x + run.frame * frame for x, _ in run.points) > 1000
    ]
    assert rest == beyond
    assert main([*send, "--from-length", "9m"]) == 1
    assert "the drawing ends at 2436" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--from-stroke", "999"], "it has 82 strokes and none of number 999"),
        (["--from-frame", "3"], "it has 2 frames and none of number 3"),
        (["--from-stroke", "2", "--from-frame", "2"], "it can begin at one place only"),
        (["--resume"], "there is no journal of it"),
        (["--from-length", "3"], "'3' has no unit"),
    ],
)
def test_a_place_that_is_not_there_is_said(arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing(2))
    assert main(["send", str(path), "--to", "file:rest.plt", *arguments]) == 1
    assert said in capsys.readouterr().err
    assert not Path("rest.plt").exists()


def test_an_unknown_place_of_a_count_is_a_wrong_use() -> None:
    assert main(["send", str(proven(a_drawing())), "--to", "file:rest.plt", "--from-stroke", "0"]) == 2


@pytest.mark.parametrize(
    ("to", "said"),
    [
        ("serial:/dev/none", "nobody knows how this machine says that it can take no more"),
        ("tcp:127.0.0.1:1", "it refuses to be connected"),
        ("spool:none", "there is no such folder"),
        ("pigeon:x", "there is no such file"),
        ("tcp:", "is not the address of a machine"),
        ("roll-pen-plotter", "does not say where the machine is"),
    ],
)
def test_a_machine_that_is_not_there_ends_with_4(to: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing())
    code = main(["send", str(path), "--to", to, "--yes"])
    text = capsys.readouterr().err
    assert said in text or "there is no plotter" in text
    assert code == (1 if to.startswith("pigeon") else 4)
    assert "Traceback" not in text


def test_a_machine_that_never_answers_is_given_up_with_words(capsys: pytest.CaptureFixture[str]) -> None:
    link = PortLink()  # nobody at the other end
    path = proven(a_drawing())
    profile = a_profile(SERIAL.replace("answer_s = 3", "answer_s = 0.2") + '"enquiry"')
    assert main(["send", str(path), "--to", str(profile), "--at", link.name, "--yes"]) == 4
    assert "it does not answer: asked 3 times, each time 0.2 s" in capsys.readouterr().err
    link.close()


@pytest.mark.parametrize(
    ("machine", "kind", "said"),
    [
        ("gantry-laser", "marker-hpgl", 'the machine "gantry-laser" takes ISO 6983 program, and this is marker-hpgl'),
        ("roll-pen-plotter", "marker-pdf", 'the machine "roll-pen-plotter" takes HPGL, and this is marker-pdf'),
        ("drag-knife-roll-cutter", "marker-hpgl", "would cut its letters and grainlines, too"),
    ],
)
def test_no_machine_gets_a_file_that_is_not_for_it(
    machine: str, kind: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    path = proven(a_drawing(), kind=kind)
    arguments = ["send", str(path), "--to", machine, "--at", "file:got.plt"]
    assert main(arguments) == 1
    assert said in capsys.readouterr().err
    assert not Path("got.plt").exists()


def test_a_blade_gets_its_own_cautions_and_no_crosses(capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing(), kind="cut-hpgl")
    arguments = ["send", str(path), "--to", "drag-knife-roll-cutter", "--at", "file:got.plt", "--from-stroke", "3"]
    assert main([*arguments, "--check"]) == 0
    said = capsys.readouterr().err
    assert "First run: without blade or beam" in said
    assert "eyes behind the guard" in said
    assert "Never PVC, vinyl or unknown cloth" in said
    assert "power off before a blade is changed" in said
    assert main(arguments) == 0
    assert "No crosses are cut" in capsys.readouterr().err
    assert Path("got.plt").read_bytes().count(b"PD") == 39  # the strokes from the third on, and nothing else


def test_a_drawing_that_any_machine_may_take_and_bytes_as_they_are_come_with_all_cautions(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["send", str(proven(a_drawing(), kind="marker-svg")), "--to", "file:got", "--as-is", "--check"]) == 0
    assert "Never PVC" in capsys.readouterr().err
    assert main(["send", str(proven(a_drawing())), "--to", "file:got.plt", "--check"]) == 0
    assert "Never PVC" not in capsys.readouterr().err


def test_a_spool_folder_gets_whole_jobs_only() -> None:
    Path("spool").mkdir()
    path = proven(a_drawing())
    assert main(["send", str(path), "--to", "spool:spool", "--yes"]) == 0
    assert main(["send", str(path), "--to", "spool:spool", "--yes"]) == 0
    assert sorted(path.name for path in Path("spool").iterdir()) == ["cloth-marker-2.plt", "cloth-marker.plt"]
    assert not list(path.parent.glob("*.journal"))  # a spooled job is whole or not there


_STARTED: list[subprocess.Popen[bytes]] = []


@pytest.fixture(autouse=True)
def none_left_running() -> Iterator[None]:
    """No sender outlives its test, also when that fails."""
    yield
    while _STARTED:
        process = _STARTED.pop()
        process.kill()
        process.wait()
        for pipe in (process.stdout, process.stderr):
            if pipe is not None:
                pipe.close()


def sending(*arguments: str) -> subprocess.Popen[bytes]:
    process = subprocess.Popen(
        [sys.executable, "-m", "cutroom", "send", *arguments],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    _STARTED.append(process)
    return process


def test_standard_output_carries_the_bytes_and_nothing_else() -> None:
    path = proven(a_drawing())
    process = sending(str(path), "--to", "output")
    out, said = process.communicate(timeout=60)
    assert process.returncode == 0, said
    assert out == path.read_bytes()


def in_the_middle(
    stand_ins: list[Standing], *, frames: int, strokes: int
) -> tuple[Standing, list[str], subprocess.Popen[bytes]]:
    """A machine that has begun so many strokes of a drawing, what `send` was told, and the sender at work."""
    path = proven(a_drawing(frames))
    standing = on_a_port(stand_ins, hurry=20)
    profile = a_profile(f'{SERIAL}"enquiry"')
    arguments = [str(path), "--to", str(profile), "--at", standing.address, "--yes"]
    process = sending(*arguments)
    until = time.monotonic() + 60
    while len(standing.machine.drawn) < strokes and time.monotonic() < until:
        time.sleep(0.01)
    assert len(standing.machine.drawn) >= strokes
    return standing, arguments, process


def test_killed_in_the_middle_it_goes_on_where_the_pen_is(
    stand_ins: list[Standing], capsys: pytest.CaptureFixture[str]
) -> None:
    standing, arguments, process = in_the_middle(stand_ins, frames=2, strokes=5)
    process.kill()
    process.communicate()
    assert main(["send", *arguments]) == 1  # not by mistake from the beginning
    capsys.readouterr()
    assert main(["send", *arguments, "--resume", "--no-marks"]) == 0
    said = capsys.readouterr().err
    assert said.startswith("It broke off before: clear a jam only with the emergency stop pressed or the power off")
    assert "never leave it running alone" in said
    difference = compare(standing.finished().drawn, drawn_by(Path(arguments[0]).read_bytes()))
    assert not difference.lost
    assert not difference.twice
    assert not difference.strange


def test_ctrl_c_stops_after_the_stroke_and_the_rest_follows(stand_ins: list[Standing]) -> None:
    standing, arguments, process = in_the_middle(stand_ins, frames=2, strokes=5)
    process.send_signal(signal.SIGINT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 130
    assert b"Stopped after stroke" in said
    assert not standing.machine.down  # the pen is up
    assert standing.machine.pen == 0  # and away
    assert read_journal(Path(f"{arguments[0]}.journal"))[-1]["what"] == "rested"
    assert main(["send", *arguments, "--resume", "--no-marks"]) == 0
    assert compare(standing.finished().drawn, drawn_by(Path(arguments[0]).read_bytes())).none


def test_a_pause_lifts_the_pen_and_goes_on(stand_ins: list[Standing]) -> None:
    standing, arguments, process = in_the_middle(stand_ins, frames=1, strokes=3)
    process.send_signal(signal.SIGTSTP)
    until = time.monotonic() + 30
    while not (standing.machine.idle and not standing.machine.down) and time.monotonic() < until:
        time.sleep(0.05)
    assert not standing.machine.down
    assert process.poll() is None
    process.send_signal(signal.SIGCONT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 0, said
    assert compare(standing.finished().drawn, drawn_by(Path(arguments[0]).read_bytes())).none


def test_a_network_machine_that_goes_away_ends_with_4_and_its_journal(capsys: pytest.CaptureFixture[str]) -> None:
    path = proven(a_drawing(4, strokes=2000))
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)

        def go_away() -> None:
            peer, _ = server.accept()
            peer.recv(3000)
            peer.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, b"\1\0\0\0\0\0\0\0")
            peer.close()

        thread = threading.Thread(target=go_away)
        thread.start()
        to = f"tcp:127.0.0.1:{server.getsockname()[1]}"
        assert main(["send", str(path), "--to", to, "--yes"]) == 4
        thread.join()
    assert "the machine is gone" in capsys.readouterr().err
    assert main(["send", str(path), "--to", to, "--resume", "--yes"]) == 1  # nobody knows what it had drawn
    assert "nobody knows how much the machine can hold" in capsys.readouterr().err


def test_two_senders_never_meet_on_one_machine(stand_ins: list[Standing]) -> None:
    standing, arguments, process = in_the_middle(stand_ins, frames=2, strokes=2)
    process.send_signal(signal.SIGTSTP)  # it keeps the machine while it rests
    other = proven(a_drawing(1), "other.plt")
    second = sending(str(other), *arguments[1:])
    _, said = second.communicate(timeout=60)
    assert second.returncode == 4
    assert f"process {process.pid} is sending to it".encode() in said
    process.send_signal(signal.SIGCONT)
    _, said = process.communicate(timeout=60)
    assert process.returncode == 0, said
    assert compare(standing.finished().drawn, drawn_by(Path(arguments[0]).read_bytes())).none


def test_a_program_of_g_words_is_sent_and_taken_up(stand_ins: list[Standing]) -> None:
    moves = "".join(f"G0 X{n} Y0\nM3 S500\nG1 X{n} Y10 F3000\nG1 X{n + 1} Y10\nM5\n" for n in range(30))
    path = proven(f"G21\nG90\n{moves}G0 X0 Y0\nM2\n".encode(), "cloth-cut.nc", kind="cut-gcode")
    assert main(["send", str(path), "--to", "file:rest.nc", "--from-stroke", "11"]) == 0
    rest = Path("rest.nc").read_bytes()
    wanted = drawn_by(path.read_bytes(), language="gcode")
    again = drawn_by(rest, language="gcode")
    assert [run.points for run in again] == [run.points for run in wanted[10:]]
    one = Standing(NetworkLink("127.0.0.1", 0), Machine(Kind(FAST, 512, language="gcode")), 200, 9600)
    stand_ins.append(one)
    assert main(["send", str(path), "--to", one.address, "--yes"]) == 0
    assert compare(one.finished().drawn, wanted).none


def test_the_stand_in_says_whether_it_drew_the_file() -> None:
    path = proven(a_drawing())
    command = [sys.executable, "-m", "cutroom", "stand-in", "--listen", "127.0.0.1:0", "--hurry", "500"]
    more = ["--quiet-s", "0.5", "--picture", "drew.svg", "--compare", str(path)]
    process = subprocess.Popen([*command, *more], stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)})
    _STARTED.append(process)
    assert process.stdout is not None
    address = process.stdout.readline().decode().strip()
    assert main(["send", str(path), "--to", address, "--yes"]) == 0
    out, _ = process.communicate(timeout=60)
    assert process.returncode == 0
    assert b"41 strokes" in out
    assert b"all strokes drawn, each once and in its place" in out
    assert Path("drew.svg").read_bytes().count(b"<polyline") == 41


def test_the_stand_in_takes_the_words_of_a_profile(capsys: pytest.CaptureFixture[str]) -> None:
    """A knife on an output of the machine's own: only its profile tells when it is down."""
    Path("table.toml").write_text(
        'unit = "mm"\nlanguage = "iso 6983"\nlength = 900\nwidth = 900\n[tools.knife]\nkind = "tangential knife"\n'
        'does = ["cut", "cutout"]\ndown = ["M64 P1", "G4 P0.1"]\nup = ["M65 P1", "G4 P0.1"]\n',
        encoding="utf-8",
    )
    moves = "".join(f"G0 X{n} Y0\nM64 P1\nG4 P0.1\nG1 X{n} Y10 F3000\nM65 P1\nG4 P0.1\n" for n in range(9))
    path = proven(f"G21\nG90\n{moves}M30\n".encode(), "cloth-cut.nc", kind="cut-gcode")
    command = [sys.executable, "-m", "cutroom", "stand-in", "--listen", "127.0.0.1:0", "--hurry", "500"]
    more = ["--quiet-s", "0.5", "--machine", "table.toml", "--compare", str(path)]
    process = subprocess.Popen([*command, *more], stdout=subprocess.PIPE, env={**os.environ, "PYTHONPATH": str(ROOT)})
    _STARTED.append(process)
    assert process.stdout is not None
    address = process.stdout.readline().decode().strip()
    assert main(["send", str(path), "--to", "table.toml", "--at", address, "--yes"]) == 0
    assert "Sent: 9 strokes" in capsys.readouterr().err
    out, _ = process.communicate(timeout=60)
    assert process.returncode == 0
    assert b"9 strokes" in out
    assert b"all strokes drawn, each once and in its place" in out


def test_the_stand_in_is_no_machine_that_takes_whole_files(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["stand-in", "--machine", "exchange-dxf"]) == 1
    assert "Name a machine that takes HPGL or ISO 6983" in capsys.readouterr().err
