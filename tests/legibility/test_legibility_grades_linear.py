"""Code 128 with known defects, drawn here and graded: contrast, modulation, defects, decodability by construction."""

from itertools import pairwise

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
    grade_linear,
    grade_picture,
)
from tracelabels.legibility.grades.linear import QUIET, STEPS, scan_lines
from tracelabels.legibility.grades.scan_profile import ScanProfile
from tracelabels.symbols import RawReading, Symbol, Symbology, read_symbols, write_code_128, write_data_matrix

NAME = ParameterName
PX, HEIGHT, SIDE, ABOVE = 10, 240, 12, 60
INK, STOCK = 20, 230
WHITE = ReflectanceScale(white=255.0)


@pytest.fixture
def symbol() -> Symbol:
    return write_code_128(Payload(text="AB12345", fnc1_first=False, mode=IdentifierMode.IN_HOUSE))


def drawn(symbol: Symbol, *, ink: int = INK, stock: int = STOCK, side: int = SIDE) -> np.ndarray:
    row = np.repeat(np.where(np.pad(symbol.modules[0], side), ink, stock).astype(np.uint8), PX)
    bars = np.tile(row, (HEIGHT, 1))
    return np.pad(bars, ((ABOVE, ABOVE), (0, 0)), constant_values=stock)


def reading_of(symbol: Symbol) -> RawReading:
    left, right, top, low = SIDE * PX, (SIDE + symbol.columns) * PX - 1, ABOVE, ABOVE + HEIGHT - 1
    return RawReading(
        text=symbol.payload.text, data=symbol.payload.text.encode(), symbology_identifier="]C0",
        symbology_name="Code 128", symbology=Symbology.CODE_128, version=None,
        corners=((left, top), (right, top), (right, low), (left, low)), unused_error_correction=None,
    )  # fmt: skip


def graded(picture: np.ndarray, **choices: object) -> SymbolGrade:
    (grade,) = grade_picture(picture, **choices)
    assert isinstance(grade, SymbolGrade), grade
    return grade


def grades(grade: SymbolGrade) -> dict[str, float | None]:
    return {parameter.name: parameter.grade for parameter in grade.parameters}


ALL_4 = dict.fromkeys(
    (
        NAME.DECODE, NAME.QUIET_ZONE, NAME.MINIMUM_REFLECTANCE, NAME.EDGE_CONTRAST, NAME.SYMBOL_CONTRAST,
        NAME.MODULATION, NAME.DEFECTS, NAME.DECODABILITY,
    ),
    4.0,
)  # fmt: skip


@pytest.mark.parametrize("turns", range(4))
def test_perfect_bars_have_grade_4_in_every_position(symbol, turns):
    grade = graded(np.ascontiguousarray(np.rot90(drawn(symbol), turns)))
    assert (grades(grade), grade.grade, grade.letter) == (ALL_4, 4.0, "A")
    assert grade.find(NAME.DECODABILITY).value > 0.98
    assert grade.find(NAME.DEFECTS).value < 0.01
    assert grade.overall == "4.0/0.8X/light unknown/angle unknown (indicative, not a verifier)"


@pytest.mark.parametrize(
    ("ink", "stock", "contrast", "grade"),
    [(20, 230, 0.824, 4), (60, 215, 0.608, 3), (80, 185, 0.412, 2), (60, 122, 0.243, 1), (20, 65, 0.176, 0)],
)
def test_symbol_contrast(symbol, ink, stock, contrast, grade):
    found = graded(drawn(symbol, ink=ink, stock=stock), reflectance=WHITE)
    assert found.find(NAME.SYMBOL_CONTRAST).value == pytest.approx(contrast, abs=0.002)
    assert grades(found) == ALL_4 | {NAME.SYMBOL_CONTRAST: grade}
    assert found.grade == grade


def test_ink_that_is_more_than_half_as_light_as_the_stock_fails(symbol):
    # Rmin / Rmax = 120 / 230 = 0.52.
    found = graded(drawn(symbol, ink=120), reflectance=WHITE)
    assert (grades(found)[NAME.MINIMUM_REFLECTANCE], found.grade) == (0.0, 0.0)
    kept = graded(drawn(symbol, ink=114), reflectance=WHITE)
    assert grades(kept)[NAME.MINIMUM_REFLECTANCE] == 4.0


@pytest.mark.parametrize(
    ("level", "modulation", "grade"), [(180, 0.762, 4), (160, 0.667, 3), (140, 0.571, 2), (128, 0.514, 2)]
)
def test_modulation_of_a_grey_space(symbol, level, modulation, grade):
    # One wide space is printed at a grey level: ECmin = (level - 20) / 255, SC = 210 / 255. The global threshold, 125,
    # bounds it from below: a space that is no lighter is lost, which the decode shows.
    picture = drawn(symbol)
    start, length = widest(symbol, dark=False)
    left = (SIDE + start) * PX
    picture[ABOVE : ABOVE + HEIGHT, left : left + length * PX] = level
    found = grade_linear(picture, reading_of(symbol), reflectance=WHITE)
    assert found.find(NAME.MODULATION).value == pytest.approx(modulation, abs=0.003)
    assert grades(found) == ALL_4 | {NAME.MODULATION: grade, NAME.DECODABILITY: grades(found)[NAME.DECODABILITY]}


def widest(symbol: Symbol, *, dark: bool) -> tuple[int, int]:
    """Return start and length of the widest bar or inner space."""
    row = symbol.modules[0]
    changes = np.concatenate([[0], np.flatnonzero(row[1:] != row[:-1]) + 1, [len(row)]])
    spans = [(int(a), int(b - a)) for a, b in pairwise(changes) if bool(row[a]) is dark]
    return max(spans, key=lambda span: span[1])


def straight(symbol: Symbol) -> np.ndarray:
    """Return the ideal profile of a symbol, 0 and 1."""
    return np.repeat(np.where(np.pad(symbol.modules[0], QUIET), 0.0, 1.0), STEPS)


@pytest.mark.parametrize("dark", [True, False])
@pytest.mark.parametrize(
    ("depth", "grade"), [(0.10, 4), (0.15, 4), (0.18, 3), (0.24, 2), (0.29, 1), (0.35, 0)]
)  # fmt: skip
def test_a_void_or_a_spot_is_a_defect_of_its_depth(symbol, dark, depth, grade):
    profile = straight(symbol)
    start, length = widest(symbol, dark=dark)
    middle = (QUIET + start) * STEPS + length * STEPS // 2
    profile[middle - 5 : middle + 5] += depth if dark else -depth
    (line,) = scan_lines([profile], symbol.modules[0])
    assert line.measures.defects == pytest.approx(depth)
    assert line.grades(GradeMethod.WHOLE_2011) == ALL_4 | {NAME.DEFECTS: grade}
    assert line.grade(GradeMethod.WHOLE_2011) == grade


def test_a_slope_is_no_defect_but_what_is_undone_again_is():
    rising = ScanProfile(reflectance=np.concatenate([np.linspace(1.0, 0.8, 50), np.zeros(20), np.ones(50)]))
    assert rising.measure().defects == 0.0
    assert rising.measure().edge_contrast == pytest.approx(1.0)
    bumped = ScanProfile(reflectance=np.concatenate([np.ones(50), np.zeros(20), [0.2] * 5, np.zeros(20), np.ones(50)]))
    assert bumped.measure().defects == pytest.approx(0.2)


def test_a_profile_without_bars_measures_nothing_and_fails(symbol):
    (line,) = scan_lines([np.full(4000, 0.7)], symbol.modules[0])
    assert (line.decoded, line.grade(GradeMethod.WHOLE_2011)) == (False, 0.0)


@pytest.mark.parametrize("moved", [0.1, 0.2, 0.3])
def test_decodability_of_one_moved_edge(symbol, moved):
    # An inner edge moved by m modules changes two distances between similar edges: 1 - 2 m is left. Samples are 1/20.
    profile = straight(symbol)
    start, _ = widest(symbol, dark=False)
    edge = (QUIET + start) * STEPS
    profile[edge : edge + round(moved * STEPS)] = 0.0
    (line,) = scan_lines([profile], symbol.modules[0])
    assert line.decodability == pytest.approx(1.0 - 2.0 * moved, abs=0.06)


def test_an_edge_moved_too_far_is_not_decoded(symbol):
    profile = straight(symbol)
    start, length = widest(symbol, dark=False)
    edge = (QUIET + start) * STEPS
    profile[edge : edge + round(0.6 * STEPS)] = 0.0
    (line,) = scan_lines([profile], symbol.modules[0])
    assert length > 1
    assert (line.decoded, line.decodability, line.grade(GradeMethod.WHOLE_2011)) == (False, 0.0, 0.0)


def test_damage_to_three_of_ten_lines_lowers_the_mean(symbol):
    # The lines lie at 10, 18.9, 27.8 ... 90 % of the height; a smear of ink over the middle space from 35 % to 58 %
    # meets those at 36.7, 45.6 and 54.4 %.
    picture = drawn(symbol)
    start, length = widest(symbol, dark=False)
    left = (SIDE + start) * PX
    top = ABOVE + round(0.32 * HEIGHT)
    picture[top : ABOVE + round(0.59 * HEIGHT), left : left + length * PX] = INK
    found = grade_linear(picture, reading_of(symbol))
    assert found.grade == pytest.approx(0.7 * 4.0)
    assert grades(found)[NAME.DECODE] == pytest.approx(0.7 * 4.0)


def test_something_dark_in_the_quiet_zone_fails(symbol):
    picture = drawn(symbol)
    picture[:, (SIDE - 6) * PX : (SIDE - 5) * PX] = INK
    found = grade_linear(picture, reading_of(symbol))
    assert grades(found) == ALL_4 | {NAME.QUIET_ZONE: 0.0}


def test_continuous_grades(symbol):
    # SC = 0.30 has grade 1.5 in the 2016 edition [V2].
    found = graded(drawn(symbol, ink=20, stock=97), reflectance=WHITE, method=GradeMethod.CONTINUOUS)
    assert found.find(NAME.SYMBOL_CONTRAST).value == pytest.approx(0.302, abs=0.001)
    assert found.grade == 1.5


@pytest.mark.parametrize("turn", [0.0, 9.0, 190.0])
def test_a_simulated_photograph_finds_the_whole_height(symbol, turn):
    piece = camera.Piece(print=drawn(symbol), px_per_mm=40.0, turn=turn)
    photo = camera.photograph(
        [piece],
        camera=camera.Camera(width=900, height=700, px_per_mm=24.0, distance=1000.0),
        rng=np.random.default_rng(4),
    )
    grade = graded(np.ascontiguousarray(photo.rgb[..., 1]), x=0.25)
    near, right, top, low = (side / 40.0 for side in (SIDE * PX, (SIDE + symbol.columns) * PX, ABOVE, ABOVE + HEIGHT))
    true = photo.positions([(near, top), (right, top), (right, low), (near, low)])
    # Found to one module along the bars and across them.
    assert np.abs(np.array(grade.corners) - true).max() < grade.pixels_per_module
    assert grades(grade)[NAME.DECODE] == 4.0
    assert grade.overall.startswith(f"{grade.grade:.1f}/08/")


def test_gs1_128_is_written_again_with_its_fnc1():
    symbol = write_code_128(Payload(text="10123456", fnc1_first=True, mode=IdentifierMode.GS1))
    assert graded(drawn(symbol)).grade == 4.0


def test_too_few_pixels(symbol):
    picture = np.ascontiguousarray(drawn(symbol)[:, ::5])
    (finding,) = grade_picture(picture)
    assert isinstance(finding, NotGraded)
    assert finding.reason.startswith("too few pixels to grade: 2.0 a module, at least 3 are needed")


def test_another_symbol_and_another_kind_are_not_graded(symbol):
    other = write_code_128(Payload(text="ZZ98765", fnc1_first=False, mode=IdentifierMode.IN_HOUSE))
    finding = grade_linear(drawn(other), reading_of(symbol))
    assert isinstance(finding, NotGraded)
    assert finding.reason.startswith("what is seen is not the symbol of the text that was read")
    matrix = write_data_matrix(symbol.payload)
    grey = np.where(np.pad(matrix.modules, 4), 0, 255).astype(np.uint8)
    picture = np.repeat(np.repeat(grey, 6, axis=0), 6, axis=1)
    (reading,) = read_symbols(picture)
    assert grade_linear(picture, reading) == NotGraded(reason="Data Matrix is not graded here", text="AB12345")
