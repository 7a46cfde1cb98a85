"""The grade rules of pieces that are given by points."""

from cutroom.errors import OrderError
from cutroom.model.grading import GradeRule, Grading, NotchGrade
from cutroom.read.reading import Reading, echo, joined
from cutroom.read.shapes import GradeRuleShape, GradingShape


def read_grading(reading: Reading, raw: object, place: str) -> Grading | None:
    """Grade rules, or None after noting what is wrong with them.

    Args:
        reading: The file being read.
        raw: The table.
        place: Where it stands.
    """
    before = len(reading.found)
    shape = reading.table(GradingShape, raw, place)
    base = reading.asked(shape.base, joined(place, "base"), "the pieces are drawn in one size", 'base = "12"')
    sizes = reading.asked(
        shape.sizes or None, joined(place, "sizes"), "rules step from size to size", 'sizes = ["10", "12", "14"]'
    )
    names = tuple(str(size) for size in sizes or ())
    if base is not None and names:
        reading.known(str(base), names, joined(place, "base"), "size", OrderError)
    if len(set(names)) < len(names):
        reading.fault(joined(place, "sizes"), "a size is there twice", "Name each once, small to large", OrderError)
    notches = reading.word(NotchGrade, shape.notches, joined(place, "notches"), OrderError)
    rules = [
        _read_rule(reading, one, f"{place}, rule {number}", len(names) - 1)
        for number, one in enumerate(shape.rules or (), start=1)
    ]
    good = tuple(rule for rule in rules if rule is not None)
    places = [(rule.piece, frozenset(rule.point)) for rule in good]
    for number, one in enumerate(places, start=1):
        if one in places[: number - 1]:
            reading.fault(f"{place}, rule {number}", "its turn point has a rule already", "Keep one", OrderError)
    if len(reading.found) > before:
        return None
    return Grading(str(base), names, good, notches or NotchGrade.SHARE)


def _read_rule(reading: Reading, raw: object, place: str, count: int) -> GradeRule | None:
    before = len(reading.found)
    shape = reading.table(GradeRuleShape, raw, place)
    piece = reading.asked(shape.piece, joined(place, "piece"), "it moves a point of a piece", 'piece = "front"')
    point = reading.asked(
        shape.point, joined(place, "point"), "it moves one turn point", 'point = ["side", "hem"], the edges that meet'
    )
    if point is not None and (len(point) != 2 or point[0] == point[1]):
        what = f"{echo(list(point))} is not two edges"
        reading.fault(joined(place, "point"), what, "Name the two edges that meet there", OrderError)
    if (shape.step is None) == (shape.steps is None):
        what = "it has step and steps as well" if shape.step is not None else "it says not how far"
        reading.fault(place, what, 'Write step = ["1/4", 0], or steps with one pair for each step', OrderError)
    step = None if shape.step is None else reading.point(shape.step, joined(place, "step"))
    listed = None if shape.steps is None else reading.points(shape.steps, joined(place, "steps"))
    if listed is not None and len(listed) != count:
        what = f"it has {len(listed)} steps for {count + 1} sizes"
        reading.fault(joined(place, "steps"), what, f"Write {count}: one from each size to the next", OrderError)
    if len(reading.found) > before or piece is None or point is None:
        return None
    steps = (
        (step,) * count
        if step is not None
        else tuple((float(x), float(y)) for x, y in (() if listed is None else listed))
    )
    return GradeRule(piece, (point[0], point[1]), steps)
