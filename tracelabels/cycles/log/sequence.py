"""Times put in order: newest first, past midnight, several readings on one tick, rows twice, clocks that were set.

What a clock that was set hides is not known: the stretch between the two readings is named as a gap.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.logged import Basis, Guess, OddityKind
from tracelabels.cycles.log.noting import Notes
from tracelabels.cycles.log.times import DAY_S, Times
from tracelabels.errors import LogError

MOST_STEPS: Final = 1000
"""A clock that goes back more often is none."""
COARSE: Final = 0.2
"""If so many readings share their time with the one before, the times are written too coarsely."""
FEW_INTERVALS: Final = 3.0
HOUR_S: Final = 3600.0
HALF_HOUR_S: Final = 1800.0
"""By multiples of it clocks are set to another zone or to summer time."""
STEADY_S: Final = 30.0
STEADY_K: Final = 2.0
"""So much within so long, and in one direction, is heating or cooling and no noise of a plateau."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sequence:
    """Readings in the order of time."""

    rows: NDArray[np.int64]
    """Which rows are kept, in order, shape (readings,)."""
    seconds: NDArray[np.float64]
    """Time of each, strictly rising, shape (readings,)."""
    broken: NDArray[np.int64]
    """Rows before which the clock was set."""
    guesses: tuple[Guess, ...]
    """What had to be assumed."""


class _Order:
    """Readings on their way into order; every step works on what the one before left."""

    def __init__(
        self,
        name: str,
        rows: NDArray[np.int64],
        seconds: NDArray[np.float64],
        celsius: NDArray[np.float64],
        notes: Notes,
    ) -> None:
        """Begin with readings in the order of the file; all arrays have shape (readings,)."""
        self.name = name
        self.rows = rows
        self.seconds = seconds
        self.celsius = celsius
        self.broken: list[int] = []
        self.notes = notes
        self.guesses: list[Guess] = []

    def keep(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> None:
        """Keep some readings, or bring them into an order."""
        self.rows, self.seconds, self.celsius = self.rows[which], self.seconds[which], self.celsius[which]

    def note(self, kind: OddityKind, places: NDArray[np.int64], sentence: Callable[[int], str]) -> None:
        """Keep something odd at some readings; the sentence is made from the place of the reading."""
        self.notes.keep(kind, self.rows[places], lambda at: sentence(int(places[at])))

    @property
    def typical_s(self) -> float:
        """Usual interval between readings, in seconds."""
        steps = np.diff(self.seconds)
        steps = steps[steps > 0]
        return float(np.median(steps)) if steps.size else 1.0


def put_in_order(
    name: str, times: Times, seconds: NDArray[np.float64], celsius: NDArray[np.float64], notes: Notes
) -> Sequence:
    """Bring readings into the order of time.

    Args:
        name: the file's name, for sentences.
        times: what the times are.
        seconds: of each row, shape (rows,); NaN where there is none.
        celsius: temperature of each row, shape (rows,); NaN where there is none.
        notes: what is odd is kept there.

    Raises:
        LogError: the times go back again and again.
    """
    rows = np.flatnonzero(np.isfinite(seconds) & np.isfinite(celsius))
    order = _Order(name, rows, seconds[rows], celsius[rows], notes)
    if len(rows) > 1:
        _turn(order)
        if times.is_clock and not times.has_date:
            _past_midnight(order, times)
        _spread(order)
        _leave_out_strays(order)
        _steps_back(order)
        _leave_out_doubles(order)
        _steps_ahead(order, times)
    return Sequence(
        rows=order.rows,
        seconds=order.seconds,
        broken=np.array(sorted(order.broken), dtype=np.int64),
        guesses=tuple(order.guesses),
    )


def _turn(order: _Order) -> None:
    steps = np.diff(order.seconds)
    back, ahead = int(np.sum(steps < 0)), int(np.sum(steps > 0))
    if back > 10 * ahead:
        order.keep(np.arange(len(order.rows))[::-1])
        because = "times fall from row to row"
        order.guesses.append(Guess(what="order", value="newest first", basis=Basis.GUESSED, because=because))


def _past_midnight(order: _Order, times: Times) -> None:
    """A clock that falls by nearly its whole round has begun anew."""
    steps = np.diff(order.seconds)
    rounds = [DAY_S]
    if times.is_twelve:
        rounds.append(DAY_S / 2)
    if times.unit == "open":
        rounds.append(HOUR_S)
    for length in rounds:
        turned = (steps < 0) & (steps + length > 0) & (steps + length < length / 4)
        if turned.any():
            order.seconds = order.seconds + np.concatenate(([0.0], np.cumsum(turned) * length))
            what = (
                "midnight" if length == DAY_S else f"its {length / 3600:.0f} hours" if length > HOUR_S else "the hour"
            )
            because = f"the clock begins anew {int(turned.sum())} times"
            order.guesses.append(Guess(what="clock", value=f"goes past {what}", basis=Basis.GUESSED, because=because))
            return


def _spread(order: _Order) -> None:
    """Readings that share a tick of a coarse clock lie evenly within it."""
    same = np.diff(order.seconds) == 0
    if float(np.mean(same)) < COARSE:
        return
    starts = np.flatnonzero(np.concatenate(([True], ~same)))
    counts = np.diff(np.concatenate((starts, [len(order.seconds)])))
    ticks = order.seconds[starts]
    lengths = np.diff(ticks)
    usual = float(np.median(lengths[lengths > 0])) if np.any(lengths > 0) else 0.0
    if usual <= 0:
        raise _not_rising(order, "the same time stands in all rows")
    lengths = np.concatenate((lengths, [usual]))
    lasts = np.where((lengths > 0) & (lengths <= FEW_INTERVALS * usual), lengths, usual)
    # The log may have begun within the first tick and ended within the last: those are not stretched.
    full = int(np.median(counts[1:-1])) if len(counts) > 2 else int(counts.max())  # noqa: PLR2004 - one whole tick
    held = counts.copy()
    held[[0, -1]] = np.maximum(held[[0, -1]], full)
    within = np.arange(len(order.seconds)) - np.repeat(starts, counts)
    within[: counts[0]] += held[0] - counts[0]
    order.seconds = order.seconds + within * np.repeat(lasts / held, counts)
    because = f"up to {int(counts.max())} readings share a time; they are spread evenly within {usual:g} s"
    order.guesses.append(Guess(what="ticks", value=f"{usual:g} s", basis=Basis.GUESSED, because=because))


def _leave_out_strays(order: _Order) -> None:
    """A single row whose clock is far ahead of both neighbours, which follow on each other."""
    steps = np.diff(order.seconds)
    if len(steps) < 2 or not np.any(steps < 0):  # noqa: PLR2004 - a stray has two neighbours
        return
    typical = order.typical_s
    stray = (steps[:-1] > FEW_INTERVALS * typical) & (steps[1:] < 0) & (steps[:-1] + steps[1:] > 0)
    stray &= steps[:-1] + steps[1:] <= FEW_INTERVALS * typical
    order.note(
        OddityKind.CLOCK_STEP,
        np.flatnonzero(stray) + 1,
        lambda place: f"the clock is {steps[place - 1]:.0f} s ahead for this row only; it is left out",
    )
    order.keep(np.concatenate(([True], ~stray, [True])))


def _steps_back(order: _Order) -> None:
    """Where times go back: rows sent twice, rows out of order, or a clock that was set."""
    if not np.any(np.diff(order.seconds) < 0):
        return
    _leave_out_repeats(order)
    _sort_strays(order)
    typical = order.typical_s
    places = np.flatnonzero(np.diff(order.seconds) < 0) + 1
    if len(places) > min(MOST_STEPS, max(3, len(order.rows) / 20)):
        raise _not_rising(order, f"times go back {len(places):,} times in {len(order.rows):,} rows")
    back = -np.diff(order.seconds)[places - 1] + typical
    _shift(order, places, back)
    order.note(
        OddityKind.CLOCK_STEP,
        places,
        lambda place: (
            f"the clock is set back by {_duration(back[places == place][0], typical)}; "
            f"the readings from here on are taken to follow on after {typical:g} s"
        ),
    )


def _shift(order: _Order, places: NDArray[np.int64], by: NDArray[np.float64]) -> None:
    """Move the readings from each place on by so many seconds; what a clock that was set hides is not known."""
    moved = np.zeros(len(order.seconds))
    moved[places] = by
    order.seconds = order.seconds + np.cumsum(moved)
    order.broken += order.rows[places].tolist()


def _not_rising(order: _Order, what: str) -> LogError:
    return LogError(
        given=f"{order.name}, in which {what}",
        expected="times that rise from row to row",
        remedy="name the column of times with --time-column, or the order of dates with --date-order",
    )


def _leave_out_repeats(order: _Order) -> None:
    """Rows that stood there before, with the same time and temperature."""
    latest = np.maximum.accumulate(order.seconds)
    again = np.concatenate(([False], order.seconds[1:] <= latest[:-1]))
    places = np.flatnonzero(again)
    if len(places) > len(order.rows) / 2:
        return
    known = set(zip(order.seconds[~again].tolist(), order.celsius[~again].tolist(), strict=True))
    twice = [place for place in places.tolist() if (float(order.seconds[place]), float(order.celsius[place])) in known]
    again_sentence = "the same time and temperature stood there before; it is left out"
    order.note(OddityKind.DOUBLE_ROW, np.array(twice, dtype=np.int64), lambda _: again_sentence)
    which = np.ones(len(order.rows), dtype=np.bool_)
    which[twice] = False
    order.keep(which)


def _sort_strays(order: _Order) -> None:
    """A row that fits into a hole before it, while the next goes on, was only written late."""
    typical = order.typical_s
    steps = np.diff(order.seconds)
    late = np.flatnonzero((steps[:-1] < 0) & (steps[:-1] + steps[1:] > 0) & (steps[:-1] > -FEW_INTERVALS * typical)) + 1
    if not late.size or len(late) > MOST_STEPS:
        return
    order.note(
        OddityKind.CLOCK_STEP, late, lambda _: "its time is before that of the row above; it is put in its place"
    )
    target = order.seconds.copy()
    order.keep(
        np.argsort(
            np.where(np.isin(np.arange(len(target)), late), target, np.maximum.accumulate(target)), kind="stable"
        )
    )


def _leave_out_doubles(order: _Order) -> None:
    steps = np.diff(order.seconds)
    double = np.concatenate(([False], steps <= 0))

    def sentence(place: int) -> str:
        same = order.celsius[place] == order.celsius[place - 1]
        said = "the row above again" if same else "the time of the row above with another temperature; the first counts"
        return f"{said}; it is left out"

    order.note(OddityKind.DOUBLE_ROW, np.flatnonzero(double), sentence)
    order.keep(~double)


def _steps_ahead(order: _Order, times: Times) -> None:
    """Where times jump ahead although the readings went on as if they had not."""
    typical = order.typical_s
    steps = np.diff(order.seconds)
    places = np.flatnonzero(steps > max(60.0, 2 * FEW_INTERVALS * typical)) + 1
    jumps = steps[places - 1] - typical
    is_clock = [
        _went_on(order, place, jump, typical) or _is_summer(order, times, place, jump, typical)
        for place, jump in zip(places[:MOST_STEPS].tolist(), jumps[:MOST_STEPS].tolist(), strict=True)
    ]
    places, jumps = places[:MOST_STEPS][is_clock], jumps[:MOST_STEPS][is_clock]
    order.note(
        OddityKind.CLOCK_STEP,
        places,
        lambda place: (
            f"the clock is set ahead by {_duration(jumps[places == place][0], typical)} while the readings go on; "
            f"they are taken to follow on after {typical:g} s"
        ),
    )
    _shift(order, places, -jumps)


def _went_on(order: _Order, place: int, jump: float, typical: float) -> bool:
    """Whether the clock jumps by whole half hours while the chamber goes on heating or cooling as before.

    Any other jump, and one on a plateau, is taken for time without readings: that is what harms nobody.
    """
    if jump < HALF_HOUR_S / 2 or abs(jump - HALF_HOUR_S * round(jump / HALF_HOUR_S)) > FEW_INTERVALS * typical:
        return False
    reach = max(2, math.ceil(STEADY_S / typical))
    before = float(order.celsius[place - 1] - order.celsius[max(0, place - 1 - reach)])
    after = float(order.celsius[min(len(order.rows) - 1, place + reach)] - order.celsius[place])
    across = abs(float(order.celsius[place] - order.celsius[place - 1]))
    return before * after > 0 and min(abs(before), abs(after)) >= STEADY_K and across <= max(abs(before), abs(after))


def _is_summer(order: _Order, times: Times, place: int, jump: float, typical: float) -> bool:
    """Whether a jump by one hour is that to summer time: on a Sunday, between one and three in the morning."""
    if times.has_zone or not times.has_date or abs(jump - HOUR_S) > FEW_INTERVALS * typical:
        return False
    last = float(order.seconds[place - 1])
    before = datetime(1970, 1, 1) + timedelta(seconds=last)  # noqa: DTZ001 - the logger's own clock
    return before.isoweekday() == 7 and 1 <= (before + timedelta(seconds=typical)).hour <= 3  # noqa: PLR2004 - Sunday


def _duration(seconds: float, typical: float) -> str:
    """Say how long a clock was set, and that one hour may be summer time."""
    if abs(seconds - HOUR_S) <= FEW_INTERVALS * typical:
        return f"{seconds / 60:.1f} min (one hour: summer time begins or ends?)"
    return f"{seconds / 60:.1f} min" if seconds >= 120 else f"{seconds:g} s"  # noqa: PLR2004 - short ones in seconds
