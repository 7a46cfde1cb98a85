"""What a line to a machine is called on the command line."""

from cutroom.errors import DeviceError
from cutroom.model.profile import Line

RAW_PORT = 9100
"""The port on which printers and plotters take a plain stream (common practice, no source)."""
_OUTPUT = {"output", "-"}
_PREFIXES = {
    "serial": Line.SERIAL,
    "tcp": Line.NETWORK,
    "spool": Line.SPOOL,
    "file": Line.FILE,
}


def names_a_line(text: str) -> bool:
    """It is the address of a line, such as `tcp:plotter:9100`, not the name of a profile."""
    return text in _OUTPUT or (text.partition(":")[0] in _PREFIXES and ":" in text)


def parse_address(text: str) -> tuple[Line, str]:
    """The line and the address of `serial:/dev/ttyS0`, `tcp:host:9100`, `spool:folder`, `file:path` or `output`.

    Raises:
        DeviceError: It is none of these.
    """
    if text in _OUTPUT:
        return Line.OUTPUT, ""
    prefix, _, address = text.partition(":")
    address = address.strip()
    if prefix not in _PREFIXES or not address:
        raise DeviceError(
            f'"{text}" is not the address of a machine',
            "Write serial:PORT, tcp:HOST:PORT, spool:FOLDER, file:PATH, or output for standard output",
        )
    if _PREFIXES[prefix] is Line.NETWORK:
        split_host(address)
    return _PREFIXES[prefix], address


def split_host(address: str, *, least: int = 1) -> tuple[str, int]:
    """Host and port of `host`, `host:9100`, `[::1]:9100`.

    Args:
        address: What was written.
        least: Least port; 0 lets a listener have any that is free.

    Raises:
        DeviceError: There is no host, or the port is no port.
    """
    host, colon, port = address.rpartition(":")
    if not colon or (address.startswith("[") and address.endswith("]")):
        host, port = address, str(RAW_PORT)
    host = host.removeprefix("[").removesuffix("]")
    if not host or not port.isascii() or not port.isdigit() or not least <= int(port) < 65536:
        raise DeviceError(
            f'"{address}" is not a host and a port', f"Write it as 192.168.0.9:{RAW_PORT} or plotter:{RAW_PORT}"
        )
    return host, int(port)
