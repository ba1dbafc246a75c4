"""Choosing a symbol and its module size for a free space, a printer and, where there is one, a tube."""

from contextlib import suppress
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from tracelabels.errors import NoRoomError, SymbolError
from tracelabels.identifiers import Payload
from tracelabels.lengths import Dots, Mm, dots_as_mm, whole_dots_within
from tracelabels.symbols.code_128 import CODE_128_QUIET_ZONE, write_code_128
from tracelabels.symbols.data_matrix import DATA_MATRIX_QUIET_ZONE, write_data_matrix
from tracelabels.symbols.data_matrix_shapes import DataMatrixShape, ShapeFamily, shapes_of
from tracelabels.symbols.placing import Bounds, Footprint, Need, Placing, find_placing, needs_of, whole_dots_over
from tracelabels.symbols.qr import MICRO_QR_QUIET_ZONE, QR_QUIET_ZONE, write_micro_qr, write_qr
from tracelabels.symbols.space import ChoicePolicy, ChosenSymbol, Space
from tracelabels.symbols.specifications import find_specification
from tracelabels.symbols.symbol import Symbol, Symbology

SMALLEST_X: Final = Mm(0.2)
"""Smaller modules are not offered unless asked for (common practice for thermal transfer labels, no source)."""

LARGEST_X: Final = Mm(0.99)
"""The largest X-dimension of table 6 of the GS1 symbol specifications."""

DEFAULT_POLICY: Final = ChoicePolicy()
DATA_MATRIX_ALONE: Final = (Symbology.DATA_MATRIX,)

_QUIET_ZONES: Final = {
    Symbology.QR: QR_QUIET_ZONE,
    Symbology.MICRO_QR: MICRO_QR_QUIET_ZONE,
    Symbology.CODE_128: CODE_128_QUIET_ZONE,
}
_ROUNDING: Final = 1e-6
_KIND_NAMES: Final = {"data_matrix": "Data Matrix", "qr": "QR", "micro_qr": "Micro QR", "code_128": "Code 128"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Option:
    """A size of symbol that may carry the payload, with its place.

    Attributes:
        kind: Kind of symbol.
        version: Its size by its standard's name.
        footprint: What it takes up.
        placing: Its best place; None if it does not fit.
    """

    kind: Symbology
    version: str
    footprint: Footprint
    placing: Placing | None


def choose_symbol(
    payload: Payload,
    space: Space,
    *,
    dpi: int,
    smallest_x: Mm = SMALLEST_X,
    largest_x: Mm = LARGEST_X,
    symbologies: tuple[Symbology, ...] = DATA_MATRIX_ALONE,
    policy: ChoicePolicy = DEFAULT_POLICY,
) -> ChosenSymbol:
    """Choose the symbol that can be printed largest, in whole printer dots.

    The order of preference: the largest X; on a tube a square (QR, too) counts with its X divided by
    ``policy.square_advantage``, so that a rectangle or a linear symbol lying along the tube is taken unless the square
    is clearly larger. Between equals the earlier of ``symbologies`` wins, then on a flat label the square, then the
    fewer modules, then the unturned one. On a tube no symbol reaches further round than one sixth of the circumference,
    and the long side always lies along the tube.

    Args:
        payload: What the symbol shall say.
        space: The free space, quiet zone included.
        dpi: Resolution of the printer in dots per inch.
        smallest_x: Smallest module that is acceptable.
        largest_x: Largest module that is wished.
        symbologies: Kinds that may be taken. Kinds that cannot carry the payload are passed over.
        policy: Preferences.

    Raises:
        NoRoomError: Nothing fits; the sentence says what would.
        SymbolError: The resolution is none, or none of the kinds can carry the payload.
    """
    bounds = _bounds(space, dpi, smallest_x, largest_x, policy)
    smallest = _write_smallest_of_each(payload, symbologies, policy)
    sizes = tuple((kind, symbol.version, symbol.columns) for kind, symbol in smallest.items())
    options = _ranked(sizes, bounds, policy)
    for option in options:
        if option.placing is not None and (symbol := _find_symbol(payload, option, smallest)) is not None:
            return _chosen(symbol, option.placing, dpi, policy)
    carriers = [option for option in options if _find_symbol(payload, option, smallest) is not None]
    raise _no_room(carriers, bounds) if carriers else _no_carrier(payload, symbologies)


def _bounds(space: Space, dpi: int, smallest_x: Mm, largest_x: Mm, policy: ChoicePolicy) -> Bounds:
    if dpi <= 0:
        raise SymbolError(
            given=f"a resolution of {dpi} dots per inch",
            expected="a positive number",
            remedy="give the printer's resolution, often 203, 300 or 600",
        )
    bounds = Bounds(
        space=space,
        dpi=dpi,
        smallest_x=Dots(max(1, whole_dots_over(smallest_x, dpi))),
        largest_x=whole_dots_within(largest_x, dpi),
        smallest_bar_height=policy.smallest_bar_height,
    )
    if bounds.largest_x < bounds.smallest_x:
        raise NoRoomError(
            given=f"modules of {smallest_x:.3f} to {largest_x:.3f} mm at {dpi} dpi",
            expected=f"a range that holds a whole number of dots of {dots_as_mm(1, dpi):.4f} mm",
            remedy="widen the range or use a printer with a finer resolution",
        )
    return bounds


def _write_smallest_of_each(
    payload: Payload, symbologies: tuple[Symbology, ...], policy: ChoicePolicy
) -> dict[Symbology, Symbol]:
    """Write the smallest symbol of each kind that can carry the payload, in the order of preference."""
    written = {}
    for kind in symbologies:
        with suppress(SymbolError):
            written[kind] = _write_smallest(payload, kind, policy)
    return written


def _write_smallest(payload: Payload, kind: Symbology, policy: ChoicePolicy) -> Symbol:
    match kind:
        case Symbology.DATA_MATRIX:
            return write_data_matrix(payload)
        case Symbology.QR:
            return write_qr(payload, level=policy.qr_level)
        case Symbology.MICRO_QR:
            return write_micro_qr(payload)
        case Symbology.CODE_128:
            return write_code_128(payload)


@lru_cache(maxsize=1024)
def _ranked(sizes: tuple[tuple[Symbology, str, int], ...], bounds: Bounds, policy: ChoicePolicy) -> tuple[_Option, ...]:
    """Return every size that may win, best first, from the smallest of each kind (kind, version, columns)."""
    options = [
        _Option(kind=kind, version=version, footprint=footprint, placing=find_placing(footprint, bounds))
        for kind, smallest, columns in sizes
        for version, footprint in _footprints(kind, smallest, columns, policy.shapes)
    ]
    kinds = [kind for kind, _, _ in sizes]
    on_tube = bounds.space.axis is not None

    def rank(option: _Option) -> tuple[float, int, bool, int]:
        footprint = option.footprint
        is_square = footprint.rows == footprint.columns
        x = 0 if option.placing is None else option.placing.x
        worth = x / policy.square_advantage if on_tube and is_square else x
        return -worth, kinds.index(option.kind), not is_square, footprint.rows * footprint.columns

    return tuple(sorted(options, key=rank))


def _footprints(
    kind: Symbology, smallest: str, columns: int, allowed: frozenset[DataMatrixShape]
) -> list[tuple[str, Footprint]]:
    """Return the sizes of a kind that may carry what its smallest symbol carries."""
    if kind is Symbology.DATA_MATRIX:
        return [
            (shape.value, Footprint(columns=shape.columns, rows=shape.rows, quiet_zone=DATA_MATRIX_QUIET_ZONE))
            for shape in _shapes_from(DataMatrixShape(smallest), allowed)
        ]
    rows = 0 if kind is Symbology.CODE_128 else columns
    return [(smallest, Footprint(columns=columns, rows=rows, quiet_zone=_QUIET_ZONES[kind]))]


def _shapes_from(smallest: DataMatrixShape, allowed: frozenset[DataMatrixShape]) -> list[DataMatrixShape]:
    """Return one square, and the rectangles that hold more than the square below the smallest that holds the text."""
    squares = shapes_of(ShapeFamily.SQUARE)
    place = squares.index(smallest)
    too_small = squares[place - 1].data_codewords if place else 0
    square = [shape for shape in squares[place:] if shape in allowed][:1]
    others = (*shapes_of(ShapeFamily.RECTANGLE), *shapes_of(ShapeFamily.EXTENDED))
    return square + [shape for shape in others if shape in allowed and shape.data_codewords > too_small]


def _find_symbol(payload: Payload, option: _Option, smallest: dict[Symbology, Symbol]) -> Symbol | None:
    """Write the symbol of an option, unless it is the smallest of its kind or turns out not to hold the text."""
    symbol = smallest[option.kind]
    if symbol.version == option.version:
        return symbol
    try:
        return write_data_matrix(payload, shape=DataMatrixShape(option.version))
    except SymbolError:
        return None


def _chosen(symbol: Symbol, placing: Placing, dpi: int, policy: ChoicePolicy) -> ChosenSymbol:
    return ChosenSymbol(
        symbol=symbol,
        x=placing.x,
        dpi=dpi,
        quarter_turns=placing.quarter_turns,
        bar_height=placing.bar_height,
        warnings=_warnings(symbol.symbology, placing, dpi, policy.table),
    )


@lru_cache(maxsize=1024)
def _warnings(kind: Symbology, placing: Placing, dpi: int, table: str) -> tuple[str, ...]:
    row = find_specification(table, kind)
    if row is None:
        return (f"GS1 symbol specification table {table} lists no limits for {_kind_name(kind)}",)
    x = dots_as_mm(placing.x, dpi)
    found = []
    if x < row.minimum - _ROUNDING:
        found.append(
            f"X {x:.3f} mm ({placing.x} dots at {dpi} dpi) is below the minimum of {row.title}: "
            f"minimum {row.minimum:.3f} mm, target {row.target:.3f} mm"
        )
    if x > row.maximum + _ROUNDING:
        found.append(
            f"X {x:.3f} mm ({placing.x} dots at {dpi} dpi) is above the maximum of {row.title}: "
            f"maximum {row.maximum:.3f} mm, target {row.target:.3f} mm"
        )
    if placing.bar_height is not None and row.bar_height is not None:
        height = dots_as_mm(placing.bar_height, dpi)
        if height < row.bar_height:
            found.append(f"bars of {height:.2f} mm are lower than {row.title} wishes: {row.bar_height:.2f} mm")
    return tuple(found)


def _no_carrier(payload: Payload, symbologies: tuple[Symbology, ...]) -> SymbolError:
    names = " or ".join(_kind_name(kind) for kind in symbologies) or "no kind of symbol"
    return SymbolError(
        given=f"a text of {len(payload.text)} characters for {names}",
        expected="a text that one of these can carry in the sizes allowed",
        remedy="shorten the text, or allow another kind or larger sizes",
    )


def _no_room(options: list[_Option], bounds: Bounds) -> NoRoomError:
    space, dpi = bounds.space, bounds.dpi
    needs = [(need, option) for option in options for need in needs_of(option.footprint, bounds)]
    tube = "" if space.tube_diameter is None else f" on a tube of {space.tube_diameter:.2f} mm"
    given = f"a free space of {space.width:.2f} x {space.height:.2f} mm{tube}"
    need, option = min(needs, key=lambda pair: _excess(pair[0], space))
    thicker = "" if need.diameter is None else f" and a tube of at least {need.diameter:.2f} mm"
    return NoRoomError(
        given=given,
        expected=f"at least {need.width:.2f} x {need.height:.2f} mm{thicker} at {dpi} dpi "
        f"with X {dots_as_mm(need.x, dpi):.3f} mm ({need.x} dots), as {_kind_name(option.kind)} {option.version}",
        remedy="give the symbol more room, shorten the text, or use a finer printer",
    )


def _excess(need: Need, space: Space) -> float:
    """Return by what factor the space falls short where it falls short most."""
    thickness = 0.0 if need.diameter is None or space.tube_diameter is None else need.diameter / space.tube_diameter
    return max(need.width / space.width, need.height / space.height, thickness)


def _kind_name(kind: Symbology) -> str:
    return _KIND_NAMES[kind]
