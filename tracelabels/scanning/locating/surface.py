"""Maps from modules to pixels, of third order: what tube, tilt and lens do to a small label, to a tenth of a module.

A surface is an array of shape (10, 2): pixels (x, y) for each of the terms 1, u, v, uv, uu, vv, uuv, uvv, uuu, vvv,
where u runs right and v down across the symbol, both from -1 to 1. Several surfaces have the shape (n, 10, 2). The
first eight terms are the eight-node element of the finite element method (Zienkiewicz and Taylor, *The Finite Element
Method*, the serendipity family; from memory): four corners and four middles of sides determine them.
"""

from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tracelabels.scanning.sampling import ModuleMap
    from tracelabels.scanning.sampling.fixed_cells import FixedCells

TERMS: Final = 10
RIGHT: Final = 1
"""Term of u."""
DOWN: Final = 2
"""Term of v."""
CROSS: Final = 3
BOWS: Final = (4, 5)
"""Terms of uu and vv."""
THIRD: Final = (6, 7, 8, 9)
"""Terms of third order."""
EXPONENTS: Final = ((0, 0), (1, 0), (0, 1), (1, 1), (2, 0), (0, 2), (2, 1), (1, 2), (3, 0), (0, 3))
"""Of u and of v in each term."""
NODES: Final = np.array([(-1, -1), (0, -1), (1, -1), (1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0)], dtype=np.float64)
"""(u, v) of the corners and of the middles of the sides between them, clockwise from the top left."""


def powers(u: "NDArray[np.float64]", v: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return the terms at points, shape (n, 10)."""
    return np.stack([np.ones_like(u), u, v, u * v, u * u, v * v, u * u * v, u * v * v, u**3, v**3], axis=-1)


def powers_at(modules: "NDArray[np.float64]", cells: "FixedCells") -> "NDArray[np.float64]":
    """Return the terms at points in modules (right, down), shape (n, 2), of a shape."""
    return powers(2.0 * modules[:, 0] / cells.columns - 1.0, 2.0 * modules[:, 1] / cells.rows - 1.0)


def surface_through(nodes: "NDArray[np.float64]") -> "NDArray[np.float64]":
    """Return the surface through eight nodes, pixels of shape (8, 2) in the order of :data:`NODES`."""
    surface = np.zeros((TERMS, 2))
    surface[: len(NODES)] = _node_inverse() @ nodes
    return surface


@cache
def node_powers() -> "NDArray[np.float64]":
    """Return the terms at the eight nodes, shape (8, 10)."""
    return powers(NODES[:, 0], NODES[:, 1])


@cache
def _node_inverse() -> "NDArray[np.float64]":
    return np.asarray(np.linalg.inv(node_powers()[:, : len(NODES)]))


def module_side(surface: "NDArray[np.float64]", cells: "FixedCells") -> float:
    """Return the side, in pixels, of a square with the area of a module in the symbol's middle."""
    right, down = surface[RIGHT], surface[DOWN]
    area = abs(float(right[0] * down[1] - right[1] * down[0]))
    return max(float(np.sqrt(4.0 * area / (cells.rows * cells.columns))), 1e-3)


def module_steps(surfaces: "NDArray[np.float64]", cells: "FixedCells") -> "NDArray[np.float64]":
    """Return for each surface the pixels of one module right and one module down in its middle, shape (n, 2, 2)."""
    scale = np.array([2.0 / cells.columns, 2.0 / cells.rows])
    return np.asarray(surfaces[:, [RIGHT, DOWN]] * scale[:, np.newaxis])


def as_module_map(surface: "NDArray[np.float64]", cells: "FixedCells") -> "ModuleMap":
    """Return the map from modules to pixels that samplers take."""

    def place(modules: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return np.asarray(powers_at(modules, cells) @ surface)

    return place


def with_ends_moved(surface: "NDArray[np.float64]", cells: "FixedCells", *, modules: float) -> "NDArray[np.float64]":
    """Return a surface with each corner, and each side, moved along and back in either direction, shape (32, 10, 2).

    Args:
        surface: shape (10, 2).
        cells: of the shape.
        modules: how far.
    """
    shares = np.zeros((8, TERMS))
    for number, (u, v) in enumerate(NODES.tolist()):
        if u and v:
            shares[number, [0, RIGHT, DOWN, CROSS]] = np.array([1.0, u, v, u * v]) / 4.0
        else:
            shares[number, [0, RIGHT, DOWN]] = np.array([1.0, u, v]) / 2.0
    steps = module_steps(surface[np.newaxis], cells)[0]
    ways = np.concatenate([steps, -steps]) * modules
    return np.asarray(surface + shares[:, np.newaxis, :, np.newaxis] * ways[np.newaxis, :, np.newaxis, :]).reshape(
        -1, TERMS, 2
    )


def slipped(surface: "NDArray[np.float64]", cells: "FixedCells", *, modules: float) -> "NDArray[np.float64]":
    """Return a surface with its corners, sides and middles moved along and back in either direction, shape (36, 10, 2).

    Args:
        surface: shape (10, 2).
        cells: of the shape.
        modules: how far.
    """
    right, down = module_steps(surface[np.newaxis], cells)[0]
    middles = []
    for bow, step in zip(BOWS, (right, down), strict=True):
        moved = np.zeros((TERMS, 2))
        moved[0], moved[bow] = modules * step, -modules * step
        middles += [surface + moved, surface - moved]
    return np.concatenate([with_ends_moved(surface, cells, modules=modules), middles])


def slid_along(
    surfaces: "NDArray[np.float64]", slides: "NDArray[np.float64]", *, along_columns: bool
) -> "NDArray[np.float64]":
    """Return every surface with its u (or v) replaced by shift + scale u + warp (1 - u u), shape (n m, 10, 2).

    Terms of third order that would come of it are left out; where a warp is large they are settled later.

    Args:
        surfaces: shape (n, 10, 2).
        slides: shift, scale and warp, shape (m, 3).
        along_columns: whether v is replaced instead of u.
    """
    one, two, three, mixed, other_mixed, other, other_two = (
        (DOWN, 5, 9, 7, 6, RIGHT, 4) if along_columns else (RIGHT, 4, 8, 6, 7, DOWN, 5)
    )
    shift, scale, warp = (column[np.newaxis, :, np.newaxis] for column in slides.T)
    old = surfaces[:, np.newaxis]
    new = np.repeat(old, len(slides), axis=1)
    moved = shift + warp
    new[:, :, 0] = old[:, :, 0] + old[:, :, one] * moved + old[:, :, two] * shift**2
    new[:, :, one] = (old[:, :, one] + 2.0 * old[:, :, two] * shift) * scale
    new[:, :, two] = old[:, :, two] * scale**2 - old[:, :, one] * warp
    new[:, :, other] = old[:, :, other] + old[:, :, CROSS] * moved + old[:, :, mixed] * shift**2
    new[:, :, CROSS] = (old[:, :, CROSS] + 2.0 * old[:, :, mixed] * shift) * scale
    new[:, :, mixed] = old[:, :, mixed] * scale**2 - old[:, :, CROSS] * warp
    new[:, :, other_two] = old[:, :, other_two] + old[:, :, other_mixed] * moved
    new[:, :, other_mixed] = old[:, :, other_mixed] * scale
    new[:, :, three] = old[:, :, three] * scale**3
    return new.reshape(-1, TERMS, 2)
