"""How large a symbol of a given number of modules can be printed in a space: whole printer dots, tube included."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from tracelabels.lengths import MM_PER_INCH, Dots, Mm, whole_dots_within
from tracelabels.symbols.space import Space, TubeAxis


@dataclass(frozen=True, slots=True, kw_only=True)
class Footprint:
    """What a symbol takes up before it is turned, in modules.

    Attributes:
        columns: Modules from left to right.
        rows: Modules from top to bottom; 0 for a linear symbol, whose bars take the height that is free.
        quiet_zone: Light modules on each side (of a linear symbol: left and right).
    """

    columns: int
    rows: int
    quiet_zone: int

    @property
    def is_linear(self) -> bool:
        """Say whether the height is free."""
        return self.rows == 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """What holds for every placing of one choice.

    Attributes:
        space: The free space.
        dpi: Resolution of the printer.
        smallest_x: Fewest dots of a module.
        largest_x: Most dots of a module.
        smallest_bar_height: Bars of a linear symbol are at least so high.
    """

    space: Space
    dpi: int
    smallest_x: Dots
    largest_x: Dots
    smallest_bar_height: Mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """A way to place a footprint.

    Attributes:
        x: Size of a module.
        quarter_turns: Counter-clockwise quarter turns, 0 or 1.
        bar_height: Height of the bars of a linear symbol, None for a matrix symbol.
        short_side_round: Whether the symbol lies on a tube with its long side along the axis.
    """

    x: Dots
    quarter_turns: int
    bar_height: Dots | None
    short_side_round: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """The least room for a footprint at the smallest module.

    Attributes:
        width: Width with quiet zone.
        height: Height with quiet zone.
        diameter: Thinnest tube, None on a flat label.
        x: The smallest module.
    """

    width: Mm
    height: Mm
    diameter: Mm | None
    x: Dots


def whole_dots_over(length: Mm, dpi: int) -> Dots:
    """Return how many whole printer dots cover a length (a rounding error of a millionth of a dot is forgiven)."""
    return Dots(math.ceil(length * dpi / MM_PER_INCH - 1e-6))


def turns_allowed(footprint: Footprint, space: Space) -> tuple[int, ...]:
    """Return the quarter turns worth trying: on a tube the long side lies along it, and a square needs no turn."""
    if footprint.rows == footprint.columns:
        return (0,)
    if space.axis is None:
        return (0, 1)
    return (0,) if (space.axis is TubeAxis.WIDTH) == (footprint.columns > footprint.rows) else (1,)


def find_placing(footprint: Footprint, bounds: Bounds) -> Placing | None:
    """Find the placing with the largest module, unturned if both are equal; None if nothing fits."""
    placings = [_place(footprint, bounds, turns) for turns in turns_allowed(footprint, bounds.space)]
    return max((placing for placing in placings if placing), key=lambda placing: placing.x, default=None)


def _place(footprint: Footprint, bounds: Bounds, turns: int) -> Placing | None:
    dpi = bounds.dpi
    run, rise = _sides_in_dots(bounds.space, dpi, turns)
    limits = [bounds.largest_x, run // (footprint.columns + 2 * footprint.quiet_zone)]
    arc = bounds.space.longest_arc
    longest_arc = rise if arc is None else whole_dots_within(arc, dpi)
    if footprint.is_linear:
        bar_height = Dots(min(rise, longest_arc))
        if bar_height < whole_dots_over(bounds.smallest_bar_height, dpi):
            return None
    else:
        bar_height = None
        limits.append(rise // (footprint.rows + 2 * footprint.quiet_zone))
        if arc is not None:
            limits.append(longest_arc // min(footprint.rows, footprint.columns))
    x = Dots(min(limits))
    if x < bounds.smallest_x:
        return None
    short_side_round = arc is not None and footprint.rows != footprint.columns
    return Placing(x=x, quarter_turns=turns, bar_height=bar_height, short_side_round=short_side_round)


def _sides_in_dots(space: Space, dpi: int, turns: int) -> tuple[Dots, Dots]:
    """Return the room along the symbol's columns and along its rows."""
    width, height = whole_dots_within(space.width, dpi), whole_dots_within(space.height, dpi)
    return (height, width) if turns else (width, height)


def needs_of(footprint: Footprint, bounds: Bounds) -> Iterator[Need]:
    """Yield the least room for each turn that is allowed."""
    dot = MM_PER_INCH / bounds.dpi
    x = bounds.smallest_x * dot
    margin = 2 * footprint.quiet_zone
    run = (footprint.columns + margin) * x
    if footprint.is_linear:
        rise = across_tube = whole_dots_over(bounds.smallest_bar_height, bounds.dpi) * dot
    else:
        rise = (footprint.rows + margin) * x
        across_tube = min(footprint.rows, footprint.columns) * x
    for turns in turns_allowed(footprint, bounds.space):
        width, height = (rise, run) if turns else (run, rise)
        yield Need(
            width=Mm(width),
            height=Mm(height),
            diameter=None if bounds.space.axis is None else Mm(6 * across_tube / math.pi),
            x=bounds.smallest_x,
        )
