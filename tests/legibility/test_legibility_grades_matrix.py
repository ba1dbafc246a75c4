"""Matrix symbols with known defects, drawn here and graded whole: what was done to them is what is measured."""

from collections.abc import Callable

import cv2
import numpy as np
import pytest

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility import camera
from tracelabels.legibility.grades import (
    GradeMethod,
    NotGraded,
    ParameterName,
    ReflectanceScale,
    SymbolGrade,
    grade_matrix,
    grade_picture,
)
from tracelabels.legibility.grades.grid import grid_from_corners
from tracelabels.symbols import (
    DataMatrixShape,
    QRLevel,
    RawReading,
    Symbol,
    read_symbols,
    write_data_matrix,
    write_micro_qr,
    write_qr,
)

PX = 12
MARGIN = 4
INK, STOCK = 20, 230
NAME = ParameterName


def payload(text: str, *, gs1: bool = False) -> Payload:
    return Payload(text=text, fnc1_first=gs1, mode=IdentifierMode.GS1 if gs1 else IdentifierMode.IN_HOUSE)


@pytest.fixture
def square() -> Symbol:
    """An 18x18 symbol, 14 check codewords."""
    return write_data_matrix(payload("1727113013261120101234\x1d21010000017"), shape=DataMatrixShape.SQUARE_18)


def drawn(modules: np.ndarray, *, px: int = PX, margin: int = MARGIN, ink: int = INK, stock: int = STOCK) -> np.ndarray:
    grey = np.where(np.pad(modules, margin), ink, stock).astype(np.uint8)
    return np.repeat(np.repeat(grey, px, axis=0), px, axis=1)


Place = Callable[[np.ndarray, np.ndarray], tuple[np.ndarray, np.ndarray]]


def warped(modules: np.ndarray, place: Place, *, px: int = PX, margin: int = MARGIN) -> np.ndarray:
    """Draw a symbol so that a pixel at (x, y), in modules from the symbol's corner, shows the module at place(x, y)."""
    rows, columns = modules.shape
    fine = 4
    y, x = np.mgrid[0 : (rows + 2 * margin) * px * fine, 0 : (columns + 2 * margin) * px * fine]
    u, v = place((x + 0.5) / px / fine - margin, (y + 0.5) / px / fine - margin)
    inside = (u >= 0) & (u < columns) & (v >= 0) & (v < rows)
    dark = np.zeros(u.shape, dtype=bool)
    dark[inside] = modules[v[inside].astype(int), u[inside].astype(int)]
    grey = np.where(dark, float(INK), float(STOCK))
    shape = ((rows + 2 * margin) * px, fine, (columns + 2 * margin) * px, fine)
    return np.rint(grey.reshape(shape).mean(axis=(1, 3))).astype(np.uint8)


def reading_at(symbol: Symbol, corners: np.ndarray) -> RawReading:
    """Return the reading that a reader would give of a picture, for pictures that it does not read.

    Args:
        symbol: what it says.
        corners: in modules from the symbol's top left corner in a drawing of the usual size and margin.
    """
    pixels = np.floor((np.asarray(corners) + MARGIN) * PX).astype(int).tolist()
    return RawReading(
        text=symbol.payload.text, data=symbol.payload.text.encode(), symbology_identifier=symbol.symbology_identifier,
        symbology_name="Data Matrix", symbology=symbol.symbology, version=symbol.version,
        corners=tuple((x, y) for x, y in pixels), unused_error_correction=None,
    )  # fmt: skip


def reading_of(symbol: Symbol) -> RawReading:
    """Return the reading of a straight drawing."""
    right, low = symbol.columns, symbol.rows
    return reading_at(symbol, np.array([(0, 0), (right, 0), (right, low), (0, low)]))


def graded(picture: np.ndarray, **choices: object) -> SymbolGrade:
    (reading,) = read_symbols(picture)
    grade = grade_matrix(picture, reading, **choices)
    assert isinstance(grade, SymbolGrade), grade
    return grade


def grades(grade: SymbolGrade) -> dict[str, float | None]:
    return {parameter.name: parameter.grade for parameter in grade.parameters}


def value(grade: SymbolGrade, name: ParameterName) -> float:
    return grade.find(name).value


ALL_4 = {
    NAME.DECODE: 4.0,
    NAME.SYMBOL_CONTRAST: 4.0,
    NAME.MODULATION: 4.0,
    NAME.REFLECTANCE_MARGIN: 4.0,
    NAME.AXIAL_NONUNIFORMITY: 4.0,
    NAME.GRID_NONUNIFORMITY: 4.0,
    NAME.UNUSED_ERROR_CORRECTION: 4.0,
    NAME.FIXED_PATTERN_DAMAGE: 4.0,
    NAME.PRINT_GROWTH_ACROSS: None,
    NAME.PRINT_GROWTH_DOWN: None,
}


@pytest.mark.parametrize("shape", ["10x10", "18x18", "22x22", "32x32", "8x18", "8x32", "12x26", "16x48"])
@pytest.mark.parametrize("px", [3, 8])
def test_a_perfect_data_matrix_has_grade_4_everywhere(shape, px):
    symbol = write_data_matrix(payload("123456"), shape=DataMatrixShape(shape))
    grade = graded(drawn(symbol.modules, px=px))
    assert grades(grade) == ALL_4
    assert (grade.grade, grade.letter, grade.version) == (4.0, "A", shape)
    assert value(grade, NAME.GRID_NONUNIFORMITY) < 0.01
    assert not grade.modules.damaged.any()


@pytest.mark.parametrize("level", QRLevel)
@pytest.mark.parametrize("version", [1, 2, 4, 6])
def test_a_perfect_qr_has_grade_4_everywhere(level, version):
    symbol = write_qr(payload("ABC123"), level=level, version=version)
    grade = graded(drawn(symbol.modules, px=4))
    assert (grades(grade), grade.version) == (ALL_4, f"{version}-{level}")


@pytest.mark.parametrize("turns", [0, 1, 2, 3])
@pytest.mark.parametrize("mirrored", [False, True])
def test_turned_and_mirrored_pictures_are_the_same_symbol(square, turns, mirrored):
    modules = square.modules.copy()
    modules[9, 7] ^= True
    picture = drawn(modules)
    picture = np.ascontiguousarray(np.rot90(picture[:, ::-1] if mirrored else picture, turns))
    grade = graded(picture)
    assert (np.argwhere(grade.modules.wrong).tolist(), grade.grade) == ([[9, 7]], 4.0)


def test_the_mark_and_the_line_that_people_quote(square):
    picture = drawn(square.modules)
    assert graded(picture).overall == "4.0/0.8X/light unknown/angle unknown (indicative, not a verifier)"
    # 80 % of the smallest X of GS1 table 6, 0.254 mm, are 8 thousandths of an inch, as in its 1.5/08/660.
    named = graded(picture, x=0.254)
    assert named.overall == "4.0/08/light unknown/angle unknown (indicative, not a verifier)"
    assert named.basis.startswith("reflectances are relative: the brightest stock at the symbol counts as 100 %")
    scaled = graded(picture, reflectance=ReflectanceScale(white=255.0))
    assert scaled.basis.startswith("reflectances follow the white and black that were given")


# 14 check codewords [D].
@pytest.mark.parametrize(
    ("errors", "unused", "grade"), [(0, 1.0, 4), (1, 0.857, 4), (2, 0.714, 4), (3, 0.571, 3), (4, 0.429, 2),
                                    (5, 0.286, 1), (6, 0.143, 0)]
)  # fmt: skip
def test_damaged_codewords_are_counted_exactly(square, errors, unused, grade):
    # One module each, well apart, so that each hits another codeword; the reader counts the same.
    places = [(3, 3), (3, 12), (8, 8), (8, 14), (13, 3), (14, 12)][:errors]
    modules = square.modules.copy()
    for place in places:
        modules[place] ^= True
    picture = drawn(modules)
    (reading,) = read_symbols(picture)
    found = graded(picture)
    assert value(found, NAME.UNUSED_ERROR_CORRECTION) == pytest.approx(unused, abs=0.0005)
    assert reading.unused_error_correction == pytest.approx(unused, abs=0.0101)
    assert grades(found) == ALL_4 | {
        NAME.UNUSED_ERROR_CORRECTION: grade,
        # A module on the wrong side has margin 0, so that its codeword is lost to the margin at every level.
        NAME.REFLECTANCE_MARGIN: grade,
    }
    assert found.grade == grade
    assert sorted(map(tuple, np.argwhere(found.modules.wrong).tolist())) == sorted(places)


def test_one_damaged_codeword_costs_a_10x10_a_grade():
    symbol = write_data_matrix(payload("123456"))
    modules = symbol.modules.copy()
    modules[4, 4] ^= True
    grade = graded(drawn(modules))
    assert (value(grade, NAME.UNUSED_ERROR_CORRECTION), grade.grade) == (pytest.approx(0.6), 3.0)


def test_a_missing_finder_column(square):
    modules = square.modules.copy()
    modules[:, 0] = False
    grade = grade_matrix(drawn(modules), reading_of(square))
    assert grade.modules.wrong.sum() == 18
    assert grade.modules.wrong[:, 0].all()
    # The bottom side loses its corner and the top track its first module, each 1 of 18 = 5.6 %: grades 3 and 4.
    assert dict(grade.segments) == {
        "L1 (left side)": 0.0,
        "L2 (bottom side)": 3.0,
        "quiet zone of L1": 4.0,
        "quiet zone of L2": 4.0,
        "clock track, top": 4.0,
        "clock track, right": 4.0,
    }
    # The column is also light where the grid would be anchored: the other lines have to hold it.
    assert value(grade, NAME.GRID_NONUNIFORMITY) < 0.02
    assert grades(grade) == ALL_4 | {NAME.FIXED_PATTERN_DAMAGE: 0.0}
    assert (grade.grade, grade.weakest.name) == (0.0, NAME.FIXED_PATTERN_DAMAGE)


# Of 18 modules of the left side: 5.6, 11.1, 16.7, 22.2 %.
@pytest.mark.parametrize(("missing", "grade"), [(1, 3), (2, 2), (3, 1), (4, 0)])
def test_gaps_in_the_solid_side(square, missing, grade):
    modules = square.modules.copy()
    modules[[5, 8, 11, 14][:missing], 0] = False
    found = grade_matrix(drawn(modules), reading_of(square))
    assert dict(found.segments)["L1 (left side)"] == grade
    # The average of six segments, five of them 4: 3.83, 3.67, 3.5 have grade 3, 3.33 has 2 [M].
    average = {3: 3, 2: 3, 1: 3, 0: 2}[grade]
    assert grades(found)[NAME.FIXED_PATTERN_DAMAGE] == min(grade, average)


# Of 18 modules of the right track: 5.6, 11.1, 16.7, 22.2, 27.8 %.
@pytest.mark.parametrize(("turned", "grade"), [(1, 4), (2, 3), (3, 2), (4, 1), (5, 0)])
def test_a_broken_clock_track(square, turned, grade):
    modules = square.modules.copy()
    modules[[3, 6, 9, 12, 15][:turned], -1] ^= True
    found = grade_matrix(drawn(modules), reading_of(square))
    assert dict(found.segments)["clock track, right"] == grade


def test_dirt_in_the_quiet_zone(square):
    picture = drawn(square.modules)
    left = MARGIN * PX
    picture[left + 5 * PX : left + 6 * PX, left - PX : left] = INK
    found = graded(picture)
    # 1 of 19 modules, 5.3 %.
    assert dict(found.segments)["quiet zone of L1"] == 3.0
    assert not found.modules.wrong.any()


@pytest.mark.parametrize(("turned", "grade"), [(0, 4), (1, 3), (2, 2), (3, 1), (4, 0)])
def test_damage_at_a_corner_of_a_qr_is_counted_in_modules(turned, grade):
    # Number of damaged modules [M].
    symbol = write_qr(payload("ABC123"), level=QRLevel.H, version=2)
    modules = symbol.modules.copy()
    modules[2, [2, 3, 4, 6][:turned]] ^= True
    found = grade_matrix(drawn(modules), reading_of(symbol), expected=symbol)
    assert dict(found.segments)["top left corner"] == grade


@pytest.mark.parametrize("stretch", [1.03, 1.08, 1.11])
@pytest.mark.parametrize("across", [True, False])
def test_a_stretched_symbol(square, stretch, across):
    # Drawn at 12 pixels a module; lines are found to a hundredth of a module, so that 18 modules are right to 0.1 %.
    def place(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return (x / stretch, y) if across else (x, y / stretch)

    side = np.array([18.0 * stretch, 18.0] if across else [18.0, 18.0 * stretch])
    reading = reading_at(square, np.array([(0, 0), (1, 0), (1, 1), (0, 1)]) * side)
    grade = grade_matrix(warped(square.modules, place), reading)
    wanted = (stretch - 1.0) / ((stretch + 1.0) / 2.0)
    assert value(grade, NAME.AXIAL_NONUNIFORMITY) == pytest.approx(wanted, abs=0.002)
    assert grades(grade)[NAME.AXIAL_NONUNIFORMITY] == {1.03: 4.0, 1.08: 3.0, 1.11: 1.0}[stretch]
    # The drawing itself is only right to a quarter of a pixel, 0.02 X.
    assert value(grade, NAME.GRID_NONUNIFORMITY) < 0.03
    assert grade.grade == grades(grade)[NAME.AXIAL_NONUNIFORMITY]


@pytest.mark.parametrize("bend", [-0.0009, -0.0006, -0.0003, 0.0003, 0.0006, 0.0009])
def test_a_grid_bent_by_a_lens(square, bend):
    # A place at the distance r modules from the middle is shown at r (1 + bend r^2), pincushion or barrel. Where the
    # intersections truly fall follows from this formula alone. Tolerance 0.03 X: a third of a pixel at 12 a module.
    middle = 9.0
    lines = np.arange(19.0) - middle
    u, v = np.meshgrid(lines, lines)
    swell = 1.0 + bend * (u**2 + v**2)
    true = np.stack([u * swell, v * swell], axis=-1)
    even = grid_from_corners(true[[0, 0, -1, -1], [0, -1, -1, 0]], rows=18, columns=18).lattice
    pitch = np.abs(true[:, -1, 0] - true[:, 0, 0]).mean() / 18.0
    wanted = np.linalg.norm(true - even, axis=-1).max() / pitch

    def place(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        x, y = x - middle, y - middle
        seen = np.hypot(x, y)
        r = seen.copy()
        for _ in range(60):
            r = seen / (1.0 + bend * r**2)
        share = np.where(seen > 0.0, r / np.maximum(seen, 1e-9), 1.0)
        return x * share + middle, y * share + middle

    picture = warped(square.modules, place)
    reading = reading_at(square, true[[0, 0, -1, -1], [0, -1, -1, 0]] + middle)
    grade = grade_matrix(picture, reading)
    assert isinstance(grade, SymbolGrade), grade
    assert value(grade, NAME.GRID_NONUNIFORMITY) == pytest.approx(wanted, abs=0.03)
    assert value(grade, NAME.AXIAL_NONUNIFORMITY) < 0.003
    found = (grade.modules.outlines / PX - MARGIN - middle) - true
    assert np.linalg.norm(found, axis=-1).max() < 0.06
    assert not grade.modules.damaged.any()


def test_paper_that_slipped_by_a_third_of_a_module(square):
    # All rows from the ninth on lie 0.34 X further down: the lines near the middle are displaced by half of it against
    # the even grid over the whole height. The smooth field cannot follow such a step; the lines one by one can.
    def place(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return x, np.where(y < 9.0, y, np.where(y < 9.34, 8.999, y - 0.34))

    grade = graded(warped(square.modules, place))
    lines = np.arange(19.0)
    true = lines + np.where(lines >= 9.0, 0.34, 0.0)
    found = grade.modules.outlines[:, :, 1].mean(axis=1) / PX - MARGIN
    assert np.abs(found - true).max() < 0.03
    wanted = abs(true - lines * (18.34 / 18.0)).max() / (18.34 / 18.0)
    assert value(grade, NAME.GRID_NONUNIFORMITY) == pytest.approx(wanted, abs=0.03)


@pytest.mark.parametrize("gain", [-0.2, 0.1, 0.3])
def test_print_growth_is_reported_and_not_graded(square, gain):
    # Every dark module grows (or shrinks) by half the gain on each side.
    fine = 20
    dark = np.repeat(np.repeat(np.pad(square.modules, MARGIN), fine, axis=0), fine, axis=1).astype(np.uint8)
    reach = round(abs(gain) / 2.0 * fine)
    kernel = np.ones((2 * reach + 1, 2 * reach + 1), np.uint8)
    dark = cv2.dilate(dark, kernel) if gain > 0 else cv2.erode(dark, kernel)
    grade = graded(np.where(dark > 0, INK, STOCK).astype(np.uint8))
    measured = [value(grade, NAME.PRINT_GROWTH_ACROSS), value(grade, NAME.PRINT_GROWTH_DOWN)]
    assert measured == pytest.approx([gain, gain], abs=0.03)
    assert value(grade, NAME.GRID_NONUNIFORMITY) < 0.02


# With white 255 and black 0: SC = (stock - ink) / 255.
@pytest.mark.parametrize(
    ("ink", "stock", "contrast", "grade"),
    [(20, 230, 0.824, 4), (60, 215, 0.608, 3), (100, 205, 0.412, 2), (100, 160, 0.235, 1), (110, 158, 0.188, 0)],
)
def test_symbol_contrast_on_a_given_scale(square, ink, stock, contrast, grade):
    found = graded(drawn(square.modules, ink=ink, stock=stock), reflectance=ReflectanceScale(white=255.0))
    assert value(found, NAME.SYMBOL_CONTRAST) == pytest.approx(contrast, abs=0.001)
    assert grades(found)[NAME.SYMBOL_CONTRAST] == grade
    assert found.grade == grade


def test_without_a_scale_contrast_is_relative_to_the_brightest_stock(square):
    found = graded(drawn(square.modules, ink=50, stock=200))
    assert value(found, NAME.SYMBOL_CONTRAST) == pytest.approx(0.75, abs=0.001)


# A dark module at grey g, ink 20, stock 230: GT 125, MOD = |g - 125| / 105.
@pytest.mark.parametrize(
    ("level", "codewords", "modulation"),
    [
        (60, 6, 4),  # MOD 0.62
        (78, 2, 4),  # 0.448: at level 4 two codewords count as lost, UEC 0.714, grade 4
        (78, 3, 3),  # at level 4 three, UEC 0.571, grade 3; at level 3 none is lost: grade 3
        (88, 3, 3),  # 0.352: at level 4 and 3 three are lost, UEC grade 3
        (88, 4, 2),  # four lost at level 3, UEC 0.429, grade 2; at level 2 none: grade 2
        (110, 2, 4),  # 0.143: two lost at every level, UEC grade 4
        (110, 5, 1),  # five lost at every level, UEC 0.286
        (110, 6, 0),
    ],
)
def test_modulation_takes_the_best_level(square, level, codewords, modulation):
    # Modules of different codewords that are dark, each alone in its codeword.
    owner_places = _dark_places(square)[:codewords]
    picture = drawn(square.modules)
    for row, column in owner_places:
        top, left = (MARGIN + row) * PX, (MARGIN + column) * PX
        picture[top : top + PX, left : left + PX] = level
    found = graded(picture)
    assert grades(found)[NAME.MODULATION] == modulation
    # All are still on their side of the threshold.
    assert grades(found)[NAME.REFLECTANCE_MARGIN] == modulation
    assert grades(found)[NAME.UNUSED_ERROR_CORRECTION] == 4.0
    assert found.modules.weak.sum() == (codewords if level == 110 else 0)


def _dark_places(symbol: Symbol) -> list[tuple[int, int]]:
    """Return dark data modules, one of each of several codewords, the codewords told apart by the placement."""
    from tracelabels.symbols.codewords.data_matrix_placement import codeword_of_module

    owner = codeword_of_module(DataMatrixShape(symbol.version))
    places: dict[int, tuple[int, int]] = {}
    for row, column in np.argwhere(symbol.modules & (owner >= 0)).tolist():
        places.setdefault(int(owner[row, column]), (row, column))
    return list(places.values())


def test_continuous_grades_of_the_same_picture(square):
    def place(x: np.ndarray, y: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return x / 1.07, y

    reading = reading_at(square, np.array([(0, 0), (18 * 1.07, 0), (18 * 1.07, 18), (0, 18)]))
    picture = warped(square.modules, place)
    whole = grade_matrix(picture, reading)
    fine = grade_matrix(picture, reading, method=GradeMethod.CONTINUOUS)
    axial = value(fine, NAME.AXIAL_NONUNIFORMITY)
    assert (whole.grade, whole.method) == (3.0, GradeMethod.WHOLE_2011)
    assert fine.grade == pytest.approx(4.0 - (axial - 0.06) / 0.02, abs=0.051)
    assert 3.0 < fine.grade < 4.0


@pytest.mark.parametrize("diameter", [None, 9.0])
def test_a_simulated_photograph_is_graded(square, diameter):
    piece = camera.Piece(print=drawn(square.modules), px_per_mm=PX / 0.254, tube_diameter=diameter, turn=17.0)
    photo = camera.photograph(
        [piece], camera=camera.Camera(width=420, height=420, px_per_mm=26.0), rng=np.random.default_rng(3)
    )
    grade = graded(np.ascontiguousarray(photo.rgb[..., 1]))
    assert grade.text == square.payload.text
    assert not grade.modules.wrong.any()
    true = photo.positions([((MARGIN + i) * 0.254, (MARGIN + j) * 0.254) for j in range(19) for i in range(19)])
    apart = np.linalg.norm(grade.modules.outlines.reshape(-1, 2) - true, axis=-1)
    # With blur, noise and compression lines are found to a tenth of a module.
    assert apart.max() < 0.1 * grade.pixels_per_module


def test_gs1_text_is_written_again_with_its_fnc1():
    symbol = write_data_matrix(payload("010950110153000310AB-123\x1d21010000017", gs1=True))
    grade = graded(drawn(symbol.modules, px=6))
    assert (grade.grade, grade.text) == (4.0, symbol.payload.text)


def test_too_few_pixels(square):
    picture = cv2.resize(drawn(square.modules), None, fx=2.6 / PX, fy=2.6 / PX, interpolation=cv2.INTER_AREA)
    (finding,) = grade_picture(picture)
    assert isinstance(finding, NotGraded)
    assert finding.reason == (
        "too few pixels to grade: 2.6 a module, at least 3 are needed; go nearer or scan at a higher resolution"
    )
    assert (finding.text, finding.pixels_per_module) == (square.payload.text, pytest.approx(2.6, abs=0.06))


@pytest.mark.parametrize("kind", ["blank", "noise", "blurred"])
def test_without_a_readable_symbol_there_is_no_grade(square, kind):
    pictures = {
        "blank": np.full((200, 200), 200, np.uint8),
        "noise": np.random.default_rng(2).integers(0, 256, (200, 200)).astype(np.uint8),
        "blurred": cv2.GaussianBlur(drawn(square.modules), (0, 0), 14.0),
    }
    (finding,) = grade_picture(pictures[kind])
    assert finding == NotGraded(reason="no symbol could be read in this picture, so that nothing is graded")


def test_a_picture_of_something_else_is_not_graded_as_the_symbol(square):
    other = write_data_matrix(payload("9876543210" * 3), shape=DataMatrixShape.SQUARE_18)
    finding = grade_matrix(drawn(other.modules), reading_of(square))
    assert isinstance(finding, NotGraded)
    assert finding.reason.startswith("what is seen is not the symbol of the text that was read")


def test_a_kind_whose_layout_is_not_known_is_not_graded():
    (finding,) = grade_picture(drawn(write_micro_qr(payload("12345")).modules))
    assert isinstance(finding, NotGraded)
    assert finding.text == "12345"
