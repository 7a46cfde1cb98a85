"""The way to a machine, as its profile says it."""

from cutroom.errors import ProfileError
from cutroom.model.profile import Connection, Flow, Line, Parity
from cutroom.read.reading import Reading, echo, listed
from cutroom.read.shapes import ConnectionShape

_BAUDS = (300, 600, 1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200, 230400, 460800, 921600)
_DEFAULTS = Connection(Line.SERIAL)


def read_connection(reading: Reading, raw: dict[str, object]) -> Connection | None:
    """The `[connection]` of a profile; None after noting what is wrong with it."""
    shape = reading.table(ConnectionShape, raw, "connection")
    why = "nothing is sent without knowing on what line"
    line = reading.asked(
        reading.word(Line, shape.line, "connection.line", ProfileError), "connection.line", why,
        f"one of {listed(Line)}",
    )  # fmt: skip
    flow = reading.word(Flow, shape.flow, "connection.flow", ProfileError)
    parity = reading.word(Parity, shape.parity, "connection.parity", ProfileError)
    if line is Line.SERIAL:
        reading.asked(
            shape.flow, "connection.flow", "a machine that cannot say stop loses strokes", f"one of {listed(Flow)}"
        )
    elif line is not None:
        _only_serial(reading, shape, line)
    if shape.baud is not None and shape.baud not in _BAUDS:
        reading.fault(
            "connection.baud", f"{shape.baud} is no speed of a serial line", f"Write one of {listed(map(str, _BAUDS))}"
        )
    if shape.buffer_bytes is not None and not 1 <= shape.buffer_bytes <= 1 << 30:
        reading.fault(
            "connection.buffer_bytes", f"{shape.buffer_bytes} is no size of a memory", "Write its bytes, 1 or more"
        )
    seconds = {}
    for key in ("answer_s", "patience_s"):
        value = getattr(shape, key)
        seconds[key] = float(getattr(_DEFAULTS, key) if value is None else value)
        if not 0 < seconds[key] <= 86400:
            reading.fault(
                f"connection.{key}", f"{echo(value)} is not a time in seconds", "Write one above 0, at most a day"
            )
    if line is None:
        return None
    return Connection(
        line=line,
        address=(shape.address or "").strip(),
        baud=shape.baud or _DEFAULTS.baud,
        parity=parity or _DEFAULTS.parity,
        flow=flow or _DEFAULTS.flow,
        buffer_bytes=shape.buffer_bytes,
        answer_s=seconds["answer_s"],
        patience_s=seconds["patience_s"],
    )


def _only_serial(reading: Reading, shape: ConnectionShape, line: Line) -> None:
    """Keys that say nothing on this line are noted, so that nobody believes in them."""
    for key, said in (("baud", shape.baud), ("parity", shape.parity)):
        if said is not None:
            reading.fault(f"connection.{key}", f"a {line} line has none", "Leave it out")
    if shape.flow not in {None, Flow.NONE, Flow.ENQUIRY if line is Line.NETWORK else Flow.NONE}:
        reading.fault("connection.flow", f"a {line} line has no {shape.flow}", 'Write "none" or leave it out')
