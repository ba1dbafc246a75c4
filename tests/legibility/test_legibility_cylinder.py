"""The tube's curve in closed form, against its table, a numeric search, and what grading measures on rendered tubes."""

from pathlib import Path

import numpy as np
import pytest

from tracelabels.errors import InputError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility import camera
from tracelabels.legibility.cylinder import axial_nonuniformity, axial_ratio, grid_nonuniformity
from tracelabels.legibility.grades import GradeMethod, ParameterName, SymbolGrade, grade_matrix
from tracelabels.legibility.grades.scale import AXIAL_NONUNIFORMITY, GRID_NONUNIFORMITY
from tracelabels.symbols import DataMatrixShape, RawReading, Symbol, Symbology, write_data_matrix

VECTORS = Path(__file__).parent.parent / "vectors"
WHOLE = GradeMethod.WHOLE_2011


def table() -> list[dict[str, float]]:
    source, head, *lines = (VECTORS / "cylinder_axial_nonuniformity.tsv").read_text(encoding="utf-8").splitlines()
    assert source.startswith("# Derived, not published")
    names = head.split("\t")
    return [dict(zip(names, map(float, line.split("\t")), strict=True)) for line in lines]


def test_the_whole_table():
    rows = table()
    assert len(rows) == 36
    for row in rows:
        width = row["modules"] * row["x"]
        assert width / row["diameter"] == pytest.approx(row["width_over_diameter"], abs=0.0051)
        grade = AXIAL_NONUNIFORMITY.grade(axial_nonuniformity(width, row["diameter"]), WHOLE)
        assert grade == row["grade"], row


# Derived: the largest width over diameter of each grade.
@pytest.mark.parametrize(("ratio", "limit"), [(0.596, 0.06), (0.687, 0.08), (0.767, 0.10), (0.839, 0.12)])
def test_where_the_grades_end(ratio, limit):
    # The ratios are rounded to three places.
    assert axial_nonuniformity((ratio - 0.001) * 10.0, 10.0) < limit < axial_nonuniformity((ratio + 0.001) * 10.0, 10.0)


def test_a_sixth_of_the_circumference_keeps_grade_4():
    assert AXIAL_NONUNIFORMITY.grade(axial_nonuniformity(np.pi * 10.0 / 6.0, 10.0), WHOLE) == 4.0


def test_up_to_20_modules_the_grid_is_never_what_limits():
    for row in table():
        width = row["modules"] * row["x"]
        grid = grid_nonuniformity(width, row["diameter"], row["x"])
        if row["modules"] <= 20:
            assert GRID_NONUNIFORMITY.grade(grid, WHOLE) >= row["grade"], row


@pytest.mark.parametrize("diameter", [6.0, 7.8, 10.33, 13.0])
@pytest.mark.parametrize("modules", [12, 22])
def test_the_closed_form_is_the_largest_of_many_places(diameter, modules):
    x = 0.254
    a = modules * x / diameter
    t = np.linspace(0.0, a, 20_001)
    searched = np.abs(diameter / 2.0 * (np.sin(t) - t * np.sin(a) / a)).max() / x
    assert grid_nonuniformity(modules * x, diameter, x) == pytest.approx(searched, abs=1e-6)
    assert axial_ratio(modules * x, diameter) == pytest.approx(np.sin(a) / a)


DIGITS = {12: 10, 14: 16, 16: 24, 18: 36, 20: 44, 22: 60}
PX_PER_MM = 60.0


def symbol_of(modules: int) -> Symbol:
    payload = Payload(text="7" * DIGITS[modules], fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
    return write_data_matrix(payload, shape=DataMatrixShape(f"{modules}x{modules}"))


def seen_from_far(symbol: Symbol, diameter: float, x: float) -> tuple[np.ndarray, np.ndarray]:
    """Draw a symbol round an upright tube in parallel projection; return the picture and the symbol's corners.

    Every pixel is the mean of 4 x 4 points; a point at s from the middle line shows the arc R asin(s / R).
    """
    radius, width = diameter / 2.0, symbol.columns * x
    half = radius * np.sin(width / diameter)
    side = int((width + 2.0) * PX_PER_MM)
    s = (np.arange(side * 4) + 0.5) / 4.0 / PX_PER_MM - side / PX_PER_MM / 2.0
    arc = np.full(s.shape, np.inf)
    arc[np.abs(s) < radius] = radius * np.arcsin(s[np.abs(s) < radius] / radius)
    column, row = (np.floor(place / x + symbol.columns / 2.0) for place in (arc, s))
    inside = [np.flatnonzero((line >= 0) & (line < symbol.columns)) for line in (row, column)]
    dark = np.zeros((side * 4, side * 4), dtype=bool)
    dark[np.ix_(*inside)] = symbol.modules[np.ix_(row[inside[0]].astype(int), column[inside[1]].astype(int))]
    grey = np.where(dark, 20.0, 230.0).reshape(side, 4, side, 4).mean(axis=(1, 3))
    across, down = half * PX_PER_MM, width / 2.0 * PX_PER_MM
    corners = side / 2.0 + np.array([(-across, -down), (across, -down), (across, down), (-across, down)])
    return np.rint(grey).astype(np.uint8), corners


def graded(picture: np.ndarray, corners: np.ndarray, symbol: Symbol) -> SymbolGrade:
    text = symbol.payload.text
    reading = RawReading(
        text=text, data=text.encode(), symbology_identifier="]d1", symbology_name="Data Matrix",
        symbology=Symbology.DATA_MATRIX, version=symbol.version, unused_error_correction=None,
        corners=tuple((int(px), int(py)) for px, py in corners),
    )  # fmt: skip
    grade = grade_matrix(picture, reading)
    assert isinstance(grade, SymbolGrade), grade
    return grade


def check(diameter: float, x: float, modules: int, *, across: bool = False) -> None:
    """Compare the measured values with the closed form.

    Tolerances: a module is 15 to 20 pixels; a line is the median of its edges, each found to about a tenth of a pixel,
    so that the length of 12 modules is right to 0.3 % and an intersection to 0.02 X. The closed form takes the largest
    place on the whole arc, the measurement the largest on a line of the grid, which is at most 0.01 X less.
    """
    symbol, width = symbol_of(modules), modules * x
    picture, corners = seen_from_far(symbol, diameter, x)
    if across:
        picture, corners = np.ascontiguousarray(picture.T), corners[:, ::-1]
    grade = graded(picture, corners, symbol)
    axial, grid = grade.find(ParameterName.AXIAL_NONUNIFORMITY), grade.find(ParameterName.GRID_NONUNIFORMITY)
    wanted = axial_nonuniformity(width, diameter)
    assert axial.value == pytest.approx(wanted, abs=0.003)
    assert grid.value == pytest.approx(grid_nonuniformity(width, diameter, x), abs=0.03)
    if min(abs(wanted - level) for level in AXIAL_NONUNIFORMITY.levels) > 0.003:
        assert axial.grade == AXIAL_NONUNIFORMITY.grade(wanted, WHOLE)


@pytest.mark.parametrize("diameter", [6.0, 13.0])  # the diameters between stand in the table below
@pytest.mark.parametrize("modules", [12, 16, 22])
def test_what_grading_measures_on_a_rendered_tube(diameter, modules):
    check(diameter, 0.254, modules)


def test_it_is_the_same_with_the_tube_lying_across():
    check(7.8, 0.339, 18, across=True)


@pytest.mark.parametrize(
    "row", table(), ids=lambda row: f"{row['diameter']:g} mm, X {row['x']:g}, {row['modules']:g} modules"
)
def test_the_whole_table_as_measured(row):
    check(row["diameter"], row["x"], int(row["modules"]))


@pytest.mark.parametrize(("diameter", "modules"), [(6.0, 16), (7.8, 22), (13.0, 22)])
def test_what_grading_measures_in_a_simulated_photograph(diameter, modules):
    # The camera stands 250 mm away, so that the middle of the tube is nearer than the edges of the symbol: the places
    # where the camera truly puts the intersections are compared too, and the closed form gets room for the nearness:
    # R (1 - cos a) / 250 mm, at most 0.5 %.
    x, margin, pixels = 0.254, 2, 24
    symbol = symbol_of(modules)
    printed = np.kron(
        np.where(np.pad(symbol.modules, margin), 0, 255).astype(np.uint8), np.ones((pixels, pixels), np.uint8)
    )
    side = int((modules + 2 * margin) * x * PX_PER_MM) + 60
    photo = camera.photograph(
        [camera.Piece(print=printed, px_per_mm=pixels / x, tube_diameter=diameter)],
        camera=camera.Camera(
            px_per_mm=PX_PER_MM, width=side, height=side, defocus=0.0, light_ratio=1.0, vignette=0.0, noise=0.0,
            jpeg_quality=None,
        ),
        rng=np.random.default_rng(5),
    )  # fmt: skip
    lines = (np.arange(modules + 1) + margin) * x
    true = photo.positions([(right, down) for down in lines for right in lines]).reshape(modules + 1, modules + 1, 2)
    grade = graded(np.ascontiguousarray(photo.rgb[..., 1]), true[[0, 0, -1, -1], [0, -1, -1, 0]], symbol)
    apart = np.linalg.norm(grade.modules.outlines - true, axis=-1)
    assert apart.max() < 0.06 * grade.pixels_per_module
    axial, grid = grade.find(ParameterName.AXIAL_NONUNIFORMITY), grade.find(ParameterName.GRID_NONUNIFORMITY)
    assert axial.value == pytest.approx(axial_nonuniformity(modules * x, diameter), abs=0.008)
    assert grid.value == pytest.approx(grid_nonuniformity(modules * x, diameter, x), abs=0.05)


def test_a_symbol_of_no_width_is_refused():
    with pytest.raises(InputError) as refused:
        axial_nonuniformity(0.0, 10.0)
    assert str(refused.value) == (
        "a symbol 0.0 mm wide round a tube of 10.0 mm; expected two positive lengths; give both in millimetres"
    )


def test_a_symbol_that_reaches_round_the_back_is_refused():
    with pytest.raises(InputError) as refused:
        axial_nonuniformity(16.0, 10.0)
    assert str(refused.value) == (
        "a symbol 16 mm wide round a tube of 10 mm; expected less than half of the circumference, 15.71 mm; "
        "turn its short side round the tube, or use a smaller module"
    )


def test_a_module_of_no_size_is_refused():
    with pytest.raises(InputError) as refused:
        grid_nonuniformity(5.0, 10.0, 0.0)
    assert str(refused.value) == "a module of 0.0 mm; expected a positive length; give it in millimetres"
