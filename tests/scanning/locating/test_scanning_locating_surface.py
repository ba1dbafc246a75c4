"""Maps of third order: moved about by terms, against the polynomial evaluated at the moved place."""

import numpy as np
import pytest

from tracelabels.scanning.locating.surface import (
    EXPONENTS,
    NODES,
    TERMS,
    as_module_map,
    module_side,
    module_steps,
    powers,
    slid_along,
    slipped,
    surface_through,
    with_ends_moved,
)
from tracelabels.scanning.sampling import SymbolShape
from tracelabels.scanning.sampling.fixed_cells import fixed_cells
from tracelabels.symbols import Symbology

LONG = fixed_cells(SymbolShape(symbology=Symbology.DATA_MATRIX, version="12x36"))
SQUARE = fixed_cells(SymbolShape(symbology=Symbology.DATA_MATRIX, version="18x18"))
GRID = np.linspace(-1, 1, 9)
# Terms in order: 1, u, v, uv, uu, vv, uuv, uvv, uuu, vvv. Which may be there for a slide of u to be exact, by hand:
# without a warp u' is linear and only uuu with a shift has no room; a warp makes uu of u, uuv of uv, and no more fits.
EXACT = {
    "shift and scale": ((0, 1, 2, 3, 4, 5, 6, 7, 9), [(0.13, 0.9, 0.0), (-0.2, 1.15, 0.0)]),
    "scale of the third order": (tuple(range(TERMS)), [(0.0, 0.85, 0.0), (0.0, 1.2, 0.0)]),
    "warp": ((0, 1, 2, 3, 5, 9), [(0.1, 0.95, 0.3), (-0.05, 1.1, -0.2)]),
}
SWAPPED = [0, 2, 1, 3, 5, 4, 7, 6, 9, 8]  # the same terms with u for v


def chance_surfaces(count, terms=tuple(range(TERMS))):
    surfaces = np.zeros((count, TERMS, 2))
    surfaces[:, terms] = np.random.default_rng(4).normal(size=(count, len(terms), 2)) * 20
    return surfaces


def grid():
    u, v = (axis.ravel() for axis in np.meshgrid(GRID, GRID))
    return u, v


def plane(cells, right, down, origin=(0.0, 0.0)):
    """Return the surface of a plane whose module steps are these pixels."""
    half_right, half_down = np.multiply(right, cells.columns / 2), np.multiply(down, cells.rows / 2)
    surface = np.zeros((TERMS, 2))
    surface[:3] = np.add(origin, half_right + half_down), half_right, half_down
    return surface


def test_terms_are_products_of_the_powers_of_their_exponents():
    u, v = np.random.default_rng(4).uniform(-1, 1, (2, 20))
    assert powers(u, v) == pytest.approx(np.stack([u**of_u * v**of_v for of_u, of_v in EXPONENTS], axis=-1))


def test_a_surface_goes_through_its_nodes():
    nodes = NODES * [70, 30] + np.random.default_rng(1).normal(size=(8, 2)) * 4
    assert powers(NODES[:, 0], NODES[:, 1]) @ surface_through(nodes) == pytest.approx(nodes, abs=1e-9)


@pytest.mark.parametrize("along_columns", [False, True])
@pytest.mark.parametrize(("terms", "slides"), EXACT.values(), ids=EXACT)
def test_a_slid_surface_is_the_surface_at_the_slid_place(terms, slides, along_columns):
    terms = [SWAPPED[term] for term in terms] if along_columns else list(terms)
    surfaces = chance_surfaces(3, terms)
    slid = slid_along(surfaces, np.array(slides), along_columns=along_columns)
    u, v = grid()
    expected = []
    for surface in surfaces:
        for shift, scale, warp in slides:
            moved = shift + scale * (v if along_columns else u)
            moved = moved + warp * (1 - (v if along_columns else u) ** 2)
            expected.append((powers(u, moved) if along_columns else powers(moved, v)) @ surface)
    assert powers(u, v) @ slid == pytest.approx(np.array(expected), abs=1e-9)


@pytest.mark.parametrize("along_columns", [False, True])
def test_a_warp_leaves_both_ends_where_they_were_however_bowed(along_columns):
    kept = [SWAPPED[term] if along_columns else term for term in (0, 1, 2, 3, 4, 5, 6, 8, 9)]
    (surface,) = chance_surfaces(1, kept)
    (slid,) = slid_along(surface[np.newaxis], np.array([[0.0, 1.0, 0.3]]), along_columns=along_columns)
    ends, between = np.repeat([-1.0, 1.0], len(GRID)), np.tile(GRID, 2)
    at = powers(between, ends) if along_columns else powers(ends, between)
    assert at @ slid == pytest.approx(at @ surface, abs=1e-9)
    assert np.abs(powers(np.zeros(1), np.zeros(1)) @ (slid - surface)).max() > 1


def test_one_corner_or_one_side_is_moved_and_nothing_beyond():
    surface = surface_through(NODES * [90, 33] + np.random.default_rng(2).normal(size=(8, 2)) * 3)
    moved = with_ends_moved(surface, LONG, modules=2.0).reshape(8, 4, TERMS, 2)
    right, down = module_steps(surface[np.newaxis], LONG)[0]
    for number, (u0, v0) in enumerate(NODES.tolist()):
        for way, step in enumerate([2 * right, 2 * down, -2 * right, -2 * down]):
            at = powers(NODES[:, 0], NODES[:, 1]) @ (moved[number, way] - surface)
            for (u, v), off in zip(NODES.tolist(), at, strict=True):
                # Linear from the moved end to the opposite one: a corner moves by both shares, a side by its own.
                share = (1 + u * u0) * (1 + v * v0) / 4 if u0 and v0 else (1 + u * u0 + v * v0) / 2
                assert off == pytest.approx(share * step, abs=1e-9)


def test_middles_slip_while_corners_stay():
    surface = surface_through(NODES * [90, 33] + np.random.default_rng(3).normal(size=(8, 2)) * 3)
    right, down = module_steps(surface[np.newaxis], LONG)[0]
    ends_first = slipped(surface, LONG, modules=2.0)
    assert ends_first[:-4] == pytest.approx(with_ends_moved(surface, LONG, modules=2.0))
    corners, middle = powers(NODES[::2, 0], NODES[::2, 1]), powers(np.zeros(1), np.zeros(1))
    for moved, step in zip(ends_first[-4:], (right, -right, down, -down), strict=True):
        assert corners @ moved == pytest.approx(corners @ surface, abs=1e-9)
        assert (middle @ (moved - surface))[0] == pytest.approx(2.0 * step, abs=1e-9)


def test_a_module_of_a_plane_has_the_side_of_a_square_of_its_area():
    surface = plane(LONG, right=(4.0, 1.0), down=(-0.5, 5.0))
    assert module_side(surface, LONG) == pytest.approx((4.0 * 5.0 + 1.0 * 0.5) ** 0.5)
    assert module_steps(surface[np.newaxis], LONG)[0] == pytest.approx(np.array([[4.0, 1.0], [-0.5, 5.0]]))


def test_a_surface_without_area_still_has_a_side_to_divide_by():
    assert module_side(np.zeros((TERMS, 2)), SQUARE) > 0


@pytest.mark.parametrize("cells", [SQUARE, LONG], ids=["18x18", "12x36"])
def test_as_a_map_a_plane_puts_modules_where_their_steps_lead(cells):
    place = as_module_map(plane(cells, right=(3.0, 0.5), down=(-1.0, 6.0), origin=(40.0, 9.0)), cells)
    modules = np.array([[0.0, 0.0], [0.5, 0.5], [cells.columns, 0.0], [7.25, cells.rows]])
    expected = [40.0, 9.0] + modules[:, :1] * [3.0, 0.5] + modules[:, 1:] * [-1.0, 6.0]
    assert place(modules) == pytest.approx(expected, abs=1e-9)
