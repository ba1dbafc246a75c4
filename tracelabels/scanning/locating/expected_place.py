"""Where a symbol is expected within an outline, and how far a map strays from there.

An outline joins the outermost marks. A Data Matrix has a light module in the corner between its clock tracks, and every
other one along them, so that the outline cuts that corner; a QR code has no finder in one corner. By how much it does
so was measured once, on simulated photographs of every kind of strain; it hardly depends on the size of the symbol.
"""

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

from tracelabels.scanning.locating.surface import NODES, TERMS, module_steps, node_powers, powers, surface_through
from tracelabels.scanning.sampling.fixed_cells import SymbolShape, fixed_cells
from tracelabels.symbols import Symbology

if TYPE_CHECKING:
    from numpy.typing import NDArray


# fmt: off
_MATRIX: Final = (
    (0.0, 0.25), (-0.45, 0.3), (-1.0, 0.35), (-0.25, 0.1), (-0.25, 0.0), (-0.05, 0.0), (0.1, 0.0), (0.0, 0.1),
)
_QUICK: Final = (
    (0.1, 0.1), (0.0, 0.2), (-0.15, 0.2), (-0.25, -0.2), (-0.45, -0.65), (-0.1, -0.25), (0.15, -0.2), (0.2, 0.0),
)
# fmt: on
_OUTLINED_AT: Final = {Symbology.DATA_MATRIX: _MATRIX, Symbology.QR: _QUICK, Symbology.MICRO_QR: _QUICK}
"""Modules (right, down) by which an outline's nodes lie away from the symbol's: medians of 410 and 96 outlines, half of
them within 0.3."""
_TOLD: Final = (NODES != 0.0).astype(np.float64)
"""Which way an outline tells where a node lies. A tube crowds modules: a middle may lie anywhere along its side."""
_FARTHEST: Final = 2.0
"""Squared modules: a node that strays further counts no more, an outline may be wrong in one corner."""


def expected_surface(outline: "NDArray[np.float64]", shape: SymbolShape) -> "NDArray[np.float64]":
    """Return the map that is expected within an outline.

    Args:
        outline: the surface through the outline's nodes, shape (10, 2).
        shape: what is held to be there.
    """
    return surface_through(_nodes_within(shape) @ outline)


@cache
def _nodes_within(shape: SymbolShape) -> "NDArray[np.float64]":
    """Return the outline's terms where the symbol's nodes are expected, shape (8, 10)."""
    cells = fixed_cells(shape)
    within = NODES - np.array(_OUTLINED_AT[shape.symbology]) * 2.0 / np.array([cells.columns, cells.rows])
    return powers(within[:, 0], within[:, 1])


def strayed(
    surfaces: "NDArray[np.float64]", expected: "NDArray[np.float64]", shape: SymbolShape
) -> "NDArray[np.float64]":
    """Return how far surfaces stray from the expected one: squared modules, the mean over the nodes, shape (n,)."""
    to_modules = _to_modules(expected, shape)
    modules = surfaces.reshape(-1, TERMS * 2) @ to_modules
    modules -= expected.reshape(TERMS * 2) @ to_modules
    np.square(modules, out=modules)
    return np.asarray(np.minimum(modules[:, ::2] + modules[:, 1::2], _FARTHEST).mean(axis=1))


def _to_modules(expected: "NDArray[np.float64]", shape: SymbolShape) -> "NDArray[np.float64]":
    """Return what makes of a surface's change the modules by which its nodes move, as far as they tell: (20, 16)."""
    (right_x, right_y), (down_x, down_y) = module_steps(expected[np.newaxis], fixed_cells(shape))[0].tolist()
    area = right_x * down_y - right_y * down_x
    to_module = np.array([[down_y, -right_y], [-down_x, right_x]]) / (area or 1e-9)
    told = node_powers().T[:, np.newaxis, :, np.newaxis] * _TOLD
    return np.asarray(told * to_module[np.newaxis, :, np.newaxis, :]).reshape(TERMS * 2, -1)
