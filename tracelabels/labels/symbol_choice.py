"""Choosing the symbol of each label in a run, without asking the whole question again for every label.

Labels of one run differ in their digits. Two payloads whose characters are of the same kinds in the same order take the
same number of codewords, so that what was chosen for the first serves for the second.
"""

import sys
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.errors import SymbolError
from tracelabels.identifiers import Payload
from tracelabels.labels.layouts import Layout
from tracelabels.labels.placed import PrintedSymbol
from tracelabels.lengths import Dots
from tracelabels.symbols import (
    ChosenSymbol,
    DataMatrixShape,
    Space,
    Symbol,
    Symbology,
    choose_symbol,
    write_data_matrix,
)

_KINDS: Final = {
    **dict.fromkeys(range(ord("0"), ord("9") + 1), "0"),
    **dict.fromkeys(range(ord("A"), ord("Z") + 1), "A"),
    **dict.fromkeys(range(ord("a"), ord("z") + 1), "a"),
}
_MOST_RECIPES: Final = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class _Recipe:
    """How the last payload of this kind was written.

    Attributes:
        shape: The Data Matrix size.
        x: Size of a module in dots.
        quarter_turns: Counter-clockwise quarter turns.
    """

    shape: DataMatrixShape
    x: Dots
    quarter_turns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnSymbol:
    """A symbol ready to be drawn.

    Attributes:
        modules: Its matrix after turning, True is dark.
        printed: The same, packed, for the list of placed labels.
    """

    modules: NDArray[np.bool_]
    printed: PrintedSymbol


class SymbolChooser:
    """Chooses and writes the symbols of one layout on one printer."""

    __slots__ = ("_dpi", "_layout", "_recipes", "_space", "_turns", "_warnings")

    def __init__(self, layout: Layout, *, dpi: int, quarter_turns: int) -> None:
        """Prepare for a layout.

        Args:
            layout: Its code's place is filled.
            dpi: The printer's resolution.
            quarter_turns: Counter-clockwise turns of the whole layout on the sheet.
        """
        place, tube = layout.symbol, layout.tube
        self._layout = layout
        self._dpi = dpi
        self._turns = quarter_turns
        self._space = Space(
            width=place.width,
            height=place.height,
            tube_diameter=tube.diameter if tube else None,
            axis=tube.axis if tube else None,
        )
        self._recipes: dict[tuple[str, bool], _Recipe] = {}
        self._warnings: dict[str, None] = {}

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return the sentences about limits that some symbol does not keep, each once."""
        return tuple(self._warnings)

    def write(self, payload: Payload) -> DrawnSymbol:
        """Write a payload as the largest symbol that fits the place.

        Raises:
            NoRoomError: If none fits; the sentence says what would.
            SymbolError: If no kind of symbol can carry the payload.
        """
        key = (payload.text.translate(_KINDS), payload.fnc1_first)
        recipe = self._recipes.get(key)
        if recipe is not None:
            try:
                symbol = write_data_matrix(payload, shape=recipe.shape)
            except SymbolError:
                pass  # the writer found another size necessary: ask the whole question
            else:
                return self._drawn(symbol, symbol.modules, recipe.x, recipe.quarter_turns)
        return self._write_anew(payload, key)

    def _write_anew(self, payload: Payload, key: tuple[str, bool]) -> DrawnSymbol:
        place = self._layout.symbol
        chosen = choose_symbol(
            payload,
            self._space,
            dpi=self._dpi,
            symbologies=place.symbologies,
            smallest_x=place.smallest_x,
            largest_x=place.largest_x,
        )
        self._warnings.update(dict.fromkeys(chosen.warnings))
        turns = (chosen.quarter_turns + self._turns) % 4
        if chosen.symbol.symbology is Symbology.DATA_MATRIX:
            if len(self._recipes) >= _MOST_RECIPES:
                self._recipes.clear()
            shape = DataMatrixShape(chosen.symbol.version)
            self._recipes[key] = _Recipe(shape=shape, x=chosen.x, quarter_turns=turns)
        return self._drawn(chosen.symbol, _as_matrix(chosen), chosen.x, turns)

    def _drawn(self, symbol: Symbol, modules: NDArray[np.bool_], x: Dots, turns: int) -> DrawnSymbol:
        turned = _turned(modules, turns)
        printed = PrintedSymbol(
            payload=symbol.payload,
            symbology_identifier=sys.intern(symbol.symbology_identifier),  # one text for all labels of a run
            version=sys.intern(symbol.version),
            rows=turned.shape[0],
            columns=turned.shape[1],
            bits=np.packbits(turned).tobytes(),
            x=x,
        )
        return DrawnSymbol(modules=turned, printed=printed)


def _turned(modules: NDArray[np.bool_], turns: int) -> NDArray[np.bool_]:
    """Turn counter-clockwise; the same as numpy's rot90, whose general checks cost more than the turning."""
    match turns:
        case 0:
            return modules
        case 1:
            return modules[:, ::-1].T
        case 2:
            return modules[::-1, ::-1]
        case _:
            return modules[::-1].T


def _as_matrix(chosen: ChosenSymbol) -> NDArray[np.bool_]:
    """Return the modules with a linear symbol's bars drawn out to their height in whole modules."""
    if chosen.bar_height is None:
        return chosen.symbol.modules
    return np.repeat(chosen.symbol.modules, max(1, chosen.bar_height // chosen.x), axis=0)
