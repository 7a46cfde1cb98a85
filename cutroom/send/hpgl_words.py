"""The words of HP-GL: commands out of a stream of bytes, their numbers, and the encoded polyline."""

import math
import re
from collections.abc import Iterator
from typing import BinaryIO

from cutroom.send.language import LONGEST, READ, not_of

MOVES = frozenset({"PU", "PD", "PA", "PR"})
DRAWING = frozenset({
    "AA", "AR", "AT", "BR", "BZ", "CI", "EA", "EP", "ER", "EW", "FP", "LB", "PB", "PE", "RA", "RR", "RT", "UC", "WG",
    "XT", "YT",
})  # fmt: skip
ADVANCES = frozenset({"PG", "FR", "AF", "AH", "NR"})
RESETS = frozenset({"IN", "DF", "BP"})
STATE = frozenset({
    "SP", "VS", "FS", "AS", "PW", "WU", "LT", "LA", "MC", "PT", "UL", "SM", "DT", "SI", "SR", "DI", "DR", "SL", "LO",
    "CA", "CS", "SA", "SS", "ES", "DV", "SC", "IP", "IW", "RO", "IR", "TD", "TR", "SV", "CR", "NP", "PC", "RF", "FT",
    "AC", "EC", "PS", "QL", "SB", "SD", "AD", "CF", "BL", "VN", "TL", "FI", "FN", "MT",
})  # fmt: skip
ASKS = frozenset({"OA", "OC", "OD", "OE", "OF", "OH", "OI", "OP", "OS", "OT", "OW", "CO"})
BLIND = frozenset({"PM", "CP", "DP", "DC"})
"""After these nobody but the machine knows where the pen is, or what it has drawn."""
_KNOWN = MOVES | DRAWING | ADVANCES | RESETS | STATE | ASKS | BLIND
_TEXT = frozenset({"LB", "PE", "CO"})
_COMMAND = re.compile(
    rb"[\s;]*+(?:([A-Za-z]{2})([^A-Za-z;\x1b]*+)(?:;\s*+)?|\x1b(?:%-?\d*+[A-Za-z]|\.[A-Za-z@()][\d;]*+:?))"
)
_UP = ord("<")
_HERE, _CHANGES = frozenset(b"<="), frozenset(b"7:>")
"""Flags of an encoded polyline: for the next pair alone, and for all that follows."""
_TAIL = b"\0\t\n\r ;\x1a"


def commands(file: BinaryIO) -> Iterator[tuple[int, str, bytes, bytes]]:
    """The commands of a file.

    Yields:
        Place of its first byte, name in capitals (empty for an escape or a file's tail), what follows the name, and
        its bytes as they stand. The last, joined, are the file.

    Raises:
        FileError: Something is none of the language's commands.
    """
    held, start, place, ended, terminator = b"", 0, 0, False, b"\x03"
    while True:
        found = _COMMAND.match(held, start)
        name = (found[1] or b"").decode("ascii").upper() if found else ""
        if found is None:
            end = -1
        else:
            end = _end_of_text(held, found.start(1), name, terminator) if name in _TEXT else found.end()
        if not ended and (end < 0 or end == len(held)):  # what follows may belong to it
            if len(held) - start > LONGEST:
                raise not_of("HPGL", place, held[start : start + 24], f"a command is longer than {LONGEST} bytes")
            block = file.read(READ)
            held, start, ended = held[start:] + block, 0, not block
            continue
        if start == len(held):
            return
        if found is None and not held[start:].strip(_TAIL):
            yield place, "", b"", held[start:]
            return
        if found is None or end < 0 or (name and name not in _KNOWN):
            raise not_of("HPGL", place, held[start:].lstrip()[:24])
        if name == "LB":
            rest = held[found.start(2) : end - 1]  # without what ends it
        else:
            rest = held[found.start(2) : end].rstrip().rstrip(b";") if name in _TEXT else found[2] or b""
        if name == "DT":
            terminator = rest[:1] or b"\x03"
        yield place, name, rest, held[start:end]
        place, start = place + end - start, end


def _end_of_text(held: bytes, start: int, name: str, terminator: bytes) -> int:
    """End of a command that holds text or code, or -1 when it is not in sight."""
    mark = terminator if name == "LB" else b";"
    after = start + 2
    if name == "CO" and held[after : after + 1] == b'"':
        after = held.find(b'"', after + 1)
        if after < 0:
            return -1
    return held.find(mark, after) + 1 or -1


def numbers(rest: bytes, place: int) -> list[float]:
    """The coordinates after a move, x and y in turn.

    Raises:
        FileError: Something is no number, or an x has no y.
    """
    try:
        values = list(map(float, rest.replace(b",", b" ").split()))
    except ValueError:
        raise not_of("HPGL", place, rest, f"{rest[:24].decode('latin-1')} holds what is no number") from None
    if len(values) % 2 or not all(map(math.isfinite, values)):
        raise not_of("HPGL", place, rest, "a move has an x without its y")
    return values


def decoded(code: bytes, place: int) -> Iterator[tuple[bool, bool, tuple[float, float]]]:
    """`(pen up, absolute, pair)` of an encoded polyline (HP-GL/2 reference: flags, then base 64 or base 32 digits)."""
    base, low, high, shift = 64, 63, 191, 0
    up = absolute = False
    waiting = ""
    value, weight = 0, 1
    pair: list[float] = []
    for byte in code:
        plain = byte & 0x7F
        if weight == 1 and plain in {0x3A, 0x3C, 0x3D, 0x3E, 0x37}:
            if plain == 0x37:
                base, low, high = 32, 63, 95
            elif plain == 0x3C:
                up = True
            elif plain == 0x3D:
                absolute = True
            else:
                waiting = "pen" if plain == 0x3A else "shift"
            continue
        byte = plain if base == 32 else byte
        if byte <= 32 or byte == 127 or 128 <= byte <= 160 or byte == 255:
            continue  # ignored between digits
        if low <= byte < low + base:
            value, weight = value + (byte - low) * weight, weight * base
            continue
        if not high <= byte < high + base:
            raise not_of("HPGL", place, bytes([byte]), "an encoded line holds what is no digit")
        value += (byte - high) * weight
        signed = -(value >> 1) if value & 1 else value >> 1
        value, weight = 0, 1
        if waiting:
            shift = signed if waiting == "shift" else shift
            waiting = ""
            continue
        pair.append(signed / 2.0**shift)
        if len(pair) == 2:
            yield up, absolute, (pair[0], pair[1])
            pair, up, absolute = [], False, False
    if pair or weight > 1:
        raise not_of("HPGL", place, code[-24:], "an encoded line is cut off")


def parted(code: bytes) -> list[bytes]:
    """An encoded polyline in parts of one run each, that one after the other draw the same.

    Flags at its very beginning are repeated; where the pen, the base or the fraction changes later, it stays whole.
    """
    start = 0
    while code[start : start + 1] in {b"7", b" ", b"\n", b"\r"}:
        start += 1
    beginning, rest = code[:start], code[start:]
    seven_bit = b"7" in beginning
    last, most = (95, 126) if seven_bit else (191, 254)
    cuts, flags, numbers, drawn = [0], 0, 0, False
    for index, byte in enumerate(rest):
        sign = byte & 127
        if sign in _CHANGES:
            return [code]
        if sign in _HERE:
            flags += 1
            if sign == _UP and drawn:
                cuts.append(index + 1 - flags)
                drawn = False
            continue
        if flags:
            numbers = -2 if any(one & 127 == _UP for one in rest[index - flags : index]) else 0
            flags = 0
        if last <= (sign if seven_bit else byte) <= most:
            numbers += 1
            drawn = drawn or numbers > 0
    return [beginning + rest[cut:end] for cut, end in zip(cuts, [*cuts[1:], len(rest)], strict=True)]
