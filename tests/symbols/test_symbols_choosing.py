"""Choosing: published footprints and arcs, the preference on tubes, and laws over drawn spaces."""

import math

import numpy as np
import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from tracelabels.errors import NoRoomError, SymbolError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.lengths import Mm, dots_as_mm
from tracelabels.symbols import (
    ChoicePolicy,
    DataMatrixShape,
    ShapeFamily,
    Space,
    Symbology,
    TubeAxis,
    choose_symbol,
    shapes_of,
    write_data_matrix,
)

IN_HOUSE = Payload(text="1727113013261120101234\x1d21010000017", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
WITH_GTIN = Payload(text="01095011015300031727113010AB-123", fnc1_first=True, mode=IdentifierMode.GS1)
SERIAL = Payload(text="0100000171", fnc1_first=False, mode=IdentifierMode.IN_HOUSE)
SQUARES = ChoicePolicy(shapes=frozenset(shapes_of(ShapeFamily.SQUARE)))


def only(shape: str) -> ChoicePolicy:
    return ChoicePolicy(shapes=frozenset({DataMatrixShape(shape)}))


def tube(width: float, height: float, diameter: float, axis: TubeAxis = TubeAxis.WIDTH) -> Space:
    return Space(width=Mm(width), height=Mm(height), tube_diameter=Mm(diameter), axis=axis)


def flat(width: float, height: float) -> Space:
    return Space(width=Mm(width), height=Mm(height))


def text_for(shape: str) -> Payload:
    """Return digits that just fill a shape."""
    return Payload(text="12" * DataMatrixShape(shape).data_codewords, fnc1_first=False, mode=IdentifierMode.IN_HOUSE)


def test_published_footprints(rows_of):
    for row in rows_of("data_matrix_footprints.tsv"):
        width, height, dots = float(row["width"]), float(row["height"]), int(row["dots"])
        wishes = {"dpi": 300, "policy": only(row["shape"])}
        chosen = choose_symbol(text_for(row["shape"]), flat(width + 0.01, height + 0.01), **wishes)
        assert (chosen.symbol.version, chosen.x, chosen.quarter_turns) == (row["shape"], dots, 0)
        assert [round(dots_as_mm(side, 300), 2) for side in chosen.size_with_quiet_zone] == [width, height]
        # A tenth less in the height, and the module is a dot smaller.
        smaller = choose_symbol(text_for(row["shape"]), flat(width + 0.01, height - 0.1), smallest_x=Mm(0.08), **wishes)
        assert smaller.x < dots


def test_published_arcs(rows_of):
    for row in rows_of("curved_surface_sixth.tsv"):
        arc = tube(50, 50, float(row["diameter"])).longest_arc
        assert arc is not None
        assert f"{arc:.2f}".startswith(row["widest"]) or f"{arc:.1f}" == row["widest"]


@pytest.mark.parametrize(
    ("diameter", "dpi", "shape", "dots"),
    [
        # 60 degrees of the tube in whole dots over the modules round it: 2.98 mm = 35 dots at 300 dpi, 35 // 8 = 4.
        (5.7, 300, "8x32", 4),
        (5.7, 300, "12x36", 2),
        (7.8, 300, "12x36", 4),
        (10.8, 300, "12x36", 5),
        (10.8, 300, "16x36", 4),
        (10.8, 203, "12x36", 3),
        (10.8, 600, "12x36", 11),
        (10.8, 300, "20x20", 3),
        (10.8, 300, "16x16", 4),
        (13.0, 300, "18x18", 4),
    ],
)
def test_the_sixth_of_the_tube_bounds_the_module(diameter, dpi, shape, dots):
    chosen = choose_symbol(text_for(shape), tube(60, 60, diameter), dpi=dpi, smallest_x=Mm(0.1), policy=only(shape))
    assert (chosen.symbol.version, chosen.x) == (shape, dots)


def test_a_rectangle_along_the_tube_goes_before_the_square():
    space = tube(20, 8, 10.8)
    chosen = choose_symbol(IN_HOUSE, space, dpi=300)
    assert (chosen.symbol.version, chosen.x, chosen.quarter_turns) == ("12x36", 5, 0)
    # The square would be 18x18 at 3 dots; flat it is the rectangle, too, because it is larger there.
    assert choose_symbol(IN_HOUSE, space, dpi=300, policy=SQUARES).x == 3


def test_the_square_goes_first_when_it_is_clearly_larger():
    # 10.6 mm along the tube: 12x36 gets 3 dots (0.254 mm), the square of 18 modules 5 dots on a thick tube.
    space = tube(10.6, 10.6, 15)
    by_default = choose_symbol(IN_HOUSE, space, dpi=300)
    assert (by_default.symbol.version, by_default.x) == ("18x18", 5)
    kept = choose_symbol(IN_HOUSE, space, dpi=300, policy=ChoicePolicy(square_advantage=1.7))
    assert (kept.symbol.version, kept.x) == ("12x36", 3)


def test_the_long_side_lies_along_the_tube_whichever_way_the_space_lies():
    upright = choose_symbol(IN_HOUSE, tube(8, 20, 10.8, TubeAxis.HEIGHT), dpi=300)
    lying = choose_symbol(IN_HOUSE, tube(20, 8, 10.8, TubeAxis.WIDTH), dpi=300)
    assert (upright.symbol.version, upright.quarter_turns, upright.x) == ("12x36", 1, lying.x)
    assert upright.size == lying.size[::-1]
    assert np.array_equal(upright.modules, np.rot90(lying.modules))
    # The wide side free round the tube is of no use: no symbol lies across it.
    with pytest.raises(NoRoomError):
        choose_symbol(IN_HOUSE, tube(5, 20, 10.8, TubeAxis.WIDTH), dpi=300, smallest_x=Mm(0.25), policy=only("12x36"))


def test_on_a_flat_label_the_largest_module_wins_then_the_square():
    wide = choose_symbol(IN_HOUSE, flat(20, 8), dpi=300)
    assert (wide.symbol.version, wide.x) == ("12x36", 6)
    high = choose_symbol(IN_HOUSE, flat(8, 20), dpi=300)
    assert (high.symbol.version, high.x, high.quarter_turns) == ("12x36", 6, 1)
    even = choose_symbol(IN_HOUSE, flat(13, 6.9), dpi=300)
    assert (even.symbol.version, even.x) == ("18x18", 4)


def test_a_cap_disc_of_11_mm_takes_18_modules_at_the_target():
    # The square in a circle: 18x18 with quiet zone at 0.380 has a diagonal of 10.75 mm, so a side of 7.6 mm is free.
    chosen = choose_symbol(IN_HOUSE, flat(7.63, 7.63), dpi=600, policy=SQUARES)
    assert (chosen.symbol.version, chosen.x) == ("18x18", 9)
    assert chosen.x_dimension == pytest.approx(0.381)
    assert chosen.warnings == ()


def test_never_an_extended_rectangle_unless_its_shape_is_allowed():
    space = tube(40, 5, 7.8)
    assert DataMatrixShape(choose_symbol(WITH_GTIN, space, dpi=300).symbol.version).family is not ShapeFamily.EXTENDED
    asked = choose_symbol(WITH_GTIN, space, dpi=300, policy=only("8x64"))
    assert asked.symbol.version == "8x64"


def test_the_smallest_and_the_largest_module_are_kept():
    assert choose_symbol(SERIAL, flat(30, 30), dpi=300, largest_x=Mm(0.5)).x == 5
    assert choose_symbol(SERIAL, flat(30, 30), dpi=300, largest_x=Mm(0.508)).x == 6
    with pytest.raises(NoRoomError) as refused:
        choose_symbol(SERIAL, flat(30, 30), dpi=300, smallest_x=Mm(0.26), largest_x=Mm(0.33))
    assert str(refused.value) == (
        "modules of 0.260 to 0.330 mm at 300 dpi; expected a range that holds a whole number of dots of 0.0847 mm; "
        "widen the range or use a printer with a finer resolution"
    )


TABLE_6 = "GS1 symbol specification table 6 (GS1 General Specifications R26.0 (January 2026))"


def test_two_dots_at_203_dpi_are_just_below_table_6():
    chosen = choose_symbol(IN_HOUSE, flat(5.1, 5.1), dpi=203)
    assert (chosen.symbol.version, chosen.x) == ("18x18", 2)
    (warning,) = chosen.warnings
    assert warning == (
        f"X 0.250 mm (2 dots at 203 dpi) is below the minimum of {TABLE_6}: minimum 0.254 mm, target 0.380 mm"
    )
    assert choose_symbol(IN_HOUSE, flat(5.1, 5.1), dpi=300).warnings == ()


def test_other_limits_are_quoted_by_their_table():
    (too_wide,) = choose_symbol(SERIAL, flat(30, 30), dpi=300, largest_x=Mm(2)).warnings
    assert too_wide == (
        f"X 1.947 mm (23 dots at 300 dpi) is above the maximum of {TABLE_6}: maximum 0.990 mm, target 0.380 mm"
    )
    small = choose_symbol(SERIAL, flat(8, 8), dpi=300, policy=ChoicePolicy(table="8"))
    assert small.warnings[0].startswith("X 0.508 mm (6 dots at 300 dpi) is below the minimum of GS1 symbol")
    qr = choose_symbol(SERIAL, flat(30, 30), dpi=300, symbologies=(Symbology.QR,))
    assert qr.warnings == ("GS1 symbol specification table 6 lists no limits for QR",)


def test_code_128_lies_along_the_tube_with_bars_round_it():
    space = tube(40, 12, 10.8)
    chosen = choose_symbol(SERIAL, space, dpi=300, symbologies=(Symbology.CODE_128,))
    # 5 pairs, start, check, stop: 7 x 11 + 13 = 90 modules and 20 of quiet zone; 40 mm are 472 dots, 472 // 110 = 4.
    assert (chosen.symbol.columns, chosen.x, chosen.quarter_turns) == (90, 4, 0)
    assert chosen.bar_height == 66
    assert chosen.size_with_quiet_zone == (440, 66)
    assert chosen.warnings == (f"bars of 5.59 mm are lower than {TABLE_6} wishes: 12.70 mm",)
    upright = choose_symbol(SERIAL, tube(12, 40, 10.8, TubeAxis.HEIGHT), dpi=300, symbologies=(Symbology.CODE_128,))
    assert (upright.quarter_turns, upright.size_with_quiet_zone, upright.size) == (1, (66, 440), (66, 360))
    with pytest.raises(NoRoomError) as refused:
        choose_symbol(SERIAL, tube(40, 12, 7.8), dpi=300, symbologies=(Symbology.CODE_128,))
    assert str(refused.value) == (
        "a free space of 40.00 x 12.00 mm on a tube of 7.80 mm; expected at least 27.94 x 5.08 mm and a tube of at "
        "least 9.70 mm at 300 dpi with X 0.254 mm (3 dots), as Code 128 128; "
        "give the symbol more room, shorten the text, or use a finer printer"
    )


def test_several_kinds_compete_and_those_that_cannot_carry_the_text_are_passed_over():
    kinds = (Symbology.MICRO_QR, Symbology.QR, Symbology.DATA_MATRIX)
    assert choose_symbol(SERIAL, flat(8, 8), dpi=300, symbologies=kinds).symbol.version == "12x12"
    assert choose_symbol(SERIAL, flat(8, 8), dpi=300, symbologies=kinds[:2]).symbol.version == "M2-L"
    assert choose_symbol(WITH_GTIN, flat(15, 15), dpi=300, symbologies=kinds[:2]).symbol.symbology is Symbology.QR
    with pytest.raises(SymbolError) as refused:
        choose_symbol(WITH_GTIN, flat(15, 15), dpi=300, symbologies=kinds[:1])
    assert str(refused.value) == (
        "a text of 32 characters for Micro QR; expected a text that one of these can carry in the sizes allowed; "
        "shorten the text, or allow another kind or larger sizes"
    )
    for policy in (only("8x18"), only("10x10"), ChoicePolicy(shapes=frozenset())):
        with pytest.raises(SymbolError, match="32 characters for Data Matrix; expected a text that one"):
            choose_symbol(WITH_GTIN, flat(15, 15), dpi=300, policy=policy)


def test_a_refusal_says_what_would_fit():
    with pytest.raises(NoRoomError) as refused:
        choose_symbol(IN_HOUSE, tube(9, 3, 10.8), dpi=300, smallest_x=Mm(0.254), policy=only("12x36"))
    assert str(refused.value) == (
        "a free space of 9.00 x 3.00 mm on a tube of 10.80 mm; expected at least 9.65 x 3.56 mm and a tube of at least "
        "5.82 mm at 300 dpi with X 0.254 mm (3 dots), as Data Matrix 12x36; "
        "give the symbol more room, shorten the text, or use a finer printer"
    )
    with pytest.raises(NoRoomError, match=r"at least 3\.56 x 9\.65 mm and a tube of at least 5\.82 mm at 300 dpi"):
        choose_symbol(IN_HOUSE, tube(3, 9, 10.8, TubeAxis.HEIGHT), dpi=300, smallest_x=Mm(0.254), policy=only("12x36"))
    with pytest.raises(NoRoomError) as refused:
        choose_symbol(IN_HOUSE, flat(4, 4), dpi=300, smallest_x=Mm(0.254))
    assert "expected at least 5.08 x 5.08 mm at 300 dpi with X 0.254 mm (3 dots), as Data Matrix 18x18" in str(
        refused.value
    )


@pytest.mark.parametrize("dpi", [0, -300])
def test_no_resolution(dpi):
    with pytest.raises(SymbolError) as refused:
        choose_symbol(SERIAL, flat(8, 8), dpi=dpi)
    assert str(refused.value) == (
        f"a resolution of {dpi} dots per inch; expected a positive number; "
        "give the printer's resolution, often 203, 300 or 600"
    )


@pytest.mark.parametrize(
    "sides",
    [
        {"width": 0, "height": 5},
        {"width": 5, "height": -1},
        {"width": math.nan, "height": 5},
        {"width": math.inf, "height": 5},
        {"width": 5, "height": 5, "tube_diameter": 10.8},
        {"width": 5, "height": 5, "axis": TubeAxis.WIDTH},
        {"width": 5, "height": 5, "tube_diameter": 0, "axis": TubeAxis.WIDTH},
    ],
)
def test_what_is_no_space_is_refused(sides):
    with pytest.raises(SymbolError):
        Space(**sides)


payloads = st.sampled_from([IN_HOUSE, WITH_GTIN, SERIAL])
lengths = st.floats(2, 30).map(Mm)
axes = st.sampled_from([None, TubeAxis.WIDTH, TubeAxis.HEIGHT])
kinds_drawn = st.sampled_from([(Symbology.DATA_MATRIX,), (Symbology.CODE_128,), (Symbology.QR, Symbology.DATA_MATRIX)])


@given(
    payload=payloads,
    width=lengths,
    height=lengths,
    diameter=st.floats(5, 30).map(Mm),
    axis=axes,
    dpi=st.sampled_from([203, 300, 600, 1200]),
    symbologies=kinds_drawn,
)
@settings(max_examples=400, deadline=None)
def test_laws_of_a_choice(payload, width, height, diameter, axis, dpi, symbologies):
    space = Space(width=width, height=height, tube_diameter=None if axis is None else diameter, axis=axis)
    try:
        chosen = choose_symbol(payload, space, dpi=dpi, symbologies=symbologies)
    except NoRoomError:
        reject()
    assert isinstance(chosen.x, int)
    assert 0.2 <= chosen.x_dimension <= 0.99
    assert fits(chosen.size_with_quiet_zone, chosen.size, space, dpi)
    # A dot more in each module, and it would not.
    larger = [side + side // chosen.x if side % chosen.x == 0 else side for side in chosen.size_with_quiet_zone]
    bare = [side + side // chosen.x if side % chosen.x == 0 else side for side in chosen.size]
    assert not fits(larger, bare, space, dpi) or dots_as_mm(chosen.x + 1, dpi) > 0.99 or chosen.bar_height is not None
    if axis is not None and chosen.symbol.rows != chosen.symbol.columns:
        wide, high = chosen.size
        assert (wide > high) == (axis is TubeAxis.WIDTH) or chosen.bar_height is not None


def fits(whole, bare, space: Space, dpi: int) -> bool:
    """Say whether sides in dots lie within a space, and within a sixth of its tube."""
    width, height = (side * 25.4 / dpi for side in whole)
    inside = width <= space.width + 1e-6 and height <= space.height + 1e-6
    if space.axis is None:
        return inside
    round_the_tube = bare[1 if space.axis is TubeAxis.WIDTH else 0] * 25.4 / dpi
    return inside and round_the_tube <= math.pi * space.tube_diameter / 6 + 1e-6


def brute_force(space: Space, dpi: int, shape: DataMatrixShape) -> int:
    """Return the largest module of a shape in dots by trying every one, both ways round; 0 if none fits."""
    best = 0
    for rows, columns in {(shape.rows, shape.columns), (shape.columns, shape.rows)}:
        if space.axis is not None and rows != columns and (columns > rows) != (space.axis is TubeAxis.WIDTH):
            continue
        for x in range(1, 200):
            ok = fits(((columns + 2) * x, (rows + 2) * x), (columns * x, rows * x), space, dpi)
            if ok and 0.2 <= x * 25.4 / dpi <= 0.99:
                best = max(best, x)
    return best


@given(payload=payloads, width=lengths, height=lengths, diameter=st.floats(5, 30).map(Mm), axis=axes)
@settings(max_examples=120, deadline=None)
def test_no_other_shape_would_have_been_preferred(payload, width, height, diameter, axis):
    space = Space(width=width, height=height, tube_diameter=None if axis is None else diameter, axis=axis)
    scores = {}
    for shape in (*shapes_of(ShapeFamily.SQUARE)[:12], *shapes_of(ShapeFamily.RECTANGLE)):
        try:
            write_data_matrix(payload, shape=shape)
        except SymbolError:
            continue
        advantage = 1.5 if axis is not None and shape.family is ShapeFamily.SQUARE else 1
        scores[shape.value] = brute_force(space, 300, shape) / advantage
    try:
        chosen = choose_symbol(payload, space, dpi=300)
    except NoRoomError:
        assert max(scores.values()) == 0
        return
    assert scores[chosen.symbol.version] == max(scores.values())
