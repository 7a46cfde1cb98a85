"""After a crash: what a journal knows, and what a machine that answers can add.

Between what the machine has surely carried out and what may have gone to it lie the passages in doubt. A machine that
can be asked first draws what it still holds; then the place of its pen says which passage was the last. Of one that
cannot be asked, work is begun again after the last passage that is surely drawn, and the strokes that may be drawn
twice are said; where the paper may have moved meanwhile, a person must look.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Any, BinaryIO

from cutroom.send.flow import Asked
from cutroom.send.items import Start, numbered
from cutroom.send.language import Language, Stop
from cutroom.send.sender import Item


@dataclass(frozen=True, slots=True)
class Standing:
    """What a journal says of the last sending.

    Attributes:
        sha256: Of the file that was sent.
        start: Where it began.
        done: Bytes that are surely carried out.
        seen: Bytes that are carried out unless the machine was switched off.
        ahead: Bytes that may have gone out.
        memory: Bytes that the machine can hold, or None when nobody knows.
        rested: The resting place at which it was stopped (bytes), or None. A machine that cannot be asked may still
            have had to draw what lies between `done` and it.
        whole: It was sent whole.
        damaged: Bytes came garbled after `seen`.
        off: The machine was switched off after `done`.
    """

    sha256: str
    start: Start
    done: int
    seen: int
    ahead: int
    memory: int | None
    rested: int | None = None
    whole: bool = False
    damaged: bool = False
    off: bool = False


def begun(sha256: str, start: Start, memory: int | None, *, done: int | None = None) -> dict[str, Any]:
    """The record with which a sending begins.

    Args:
        sha256: Of the file.
        start: Where it begins.
        memory: Bytes that the machine can hold, or None when nobody knows.
        done: Bytes that are surely carried out, when the machine may still have to draw some before the start.
    """
    keep = None if start.keep == float("-inf") else start.keep
    place = {"byte": start.byte, "strokes": start.strokes, "frame": start.frame, "keep": keep, "to": start.keep_to}
    sure = start.byte if done is None else min(done, start.byte)
    return {"what": "begun", "sha256": sha256, "start": place, "memory": memory, "done": sure}


def standing(records: list[dict[str, Any]]) -> Standing | None:
    """What the records of a journal come to; None when nothing was begun."""
    now: Standing | None = None
    for record in records:
        match record.get("what"):
            case "begun":
                place = record["start"]
                keep = float("-inf") if place["keep"] is None else float(place["keep"])
                start = Start(place["byte"], place["strokes"], place["frame"], keep, place["to"])
                now = Standing(record["sha256"], start, record["done"], record["done"], start.byte, record["memory"])
            case "ahead" if now is not None:
                done, seen = max(now.done, record["done"] or 0), max(now.seen, record["seen"] or 0)
                now = replace(now, done=done, seen=max(done, seen), ahead=max(now.ahead, record["byte"]))
            case "rested" if now is not None:
                now = replace(now, done=max(now.done, record["done"] or 0), ahead=record["byte"], rested=record["byte"])
            case "damaged" if now is not None:
                now = replace(now, seen=max(now.done, record["byte"] or 0), damaged=True)
            case "off" if now is not None:
                now = replace(now, seen=now.done, off=True)
            case "whole" if now is not None:
                now = replace(now, done=now.ahead, whole=True)
            case _:
                pass
    return now


@dataclass(frozen=True, slots=True)
class Found:
    """Where to begin again.

    Attributes:
        start: The place.
        doubt: First and last stroke that may be drawn already, or drawn wrong, or None when all is known.
        moved: The paper may or may not have moved on among them: a person must look.
    """

    start: Start
    doubt: tuple[int, int] | None = None
    moved: bool = False


def find_start(file: BinaryIO, language: Language, now: Standing, at: Callable[[], Stop | None]) -> Found:
    """Where to begin again after a sending that broke off.

    Args:
        file: The file, at its beginning.
        language: What it is in; it has read nothing yet.
        now: What the journal says.
        at: Asks the machine where its pen is, once it has drawn all it holds; None when it cannot tell.

    Returns:
        The place, and what is in doubt.
    """
    place = None
    if now.rested is not None:
        now = replace(now, done=now.rested, seen=now.rested)
    elif now.off or (place := at()) is None:
        now = replace(now, seen=now.done)
    before, window, trails = _window(file, language, now)
    starts = [before, *(_after(item, now) for item in window)]
    ends = [] if place is None or now.damaged else _candidates(window, trails[1:], place, trails[0])
    if not ends:
        ends = list(range(len(window) + 1))
    first, last = min(ends), max(ends)
    doubtful = window[first:last]
    strokes = sum(item.passage.strokes for item in doubtful)
    doubt = (starts[first].strokes + 1, starts[first].strokes + strokes) if strokes else None
    return Found(starts[first], doubt, any(item.passage.advances for item in doubtful))


def _window(file: BinaryIO, language: Language, now: Standing) -> tuple[Start, list[Item], list[list[Stop]]]:
    """The last sure place, the passages in doubt, and where the pen goes in each; first of all the stop before them."""
    before, window = Start(keep=now.start.keep, keep_to=now.start.keep_to), []
    trail: list[Stop] = []
    language.trail = trail
    trails: list[list[Stop]] = [[]]
    for item in numbered(language.passages(file)):
        stops = list(trail)
        trail.clear()
        if item.byte <= now.seen:
            before = _after(item, now)
            trails[0] = stops[-1:] or trails[0]
            continue
        if item.byte - len(item.passage.data) >= now.ahead:
            break
        if item.byte <= now.start.keep_to and item.passage.strokes and item.passage.high <= now.start.keep:
            continue
        window.append(item)
        trails.append(stops)
    return before, window, trails


def _after(item: Item, now: Standing) -> Start:
    frame = item.passage.frame + item.passage.advances
    return Start(item.byte, item.strokes, frame, now.start.keep, now.start.keep_to)


def _candidates(window: list[Item], trails: list[list[Stop]], place: Stop, before: list[Stop]) -> list[int]:
    """How many passages of the window may be drawn, given where the pen stands; empty when nothing fits."""
    x, y, down = place
    found = set()
    if before and before[0][:2] == (x, y) and (down == before[0][2] or not down):
        found.add(0)
    here = before[0] if before else None
    for index, (item, trail) in enumerate(zip(window, trails, strict=True)):
        if item.passage.advances and here is not None and here[:2] == (x, y) and not down:
            found |= {index, index + 1}
        for number, stop in enumerate(trail, start=1):
            if stop[:2] != (x, y):
                continue
            if number == len(trail) and (down == stop[2] or not down):
                found.add(index + 1)
            elif down == stop[2]:
                found.add(index)
        here = trail[-1] if trail else here
    return sorted(found)


def ask_place(gauge: Asked) -> Stop | None:
    """Let a machine draw what it still holds, then ask where its pen is.

    Args:
        gauge: The gauge of its line.

    Returns:
        The place (plotter units), or None when it cannot tell, or was switched off meanwhile and holds nothing.

    Raises:
        DeviceError: It does not come to an end with what it holds.
    """
    gauge.come_to_rest()
    if gauge.switched_on():
        return None
    answer = gauge.ask(b"OA;") or ""
    parts = list(_numbers(answer))
    return (parts[0], parts[1], parts[2] > 0) if len(parts) == 3 else None


def _numbers(answer: str) -> Iterator[float]:
    """The numbers at the start of an answer."""
    for part in takewhile(lambda text: text.strip().lstrip("-").replace(".", "", 1).isdigit(), answer.split(",")):
        yield float(part)
