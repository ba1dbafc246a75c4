"""Every constructed and published point of the grades. Marks: [V2] read in a text that quotes the standard, [D] derived
from the formula, [M] from memory."""  # fmt: skip

import numpy as np
import pytest

from tracelabels.legibility.grades import GradeMethod, scale
from tracelabels.legibility.grades.code_128_decoding import decodability, element_widths
from tracelabels.legibility.grades.linear import symbol_grade
from tracelabels.legibility.grades.matrix_grades import ModuleReflectances, module_modulation
from tracelabels.legibility.grades.uniformity import axial_nonuniformity
from tracelabels.symbols.codewords import unused_error_correction

WHOLE, CONTINUOUS = GradeMethod.WHOLE_2011, GradeMethod.CONTINUOUS

# ISO/IEC 15416 and 15415:2011, thresholds [V2]: the values with grades 4, 3, 2, 1, and one beyond.
STEPS = {
    "symbol contrast": (scale.SYMBOL_CONTRAST, (0.70, 0.55, 0.40, 0.20), 0.199),
    "linear modulation": (scale.LINEAR_MODULATION, (0.70, 0.60, 0.50, 0.40), 0.399),
    "defects": (scale.LINEAR_DEFECTS, (0.15, 0.20, 0.25, 0.30), 0.301),
    "decodability": (scale.LINEAR_DECODABILITY, (0.62, 0.50, 0.37, 0.25), 0.249),
    "module modulation": (scale.MODULE_MODULATION, (0.50, 0.40, 0.30, 0.20), 0.199),
    "axial non-uniformity": (scale.AXIAL_NONUNIFORMITY, (0.06, 0.08, 0.10, 0.12), 0.121),
    "grid non-uniformity": (scale.GRID_NONUNIFORMITY, (0.38, 0.50, 0.63, 0.75), 0.751),
    "unused error correction": (scale.UNUSED_ERROR_CORRECTION, (0.62, 0.50, 0.37, 0.25), 0.249),
    "solid sides and quiet zones": (scale.SOLID_DAMAGE, (0.0, 0.09, 0.13, 0.17), 0.171),
    "average of the fixed pattern [M]": (scale.AVERAGE_DAMAGE, (4.0, 3.5, 3.0, 2.5), 2.49),
}


@pytest.mark.parametrize("name", STEPS)
def test_whole_grades_begin_at_their_thresholds(name):
    thresholds, levels, beyond = STEPS[name]
    assert [thresholds.grade(level, WHOLE) for level in (*levels, beyond)] == [4.0, 3.0, 2.0, 1.0, 0.0]
    just_worse = 1e-6 if thresholds.rising else -1e-6
    assert [thresholds.grade(level + just_worse, WHOLE) for level in levels] == [3.0, 2.0, 1.0, 0.0]


def test_the_clock_track_is_worse_at_its_very_limit():
    # GS1 guideline table, as cited in public code [V2]: less than 10, 15, 20, 25 %.
    shares = (0.0, 0.099, 0.10, 0.149, 0.15, 0.20, 0.249, 0.25, 1.0)
    assert [scale.clock_track_grade(share, WHOLE) for share in shares] == [4, 4, 3, 3, 2, 1, 1, 0, 0]


@pytest.mark.parametrize(
    ("thresholds", "value", "grade"),
    [
        # Published points of the 2016 edition [V2].
        (scale.SYMBOL_CONTRAST, 0.30, 1.5),
        (scale.SYMBOL_CONTRAST, 0.175, 0.5),
        (scale.LINEAR_MODULATION, 0.59, 2.9),
        (scale.LINEAR_MODULATION, 0.60, 3.0),
        (scale.LINEAR_MODULATION, 0.61, 3.1),
        (scale.LINEAR_MODULATION, 0.62, 3.2),
        (scale.LINEAR_MODULATION, 0.63, 3.3),
        (scale.LINEAR_MODULATION, 0.64, 3.4),
        (scale.LINEAR_MODULATION, 0.65, 3.5),
        (scale.LINEAR_MODULATION, 0.69, 3.9),
        (scale.LINEAR_MODULATION, 0.70, 4.0),
        # Lower tails [V2]: modulation 30 to 39 % and decodability 20 to 24 % have 0.1 to 0.9, defects nothing.
        (scale.LINEAR_MODULATION, 0.31, 0.1),
        (scale.LINEAR_MODULATION, 0.39, 0.9),
        (scale.LINEAR_MODULATION, 0.29, 0.0),
        (scale.LINEAR_DECODABILITY, 0.24, 0.8),
        (scale.LINEAR_DECODABILITY, 0.19, 0.0),
        (scale.LINEAR_DEFECTS, 0.30, 1.0),
        (scale.LINEAR_DEFECTS, 0.301, 0.0),
        # Companions [D].
        (scale.SYMBOL_CONTRAST, 0.625, 3.5),
        (scale.LINEAR_DECODABILITY, 0.56, 3.5),
        (scale.LINEAR_DEFECTS, 0.175, 3.5),
        # Ends.
        (scale.SYMBOL_CONTRAST, 0.15, 0.0),
        (scale.SYMBOL_CONTRAST, 1.0, 4.0),
        (scale.AXIAL_NONUNIFORMITY, 0.0, 4.0),
        (scale.AXIAL_NONUNIFORMITY, 0.13, 0.0),
    ],
)
def test_continuous_grades(thresholds, value, grade):
    assert thresholds.grade(value, CONTINUOUS) == grade


@pytest.mark.parametrize("name", STEPS)
def test_both_methods_agree_at_the_thresholds(name):
    thresholds, levels, _ = STEPS[name]
    assert [thresholds.grade(level, CONTINUOUS) for level in levels] == [4.0, 3.0, 2.0, 1.0]


# 18x18 has 14 check codewords, 10x10 has 5 [D].
@pytest.mark.parametrize(
    ("capacity", "errors", "unused", "grade"),
    [
        (14, 0, 1.0, 4), (14, 2, 0.714, 4), (14, 3, 0.571, 3), (14, 4, 0.429, 2), (14, 5, 0.286, 1), (14, 6, 0.143, 0),
        (5, 1, 0.60, 3), (5, 2, 0.20, 0),
    ],
)  # fmt: skip
def test_unused_error_correction(capacity, errors, unused, grade):
    value = unused_error_correction(errors=errors, erasures=0, capacity=capacity)
    assert value == pytest.approx(unused, abs=0.0005)
    assert scale.UNUSED_ERROR_CORRECTION.grade(value, WHOLE) == grade


def test_an_erasure_costs_half_an_error_and_nothing_falls_below_0():
    assert unused_error_correction(errors=0, erasures=4, capacity=14) == pytest.approx(1 - 4 / 14)
    assert unused_error_correction(errors=8, erasures=0, capacity=14) == 0.0


def test_a_published_pair_of_module_sizes():
    # Xavg 0.338, Yavg 0.360 [D].
    value = axial_nonuniformity(0.338, 0.360)
    assert value == pytest.approx(0.063, abs=0.0005)
    assert scale.AXIAL_NONUNIFORMITY.grade(value, WHOLE) == 3.0
    assert axial_nonuniformity(0.360, 0.338) == value


def test_a_module_near_the_threshold():
    # R 42 %, Rmin 8 %, Rmax 82 %: SC 74 %, GT 45 %, MOD 0.081, level 0 [D].
    modules = ModuleReflectances(reflectance=np.array([[0.42, 0.08, 0.82]]), dark=np.array([[True, True, False]]))
    assert (modules.contrast, modules.threshold) == (pytest.approx(0.74), pytest.approx(0.45))
    assert modules.modulation[0, 0] == pytest.approx(0.081, abs=0.0005)
    assert modules.modulation[0, 1:] == pytest.approx([1.0, 1.0])
    assert scale.MODULE_MODULATION.grade(float(modules.modulation[0, 0]), WHOLE) == 0.0
    assert not modules.wrong.any()


def test_margin_is_modulation_for_the_right_side_and_0_for_the_wrong():
    modules = ModuleReflectances(reflectance=np.array([[0.1, 0.9, 0.2]]), dark=np.array([[True, False, False]]))
    assert modules.wrong.tolist() == [[False, False, True]]
    assert modules.margin[0] == pytest.approx([1.0, 1.0, 0.0])
    assert modules.modulation[0, 2] == pytest.approx(0.75)
    assert module_modulation(np.array([0.5]), threshold=0.5, contrast=0.0) == pytest.approx([0.0])


def test_letters():
    # Limits [M].
    grades = (4.0, 3.5, 3.4, 2.5, 1.5, 1.4, 0.5, 0.4)
    assert "".join(scale.letter(grade) for grade in grades) == "AABBCDDF"


def test_a_linear_symbol_has_the_mean_of_its_scans():
    # Mean of ten scans [V2].
    assert symbol_grade([4, 4, 4, 4, 4, 4, 4, 4, 4, 2]) == 3.8
    assert symbol_grade([1] * 5 + [2] * 5) == 1.5


CHARACTER = np.array([2, 1, 1, 2, 3, 2, 2, 3, 3, 1, 1, 1, 2])
"""A character of Code 128 and the stop character (ISO/IEC 15417: 2 3 3 1 1 1 2)."""


def edges_of(widths: np.ndarray) -> np.ndarray:
    return np.concatenate([[0.0], np.cumsum(widths)])


def test_decodability_of_perfect_bars_is_1_at_any_size():
    assert decodability(edges_of(CHARACTER) * 3.7 + 11.0, CHARACTER) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("moved", "left"),
    # One inner edge moved by m modules changes two distances between similar edges by m; the thresholds are half a
    # module away, so that 1 - 2 m is left [D].
    [(0.0, 1.0), (0.1, 0.8), (0.25, 0.5), (0.4, 0.2)],
)
def test_decodability_of_a_moved_edge(moved, left):
    edges = edges_of(CHARACTER)
    edges[2] += moved
    assert decodability(edges, CHARACTER) == pytest.approx(left)


def test_a_moved_edge_beyond_the_threshold_is_another_character():
    edges = edges_of(CHARACTER)
    edges[2] += 0.51
    assert decodability(edges, CHARACTER) is None
    assert decodability(edges[:-1], CHARACTER) is None


@pytest.mark.parametrize("growth", [0.1, 0.2, -0.2])
def test_growth_of_all_bars_costs_only_in_their_sum(growth):
    # Three bars a character, each wider by g: 1 - 3 g / 1.75 is left (the formula's second term [M]).
    edges = edges_of(CHARACTER)
    edges[0::2] -= growth / 2.0
    edges[1::2] += growth / 2.0
    # The stop character has a fourth bar, which the decoder does not take into the sum.
    assert decodability(edges, CHARACTER) == pytest.approx(1.0 - 3.0 * abs(growth) / 1.75)


def test_widths_of_bars_and_spaces():
    assert element_widths(np.array([1, 1, 0, 1, 0, 0, 1], dtype=bool)).tolist() == [2, 1, 1, 2, 1]
