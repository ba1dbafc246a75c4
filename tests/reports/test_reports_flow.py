"""Rows flow over pages: each stands once, in order, within its room; a heading never stands alone at the foot."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tracelabels.lengths import Mm, Points
from tracelabels.reports.flow import Flow
from tracelabels.reports.marks import box_of, words
from tracelabels.reports.rows import Row

HEAD = 6.0
ROOM = box_of(10.0, 10.0, 80.0, 60.0)
SIZE = Points(5.0)


def _row(name: str, height: float, *, keeps_next: bool = False) -> Row:
    marks = (words(name, 0.0, 2.0, size=SIZE),)
    return Row(height=Mm(height), marks=marks, keeps_next=keeps_next)


def _flow() -> Flow:
    return Flow(width=Mm(100.0), height=Mm(90.0), room_of=lambda _: ROOM, head_of=lambda _: _row("head", HEAD))


def _placed(flow: Flow) -> list[tuple[int, float, float, str]]:
    """Page, left, top and name of each row but the heads."""
    pages = flow.pages(lambda number, many: (words(f"{number}/{many}", 10.0, 88.0, size=SIZE),))
    return [
        (number, one.left, one.baseline - 2.0, one.text)
        for number, page in enumerate(pages)
        for one in page.words
        if one.text != "head" and "/" not in one.text
    ]


HEIGHTS = st.lists(st.floats(2.5, 50.0), max_size=30)


@given(HEIGHTS, HEIGHTS)
def test_columns_side_by_side_keep_their_rows_in_order_and_in_the_room(left, right):
    flow = _flow()
    columns = [
        [_row(f"{side}{n}", height) for n, height in enumerate(heights)]
        for side, heights in (("l", left), ("r", right))
    ]
    flow.put([_row("before", 30.0)])
    flow.put_beside(columns, [0.0, 40.0])
    placed = [one for one in _placed(flow) if one[3] != "before"]
    heights = {f"l{n}": height for n, height in enumerate(left)} | {f"r{n}": height for n, height in enumerate(right)}
    for side, at in (("l", 10.0), ("r", 50.0)):
        own = [one for one in placed if one[3].startswith(side)]
        assert [one[3] for one in own] == [name for name in heights if name.startswith(side)]
        assert {one[1] for one in own} <= {at}
        for (page, _, top, name), (following, _, below, _) in pairwise(own):
            assert following > page or below >= top + heights[name] - 1e-6
    assert all(
        ROOM.top + HEAD - 1e-6 <= top and top + heights[name] <= ROOM.bottom + 1e-6 for _, _, top, name in placed
    )


@given(st.lists(st.floats(2.5, 20.0), min_size=1, max_size=60))
def test_shared_rows_read_down_one_column_after_the_other(heights):
    flow = _flow()
    flow.put_shared([_row(str(n), height) for n, height in enumerate(heights)], [0.0, 40.0])
    placed = _placed(flow)
    assert [one[3] for one in sorted(placed, key=lambda one: one[:3])] == [str(n) for n in range(len(heights))]
    assert all(top + heights[int(name)] <= ROOM.bottom + 1e-6 for _, _, top, name in placed)
    assert len({page for page, *_ in placed}) <= 1 + sum(heights) / (2 * (ROOM.height - HEAD - 20.0))


def test_shared_rows_are_about_equally_high_on_the_last_page():
    flow = _flow()
    flow.put_shared([_row(str(n), 4.0) for n in range(9)], [0.0, 40.0])
    flow.put([_row("after", 4.0)])
    placed = {name: (left, top) for _, left, top, name in _placed(flow)}
    assert [placed[str(n)][0] for n in range(9)] == [10.0] * 5 + [50.0] * 4
    assert placed["after"] == (10.0, ROOM.top + HEAD + 20.0)


def test_what_is_told_again_stands_above_the_rest_on_each_further_page():
    flow = _flow()
    flow.put_shared([_row(str(n), 20.0) for n in range(9)], [0.0, 40.0], again=[_row("again", 10.0)])
    placed = [(page, name) for page, _, _, name in sorted(_placed(flow), key=lambda one: (one[0], one[2], one[1]))]
    assert placed == [
        (0, "0"), (0, "2"), (0, "1"), (0, "3"),
        (1, "again"), (1, "4"), (1, "6"), (1, "5"), (1, "7"),
        (2, "again"), (2, "8"),
    ]  # fmt: skip


def test_shared_rows_begin_on_the_page_of_their_head():
    flow = _flow()
    flow.put([_row("before", 40.0)])
    flow.put_shared([_row("first", 8.0), _row("second", 8.0)], [0.0, 40.0], head=[_row("title", 8.0, keeps_next=True)])
    assert [(page, name) for page, _, _, name in _placed(flow)] == [
        (0, "before"), (1, "title"), (1, "first"), (1, "second"),
    ]  # fmt: skip


def test_a_heading_goes_with_what_it_is_over():
    flow = _flow()
    flow.put([*(_row(str(n), 10.0) for n in range(5)), _row("heading", 3.0, keeps_next=True), _row("text", 10.0)])
    pages = {name: page for page, _, _, name in _placed(flow)}
    assert (pages["4"], pages["heading"], pages["text"]) == (0, 1, 1)


def test_a_row_higher_than_a_page_is_put_all_the_same():
    flow = _flow()
    flow.put([_row("before", 10.0), _row("huge", 500.0)])
    flow.put_shared([_row("vast", 500.0), _row("small", 3.0)], [0.0, 40.0], again=[_row("again", 3.0)])
    assert [(page, name) for page, _, _, name in _placed(flow)] == [
        (0, "before"),
        (1, "huge"),
        (2, "vast"),
        (3, "again"),
        (3, "small"),
    ]
