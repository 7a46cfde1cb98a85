"""The blocks there are, and one way to have any of them drafted."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from cutroom.draft import blouse, bodice, pocket, pocket_bag, skirt, sleeve, trousers
from cutroom.draft.measurements import check_measures, plain_name
from cutroom.draft.options import Option, Told, read_options
from cutroom.draft.variations import sleeve_recipe
from cutroom.errors import CutroomError, DraftError, FaultsError, raise_all
from cutroom.model.alteration import Step
from cutroom.model.finding import Finding
from cutroom.model.order import StyleAsked, Wearer
from cutroom.model.piece import Style

Draw = Callable[[str, str, Mapping[str, float], Told], Style]
Recipe = Callable[[Style, Mapping[str, float], Told], tuple[Step, ...]]


@dataclass(frozen=True, slots=True)
class Block:
    """Something that can be drafted.

    Attributes:
        name: As job files write it.
        needs: Measurements it cannot do without.
        options: What it may be told.
        draw: Drafts it: name of the style, size, measurements (mm), options.
        recipe: Steps that make a variation of it, from the drafted style, measurements and options.
    """

    name: str
    needs: tuple[str, ...]
    options: tuple[Option, ...]
    draw: Draw
    recipe: Recipe | None = None


def draft(asked: StyleAsked, wearer: Wearer) -> Style:
    """Draft a style for a wearer. Every edge comes out without allowance.

    Args:
        asked: The style of the job; its block and options are read.
        wearer: Whose measurements (mm).

    Returns:
        The style on its seam lines, with the lines of its draft sheet.

    Raises:
        DraftError: The block or an option is not known, measurements are missing, or no piece comes of them.
        FaultsError: Several of these.
    """
    block = _block(asked)
    check_measures(wearer.measures, block.needs, place=wearer.code)
    told = read_options(asked.options, block.options, place=asked.name)
    measures = {plain_name(name): value for name, value in wearer.measures.items()}
    try:
        return block.draw(asked.name, wearer.code, measures, told)
    except DraftError as error:
        raise error.at(place=f"{asked.name} for {wearer.code}") from None


def recipe(asked: StyleAsked, wearer: Wearer, style: Style) -> tuple[Step, ...]:
    """The alterations that make the variation a style asks for, such as a bell sleeve, out of its block.

    Args:
        asked: The style of the job.
        wearer: Whose measurements (mm).
        style: What `draft` made of these.

    Returns:
        The steps, in order; none when the block is wanted as it is.

    Raises:
        DraftError: The block does not allow for it.
    """
    block = _block(asked)
    if block.recipe is None:
        return ()
    told = read_options(asked.options, block.options, place=asked.name)
    measures = {plain_name(name): value for name, value in wearer.measures.items()}
    try:
        return block.recipe(style, measures, told)
    except DraftError as error:
        raise error.at(place=f"{asked.name} for {wearer.code}") from None


def judge(asked: StyleAsked, wearer: Wearer) -> None:
    """Whether a style can be drafted from a wearer's measurements, as far as names go.

    Raises:
        DraftError: The block or an option is not known, or measurements are missing.
        FaultsError: Several of these.
    """
    block = _block(asked)
    faults: list[CutroomError] = []
    for check in (
        lambda: check_measures(wearer.measures, block.needs, place=wearer.code),
        lambda: read_options(asked.options, block.options, place=asked.name),
    ):
        try:
            check()
        except FaultsError as several:
            faults.extend(several.faults)
        except CutroomError as fault:
            faults.append(fault)
    raise_all(faults)


def check_wearer(asked: StyleAsked, wearer: Wearer) -> tuple[Finding, ...]:
    """What is odd about the measurements a style is to be drafted from.

    Raises:
        DraftError: As `draft`, for the block and the measurements.
    """
    return check_measures(wearer.measures, _block(asked).needs, place=wearer.code)


def _block(asked: StyleAsked) -> Block:
    block = BLOCKS.get(plain_name(asked.block))
    if block is None:
        raise DraftError(
            f'there is no block "{asked.block}"', f"Name one of {', '.join(BLOCKS)}", place=f'style "{asked.name}"'
        )
    return block


def _sleeve(name: str, size: str, measures: Mapping[str, float], told: Told) -> Style:
    front, back = told.length("armhole front"), told.length("armhole back")
    armhole = None
    if front > 0 and back > 0:
        armhole = sleeve.Armhole(front, back, told.length("front notch"), told.length("back notch"))
    elif front != 0 or back != 0:
        raise DraftError("only one half of the armhole is given", "Give armhole front and armhole back, or neither")
    piece, facts = sleeve.draft_sleeve(measures, told, armhole)
    return Style(name, size, (piece,), blouse.sleeve_seams(0.0)[1:], facts)


def _bodice(name: str, size: str, measures: Mapping[str, float], told: Told) -> Style:
    front, back, facts = bodice.draft_bodice(measures, told)
    return Style(name, size, (front, back), blouse.body_seams(told.length("shoulder ease")), facts)


def _sleeve_recipe(style: Style, measures: Mapping[str, float], told: Told) -> tuple[Step, ...]:
    return sleeve_recipe(style.piece("sleeve"), measures, told)


BLOCKS: Mapping[str, Block] = {
    block.name: block
    for block in (
        Block("sleeve", sleeve.NEEDS, sleeve.OPTIONS, _sleeve, _sleeve_recipe),
        Block("bodice", bodice.NEEDS, bodice.OPTIONS, _bodice),
        Block("blouse", blouse.NEEDS, blouse.OPTIONS, blouse.draft_blouse, _sleeve_recipe),
        Block("skirt", skirt.NEEDS, skirt.OPTIONS, skirt.draft_skirt, skirt.skirt_recipe),
        Block("trousers", trousers.NEEDS, trousers.OPTIONS, trousers.draft_trousers),
        Block("patch pocket", (), pocket.OPTIONS, pocket.draft_pocket),
        Block("pocket bag", (), pocket_bag.OPTIONS, pocket_bag.draft_pocket_bag),
    )
}
"""Every block by name."""
