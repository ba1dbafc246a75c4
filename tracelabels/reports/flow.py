"""Rows put on pages from top to foot, in one column, in several side by side, or evenly shared among several."""

from collections.abc import Callable, Sequence
from typing import Final

from tracelabels.lengths import Mm
from tracelabels.reports.marks import Box, Mark, Page
from tracelabels.reports.rows import Row

_STEP: Final = 0.5
_ROUNDING: Final = 1e-6


class Flow:
    """Pages under way."""

    def __init__(
        self, *, width: Mm, height: Mm, room_of: Callable[[int], Box], head_of: Callable[[int], Row | None]
    ) -> None:
        """Begin with the first page.

        Args:
            width: of each page.
            height: of each page.
            room_of: where rows may stand on a page, counted from 0.
            head_of: what stands first on a page, counted from 0; None for nothing.
        """
        self._size = (width, height)
        self._room_of, self._head_of = room_of, head_of
        self._pages: list[list[Mark]] = []
        self._y = self._first = 0.0
        self.next_page()

    @property
    def count(self) -> int:
        """Return how many pages there are so far."""
        return len(self._pages)

    @property
    def left_over(self) -> float:
        """Return how much room there is down to the foot of the page."""
        return self.room.bottom - self._y

    @property
    def room(self) -> Box:
        """Return where rows may stand on the page under way."""
        return self._room_of(len(self._pages) - 1)

    def next_page(self) -> None:
        """Begin the next page with its head."""
        self._pages.append([])
        self._y = self.room.top
        head = self._head_of(len(self._pages) - 1)
        if head is not None:
            self._put([head], 0.0)
            self._y += head.height
        self._first = self._y

    def put(self, rows: Sequence[Row]) -> None:
        """Put rows one below the other."""
        self.put_beside([rows], [0.0])

    def put_beside(self, columns: Sequence[Sequence[Row]], lefts: Sequence[float]) -> None:
        """Put columns of rows side by side; each goes on where it was on the next page.

        Args:
            columns: the rows of each.
            lefts: where each begins, from the left edge of the room.
        """
        waiting = [list(rows) for rows in columns]
        while True:
            fitting = [self._fitting(rows) for rows in waiting]
            for count, rows, left in zip(fitting, waiting, lefts, strict=True):
                self._put(rows[:count], left)
            self._y += max(_height(rows[:count]) for count, rows in zip(fitting, waiting, strict=True))
            waiting = [rows[count:] for count, rows in zip(fitting, waiting, strict=True)]
            if not any(waiting):
                return
            self.next_page()

    def put_shared(
        self, rows: Sequence[Row], lefts: Sequence[float], *, head: Sequence[Row] = (), again: Sequence[Row] = ()
    ) -> None:
        """Put rows into columns side by side, read one after the other, about equally high on the last page.

        Args:
            rows: all of them.
            lefts: where each column begins, from the left edge of the room.
            head: what stands above them, on the page where they begin.
            again: what stands above them on each further page.
        """
        waiting = list(rows)
        if _height(head) + _height(rows[:1]) > self.left_over and not self._is_fresh:
            self.next_page()
        self.put(head)
        while waiting:
            counts = _shares(waiting, len(lefts), self.left_over)
            if sum(counts) == 0 and self._is_fresh:
                counts[0] = 1  # higher than any page: it is put all the same
            shares = _split(waiting, counts)
            for share, left in zip(shares, lefts, strict=True):
                self._put(share, left)
            self._y += max(map(_height, shares))
            waiting = waiting[sum(counts) :]
            if waiting:
                self.next_page()
                self.put(again)
                self._first = self._y

    def pages(self, foot_of: Callable[[int, int], Sequence[Mark]]) -> tuple[Page, ...]:
        """Return the pages.

        Args:
            foot_of: what stands at the foot of a page: its number, counted from 1, and how many there are.
        """
        width, height = self._size
        many = len(self._pages)
        return tuple(
            Page(width=width, height=height, marks=(*marks, *foot_of(number, many)))
            for number, marks in enumerate(self._pages, 1)
        )

    @property
    def _is_fresh(self) -> bool:
        return self._y <= self._first

    def _fitting(self, rows: Sequence[Row]) -> int:
        """Return how many rows fit on the page under way; one at least on a fresh page."""
        count = _count_within(rows, self.left_over)
        return 1 if count == 0 and rows and self._is_fresh else count

    def _put(self, rows: Sequence[Row], left: float) -> None:
        y = self._y
        for row in rows:
            self._pages[-1] += [mark.moved(right=self.room.left + left, down=y) for mark in row.marks]
            y += row.height


def _height(rows: Sequence[Row]) -> float:
    return sum(row.height for row in rows)


def _count_within(rows: Sequence[Row], room: float) -> int:
    """Return how many rows fit into a height, without a heading at its end."""
    count, used = 0, 0.0
    for row in rows:
        used += row.height
        if used > room + _ROUNDING:
            break
        count += 1
    while 0 < count < len(rows) and rows[count - 1].keeps_next:
        count -= 1
    return count


def _shares(rows: Sequence[Row], columns: int, room: float) -> list[int]:
    """Return how many rows each column takes: as even as can be if all fit, else as many as fit."""
    height = min(_height(rows) / columns, room)
    while True:
        counts = _filled(rows, columns, height)
        if sum(counts) == len(rows) or height >= room:
            return counts
        height = min(height + _STEP, room)


def _filled(rows: Sequence[Row], columns: int, height: float) -> list[int]:
    counts: list[int] = []
    for _ in range(columns):
        counts.append(_count_within(rows[sum(counts) :], height))
    return counts


def _split(rows: Sequence[Row], counts: Sequence[int]) -> list[Sequence[Row]]:
    starts = [sum(counts[:place]) for place in range(len(counts))]
    return [rows[start : start + count] for start, count in zip(starts, counts, strict=True)]
