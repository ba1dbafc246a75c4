"""The GS1 symbol specification tables, row by row."""

import pytest

from tracelabels.symbols import SPECIFICATIONS, Release, Symbology, find_specification

PUBLISHED = {
    # BWIPP render.ps.src (2026-07); tables 6 and 7 also in a note on GS1 General Specifications R26.0, 5.12.3.6 and .7.
    ("1 addendum 2", Symbology.DATA_MATRIX): (0.396, 0.495, 0.990, None),
    ("1 addendum 2", Symbology.QR): (0.396, 0.495, 0.990, None),
    ("4", Symbology.DATA_MATRIX): (0.380, 0.380, 0.495, None),
    ("4", Symbology.QR): (0.380, 0.380, 0.495, None),
    ("4", Symbology.CODE_128): (0.250, 0.495, 0.495, 12.70),
    ("6", Symbology.DATA_MATRIX): (0.254, 0.380, 0.990, None),
    ("6", Symbology.CODE_128): (0.170, 0.495, 0.495, 12.70),
    ("7", Symbology.DATA_MATRIX): (0.254, 0.300, 0.615, None),
    ("7", Symbology.QR): (0.254, 0.300, 0.615, None),
    ("7 DPM-A", Symbology.DATA_MATRIX): (0.100, 0.200, 0.300, None),
    ("7 DPM-B", Symbology.DATA_MATRIX): (0.200, 0.300, 0.495, None),
    ("8", Symbology.DATA_MATRIX): (0.750, 0.750, 1.520, None),
    ("8", Symbology.QR): (0.750, 0.750, 1.520, None),
    ("8", Symbology.CODE_128): (0.495, 0.495, 1.016, 31.75),
    ("9", Symbology.DATA_MATRIX): (0.380, 0.380, 0.495, None),
    ("9", Symbology.QR): (0.380, 0.380, 0.495, None),
    ("9", Symbology.CODE_128): (0.250, 0.250, 0.495, 12.70),
    ("10", Symbology.DATA_MATRIX): (0.396, 0.495, 0.990, None),
    ("10", Symbology.CODE_128): (0.264, 0.330, 0.660, 12.70),
    ("11", Symbology.DATA_MATRIX): (0.254, 0.380, 0.495, None),
    ("11", Symbology.QR): (0.254, 0.380, 0.495, None),
    ("11", Symbology.CODE_128): (0.170, 0.250, 0.495, 12.70),
}


@pytest.mark.parametrize(("table", "symbology"), PUBLISHED)
def test_published_rows(table, symbology):
    row = find_specification(table, symbology)
    assert row is not None
    assert (row.minimum, row.target, row.maximum, row.bar_height) == PUBLISHED[table, symbology]


def test_no_row_beyond_the_published_ones():
    assert {(row.table, kind) for row in SPECIFICATIONS for kind in row.symbologies} == set(PUBLISHED)
    assert find_specification("6", Symbology.QR) is None
    assert find_specification("6", Symbology.MICRO_QR) is None


@pytest.mark.parametrize(
    ("table", "release", "largest"),
    [
        ("1 addendum 2", Release.TRANSCRIPT, 0.743),
        ("1 addendum 2", Release.R26, 0.990),
        ("6", Release.OLDER, 0.495),
        ("6", Release.R26, 0.990),
    ],
)
def test_releases_that_disagree_are_kept_apart(table, release, largest):
    row = find_specification(table, Symbology.DATA_MATRIX, release=release)
    assert row is not None
    assert row.maximum == largest


def test_a_title_names_table_and_release():
    row = find_specification("6", Symbology.DATA_MATRIX)
    assert row is not None
    assert row.title == "GS1 symbol specification table 6 (GS1 General Specifications R26.0 (January 2026))"
