"""A drawing sent to the stand-in through faults, taken up again after each as a person would, and compared.

Everything is in virtual time and follows from a seed: the drawing, the machine, its line and what goes wrong.
"""

import io
import re
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from cutroom.errors import DeviceError, FileError
from cutroom.job.devices import Device
from cutroom.job.proven import Copy
from cutroom.job.sending import Planned, Wanted
from cutroom.job.under_way import send_along
from cutroom.model.profile import Connection, Flow, Line
from cutroom.send.flow import DamageError
from cutroom.send.hpgl import Hpgl
from cutroom.send.items import Start, begun_at, from_stroke, numbered
from cutroom.send.journal import Journal, journal_of
from cutroom.send.language import contents_of
from cutroom.send.resume import Standing, standing
from cutroom.send.sender import Sent, Wish
from cutroom.standin.compare import Difference, Key, compare, drawn_by, key
from cutroom.standin.machine import Drawn, Kind, Machine
from cutroom.standin.motion import Motion
from tests.virtual_line import Killed, Plan, VirtualLine, World

FRAME = 200.0
FAULTS = ("kill", "power cut", "unplug", "power", "garble", "garbled answer", "jam", "slow", "storm", "stop", "none")


@dataclass
class Run:
    """One run and how it ended."""

    seed: int
    flow: Flow
    faults: list[str] = field(default_factory=list)
    legs: int = 0
    doubts: list[tuple[int, int]] = field(default_factory=list)
    looked: int = 0
    difference: Difference | None = None
    strokes: int = 0
    doubled_in_doubt: int = 0
    said: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)


def random_file(rng: np.random.Generator) -> bytes:
    """A drawing of a few frames, with dots, closed lines, pens in turn."""
    frames = []
    for _ in range(int(rng.integers(1, 4))):
        words = []
        pen = 0
        for _ in range(int(rng.integers(6, 25))):
            if (new := int(rng.integers(1, 4))) != pen and (rng.random() < 0.2 or not pen):
                pen = new
                words.append(f"SP{pen};")
            count = int(rng.integers(1, 30))
            points = rng.integers(0, 8000, (count + 1, 2))
            if rng.random() < 0.4 and count > 2:
                points[-1] = points[0]
            x, y, *rest = map(str, points.ravel().tolist())
            words.append(f"PU{x},{y};PD{','.join(rest)};")
        frames.append("".join(words))
    return f"IN;VS30;{'PU;PG;'.join(frames)}PU;SP0;PG;".encode()


def random_plan(rng: np.random.Generator, fault: str, size: int) -> Plan:
    """A fault at a random byte of the line."""
    at = int(rng.integers(1, max(2, size)))
    match fault:
        case "kill":
            return Plan(kill=at)
        case "power cut":
            return Plan(kill=at, kill_loses=True)
        case "unplug":
            return Plan(unplug=at)
        case "power":
            return Plan(power=at)
        case "garble":
            return Plan(garble=at)
        case "garbled answer":
            return Plan(garble_reply=int(rng.integers(0, 200)))
        case "jam":
            return Plan(jam=at)
        case "slow":
            return Plan(slow=at)
        case "storm":
            return Plan(storm=at)
        case _:
            return Plan()


@dataclass
class Hand:
    """A person who presses Ctrl-C after a while."""

    world: World
    stop_at: float | None = None

    def wish(self) -> Wish:
        return Wish.STOP if self.stop_at is not None and self.world.time >= self.stop_at else Wish.GO


def random_machine(rng: np.random.Generator, flow: Flow) -> Machine:
    motion = Motion(
        draw=float(rng.uniform(100, 600)), travel=float(rng.uniform(200, 900)),
        acceleration=float(rng.uniform(1000, 20000)), lift_s=float(rng.uniform(0, 0.2)), change_s=0.5, advance_s=1.0,
    )  # fmt: skip
    memory = int(rng.choice([60, 256, 1024, 4096]))
    return Machine(Kind(motion, memory, xon_xoff=flow is Flow.XON_XOFF, answers=flow is Flow.ENQUIRY))


def run(seed: int, folder: Path) -> Run:
    """One run: faults, resumes, and what was drawn in the end."""
    rng = np.random.default_rng(seed)
    flow = (Flow.ENQUIRY, Flow.ENQUIRY, Flow.XON_XOFF, Flow.RTS_CTS)[int(rng.integers(0, 4))]
    result = Run(seed, flow)
    data = random_file(rng)
    path = folder / "job.plt"
    path.write_bytes(data)
    journal_of(path).unlink(missing_ok=True)
    machine = random_machine(rng, flow)
    world = World(
        machine, baud=int(rng.choice([1200, 4800, 9600, 38400])), held_most=int(rng.choice([64, 1024, 4096])),
        hardware=flow is Flow.RTS_CTS, obeys_xoff=flow is Flow.XON_XOFF,
    )  # fmt: skip
    connection = Connection(
        Line.SERIAL, "virtual", world.baud, flow=flow, answer_s=2.0, patience_s=40.0,
        buffer_bytes=None if flow is Flow.ENQUIRY else machine.kind.memory,
    )  # fmt: skip
    faults = [f for f in rng.choice(FAULTS, int(rng.integers(1, 4))) if flow is Flow.ENQUIRY or f not in _ASKED_ONLY]
    crosses: list[Drawn] = []
    for fault in [*faults, "none", "none", "none"]:
        result.faults.append(str(fault))
        result.legs += 1
        world.plan = random_plan(rng, fault, len(data))
        world.carried = world.said = 0
        hand = Hand(world, world.time + float(rng.uniform(0, 20)) if fault == "stop" else None)
        sent, journal = _leg(result, data, path, world, connection, hand, crosses)
        if sent is not None and sent.whole:
            break
        _after(rng, world, journal, flow, rested=sent is not None)
    machine.clear(world.time)
    while world.held or not machine.idle:
        world.pass_to(world.time + 600)
    damaged = bool({"garble", "power"} & set(result.faults))
    _judge(result, data, machine, crosses, damaged=damaged)
    return result


_ASKED_ONLY = {"power", "garble", "garbled answer"}
"""Faults that only a machine that can be asked lets anybody notice."""


def _leg(
    result: Run, data: bytes, path: Path, world: World, connection: Connection, hand: Hand, crosses: list[Drawn]
) -> tuple[Sent | None, Journal]:
    """Send as `cutroom send` does, from where the journal says, until it is whole or breaks off."""
    journal = Journal(journal_of(path))
    known, now = len(journal.records), standing(journal.records)
    contents = contents_of(_hpgl().passages(io.BytesIO(data)))
    planned = Planned(
        Copy(path, io.BytesIO(data), len(data), "x", "marker-hpgl", proven=True),
        Wanted("virtual", resume=now is not None),
        connection,
        Device("virtual", connection, FRAME, 1, "PU;SP0;PG;", None, cuts=False, takes=Hpgl.name),
        _hpgl,
        contents,
        Start() if now is None else None,
        now,
        (),
    )

    def hear(words: str) -> None:
        if (doubt := re.match(r"Strokes (\d+) to (\d+) went to the machine", words)) is not None:
            assert now is None or now.rested is None
            result.doubts.append((int(doubt[1]), int(doubt[2])))
        lay = re.match(r"Lay the paper so that the start line of frame (\d+)", words)
        if lay is not None and now is not None and (now.damaged or now.off or "power" in result.faults):
            world.machine.frame = int(lay[1]) - 1  # the paper is laid as the words say

    def send(what: Planned) -> Sent:
        return send_along(what, VirtualLine(world), journal, control=hand, tell=None, say=hear, clock=world)

    try:
        try:
            return send(planned), journal
        except FileError as fault:
            assert now is not None
            return send(_looked(result, data, world, planned, now, fault)), journal
    except Killed:
        result.said.append("killed")
    except DeviceError as fault:
        result.said.append(str(fault))
        if isinstance(fault, DamageError) and "may be drawn wrong" not in fault.what:
            result.wrong.append("garbled letters were seen and no stroke was named")
    finally:
        for record in journal.records[known:]:
            if (then := standing([record])) is not None:
                crosses += drawn_by(begun_at(io.BytesIO(data), _hpgl(), contents, then.start, marks=True)[0])
    return None, journal


def _hpgl() -> Hpgl:
    return Hpgl(frame_mm=FRAME)


def _looked(result: Run, data: bytes, world: World, planned: Planned, now: Standing, fault: FileError) -> Planned:
    """What is planned anew when a person was told to look which frame lies under the pen, and did."""
    said = re.search(r"say --from-frame (\d+); if not, --from-stroke (\d+)", fault.fix)
    assert said is not None, fault
    result.looked += 1
    items = list(numbered(_hpgl().passages(io.BytesIO(data))))
    last = max(item.strokes for item in items if item.byte <= now.ahead)
    result.doubts.append((int(said[2]), last))
    frame, drawn = world.machine.frame, {key(stroke) for stroke in world.machine.drawn}
    whole = all(key(stroke) in drawn for stroke in drawn_by(data) if stroke.frame < frame)
    if frame + 1 < int(said[1]) or not whole:
        start, wanted = from_stroke(iter(items), int(said[2])), Wanted("virtual", stroke=int(said[2]))
    else:
        item = [item for item in items if item.passage.advances][frame - 1]
        start, wanted = Start(item.byte, item.strokes, frame), Wanted("virtual", frame=frame + 1)
    return replace(planned, start=start, wanted=wanted)


def _after(rng: np.random.Generator, world: World, journal: Journal, flow: Flow, *, rested: bool) -> None:
    """What a person does after a fault, as the words say: cable in, jam cleared, machine off and on if it is dumb."""
    journal.close()
    size = journal.path.stat().st_size
    if world.plan.kill_loses and size > journal.safe:
        with journal.path.open("r+b") as file:  # a power cut: what was not forced to the disk is torn anywhere
            file.truncate(int(rng.integers(journal.safe, size + 1)))
    elif world.plan.kill is not None and rng.random() < 0.5:
        with journal.path.open("ab") as file:  # killed while it wrote a line
            file.write(b'0badc0de {"what":"ahe'[: int(rng.integers(1, 21))])
    world.pass_to(world.time + float(rng.uniform(0, 30)))
    world.plugged = True
    world.machine.clear(world.time)
    world.machine.slow = 1.0
    if flow is not Flow.ENQUIRY and not rested:
        world.held.clear()
        world.machine.switch_off_and_on(world.time)
        world.xoff = False
    world.replies.clear()


def _judge(result: Run, data: bytes, machine: Machine, crosses: list[Drawn], *, damaged: bool) -> None:
    wanted = drawn_by(data)
    result.strokes = len(wanted)
    keys = [key(stroke) for stroke in wanted]
    difference = result.difference = compare(machine.drawn, wanted, besides=crosses)

    def in_doubt(one: Key) -> bool:
        return any(first <= number + 1 <= last for first, last in result.doubts for number in [keys.index(one)])

    doubled = [one for one in difference.twice if in_doubt(one)]
    result.doubled_in_doubt = len(doubled)
    if difference.lost:
        result.wrong.append(f"{len(difference.lost)} lost")
    if len(doubled) < len(difference.twice):
        result.wrong.append(f"{len(difference.twice) - len(doubled)} drawn twice that were not said to be in doubt")
    if difference.strange and not damaged:
        result.wrong.append(f"{len(difference.strange)} not of the file")
    if machine.overflowed and not damaged:
        result.wrong.append(f"{machine.overflowed} bytes ran over")
