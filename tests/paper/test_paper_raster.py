"""What is drawn in printer dots comes back dot for dot."""

import numpy as np
import pytest

from tracelabels.errors import RasterError
from tracelabels.lengths import Dots, Mm, Points
from tracelabels.paper import Paper, page_count, rasterise, rasterise_boxes, rasterise_page


def _checkers(rows: int, columns: int, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).random((rows, columns)) < 0.5


@pytest.mark.parametrize("dpi", [203, 300, 600, 1200])
@pytest.mark.parametrize(("width", "height"), [(210.0, 297.0), (215.9, 279.4), (52.3, 27.1)])
def test_each_module_becomes_whole_pixels_anywhere_on_the_page(dpi, width, height):
    paper = Paper(width=Mm(width), height=Mm(height), dpi=dpi, title="dots")
    columns, rows = int(width * dpi / 25.4), int(height * dpi / 25.4)
    x = max(2, dpi // 100)
    places = [(0, 0), (columns - 18 * x, rows - 12 * x), (columns // 2 + 1, rows // 3), (columns // 3, rows // 2 + 1)]
    drawn = [(left, top, _checkers(12, 18, seed)) for seed, (left, top) in enumerate(places)]
    for left, top, modules in drawn:
        paper.symbol(modules, left=Dots(left), top=Dots(top), x=Dots(x))
    page = rasterise_page(paper.finish(), index=0, dpi=dpi)
    for left, top, modules in drawn:
        got = page[top : top + 12 * x, left : left + 18 * x].astype(int)
        want = np.where(np.kron(modules, np.ones((x, x), bool)), 0, 255)
        # The renderer counts coverage in 1/256 and places in single precision: an edge may be 2 grey levels of 255 off.
        assert np.abs(got - want).max() <= 2


def test_text_lies_where_it_was_put_and_is_as_wide_as_measured():
    from tracelabels.paper import Face, cap_height, text_width

    paper = Paper(width=Mm(80.0), height=Mm(30.0), dpi=600, title="text")
    piece = paper.fragment()
    piece.text("HEH", left=Mm(10.0), baseline=Mm(20.0), size=Points(24.0), face=Face.BOLD)
    paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
    dark = rasterise_page(paper.finish(), index=0, dpi=600) < 128
    rows, columns = np.nonzero(dark)
    dot = 25.4 / 600
    assert (rows.max() + 1) * dot == pytest.approx(20.0, abs=0.05)
    assert rows.min() * dot == pytest.approx(20.0 - cap_height(Points(24.0)), abs=0.05)
    width = text_width("HEH", Face.BOLD, Points(24.0))
    side = 0.8  # an H has a little white on each side of its stems
    assert 10.0 < columns.min() * dot < 10.0 + side
    assert 10.0 + width - side < (columns.max() + 1) * dot < 10.0 + width


@pytest.mark.parametrize(
    ("turns", "box"), [(0, (10, 19, 12, 20)), (1, (9, 18, 10, 20)), (2, (8, 20, 10, 21)), (3, (10, 20, 11, 22))]
)
def test_quarter_turns_are_counter_clockwise_about_the_start(turns, box):
    paper = Paper(width=Mm(40.0), height=Mm(40.0), dpi=300, title="turn")
    piece = paper.fragment()
    piece.solid(left=Mm(0.0), top=Mm(-1.0), width=Mm(2.0), height=Mm(1.0))
    paper.stamp(piece, left=Mm(10.0), top=Mm(20.0), quarter_turns=turns)
    rows, columns = np.nonzero(rasterise_page(paper.finish(), index=0, dpi=300) < 128)
    found = (columns.min(), rows.min(), columns.max() + 1, rows.max() + 1)
    assert [place * 25.4 / 300 for place in found] == pytest.approx(box, abs=0.085)


def test_pages_come_in_order_and_the_same_drawing_gives_the_same_bytes():
    def draw() -> bytes:
        paper = Paper(width=Mm(20.0), height=Mm(20.0), dpi=300, title="two")
        for left in (2.0, 12.0):
            paper.begin_page()
            piece = paper.fragment()
            piece.solid(left=Mm(left), top=Mm(2.0), width=Mm(4.0), height=Mm(4.0))
            paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
        return paper.finish()

    pdf = draw()
    assert pdf == draw()
    assert page_count(pdf) == 2
    starts = [float(np.nonzero(page < 128)[1].min()) * 25.4 / 300 for page in rasterise(pdf, dpi=300)]
    assert starts == pytest.approx([2.0, 12.0], abs=0.085)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (
            lambda: page_count(b"not a document"),
            (
                "14 bytes that do not open as a PDF (Failed to load document (PDFium: Data format error).); "
                "expected a whole PDF without a password; save or export the document again"
            ),
        ),
        (
            lambda: rasterise_page(Paper(width=Mm(9.0), height=Mm(9.0), dpi=300, title="").finish(), index=3, dpi=300),
            "page 4 of a document with 1; expected a page from 1 to 1; choose one of its pages",
        ),
        (
            lambda: rasterise_page(
                Paper(width=Mm(900.0), height=Mm(900.0), dpi=300, title="").finish(), index=0, dpi=2400
            ),
            (
                "a page of 85040 x 85040 pixels at 2400 dpi; expected 1 to 400000000 pixels; "
                "choose a lower resolution or a smaller page"
            ),
        ),
    ],
)
def test_a_document_that_cannot_be_rasterised_is_refused_in_one_sentence(call, sentence):
    with pytest.raises(RasterError) as caught:
        call()
    assert str(caught.value) == sentence


def test_a_picture_lies_where_it_was_put_and_keeps_its_levels():
    paper = Paper(width=Mm(40.0), height=Mm(40.0), dpi=300, title="picture")
    grey = np.repeat(np.repeat(np.array([[0, 255], [128, 64]], dtype=np.uint8), 50, axis=0), 50, axis=1)
    red = np.zeros((4, 4, 3), dtype=np.uint8)
    red[..., 0] = 255
    paper.picture(grey, left=Mm(10.0), top=Mm(5.0), width=Mm(20.0), height=Mm(20.0))
    paper.picture(red, left=Mm(2.0), top=Mm(30.0), width=Mm(5.0), height=Mm(5.0))
    page = rasterise_page(paper.finish(), index=0, dpi=254)  # ten pixels a millimetre
    assert [int(page[y, x]) for y, x in ((100, 150), (100, 250), (200, 150), (200, 250))] == [0, 255, 128, 64]
    assert page[325, 45] == pytest.approx(76, abs=3)  # the luma of red, 0.299 of white
    assert (page[:45] == 255).all()


def test_a_curve_and_a_grey_box_are_drawn_in_their_grey():
    paper = Paper(width=Mm(40.0), height=Mm(40.0), dpi=300, title="curve")
    piece = paper.fragment()
    piece.curve([(Mm(5.0), Mm(5.0)), (Mm(35.0), Mm(5.0)), (Mm(35.0), Mm(20.0))], thickness=Mm(1.0), grey=0.5)
    piece.solid(left=Mm(5.0), top=Mm(25.0), width=Mm(10.0), height=Mm(10.0), grey=0.8)
    piece.solid(left=Mm(25.0), top=Mm(25.0), width=Mm(10.0), height=Mm(10.0))
    paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
    page = rasterise_page(paper.finish(), index=0, dpi=254)
    assert [int(page[y, x]) for y, x in ((50, 200), (150, 350), (300, 100), (300, 300))] == pytest.approx(
        [128, 128, 204, 0], abs=1
    )


def test_parts_of_a_page_are_what_the_whole_page_shows():
    paper = Paper(width=Mm(60.0), height=Mm(30.0), dpi=300, title="parts")
    paper.symbol(_checkers(12, 18, 1), left=Dots(101), top=Dots(53), x=Dots(4))
    pdf = paper.finish()
    whole = rasterise_page(pdf, index=0, dpi=600)
    inner, beyond = rasterise_boxes(pdf, index=0, dpi=600, boxes=[(190, 95, 175, 121), (-20, -10, 60, 40)])
    assert np.abs(inner.astype(int) - whole[95 : 95 + 121, 190 : 190 + 175]).max() <= 2
    assert inner.shape == (121, 175)
    assert inner.min() == 0
    assert beyond.shape == (40, 60)
    assert (beyond == 255).all()


def test_a_part_of_a_page_that_is_not_there_is_refused():
    pdf = Paper(width=Mm(60.0), height=Mm(30.0), dpi=300, title="parts").finish()
    with pytest.raises(RasterError, match=r"^page 2, which does not load"):
        list(rasterise_boxes(pdf, index=1, dpi=300, boxes=[(0, 0, 10, 10)]))


def _levels(draw, *places: tuple[int, int]) -> list[int]:
    """Draw on a page of 40 x 40 mm; return the grey of (left, top) places, ten of them a millimetre."""
    paper = Paper(width=Mm(40.0), height=Mm(40.0), dpi=300, title="levels")
    piece = paper.fragment()
    draw(piece)
    piece.solid(left=Mm(38.0), top=Mm(38.0), width=Mm(1.0), height=Mm(1.0))
    paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
    page = rasterise_page(paper.finish(), index=0, dpi=254)
    assert page[385, 385] == 0  # whatever was drawn before, the next is black, unbroken, unclipped
    return [int(page[y, x]) for x, y in places]


def test_dashes_are_as_long_as_asked_and_end_with_their_curve():
    def draw(piece) -> None:
        piece.curve([(Mm(5.0), Mm(5.0)), (Mm(35.0), Mm(5.0))], thickness=Mm(1.0), dashes=(Mm(4.0), Mm(2.0)))
        piece.line(from_=(Mm(5.0), Mm(10.0)), to=(Mm(35.0), Mm(10.0)), thickness=Mm(1.0))

    dashed = _levels(draw, (60, 50), (85, 50), (95, 50), (105, 50), (115, 50), (145, 50), (160, 50))
    assert dashed == [0, 0, 255, 255, 0, 0, 255]
    assert _levels(draw, (95, 100), (160, 100)) == [0, 0]


def test_a_sharp_peak_ends_where_its_point_is():
    def draw(piece) -> None:
        piece.curve([(Mm(17.9), Mm(30.0)), (Mm(20.0), Mm(10.0)), (Mm(22.1), Mm(30.0))], thickness=Mm(1.0))

    # A mitred corner would reach 4.8 mm further up (0.5 mm / sin 6 degrees); a round one half of the thickness.
    assert _levels(draw, (200, 98), (200, 90), (200, 60)) == [0, 255, 255]


def test_an_area_is_filled_in_its_grey_and_no_further():
    def draw(piece) -> None:
        piece.polygon([(Mm(5.0), Mm(35.0)), (Mm(35.0), Mm(35.0)), (Mm(35.0), Mm(5.0))], grey=0.8)
        piece.polygon([(Mm(1.0), Mm(1.0)), (Mm(3.0), Mm(3.0))])

    assert _levels(draw, (300, 300), (100, 100), (20, 20)) == [204, 255, 255]


def test_what_is_clipped_shows_within_its_rectangle_alone():
    def draw(piece) -> None:
        with piece.clipped(left=Mm(10.0), top=Mm(5.0), width=Mm(10.0), height=Mm(20.0)):
            piece.solid(left=Mm(0.0), top=Mm(0.0), width=Mm(40.0), height=Mm(30.0))

    assert _levels(draw, (150, 150), (95, 150), (205, 150), (150, 45), (150, 255)) == [0, 255, 255, 255, 255]


def test_text_can_be_grey():
    def draw(piece) -> None:
        piece.text("I", left=Mm(5.0), baseline=Mm(30.0), size=Points(96.0), grey=0.5)

    paper = Paper(width=Mm(40.0), height=Mm(40.0), dpi=300, title="grey")
    piece = paper.fragment()
    draw(piece)
    paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
    assert rasterise_page(paper.finish(), index=0, dpi=254).min() == pytest.approx(128, abs=1)
