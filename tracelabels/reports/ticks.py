"""Round values for the axes of a chart."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

_MANTISSAS: Final = (1.0, 2.0, 2.5, 5.0)
_SECOND, _MINUTE, _HOUR, _DAY = 1.0, 60.0, 3600.0, 86400.0
_LADDERS: Final = {
    _SECOND: (1, 2, 5, 10, 15, 20, 30, 60),
    _MINUTE: (1, 2, 5, 10, 15, 20, 30, 60, 120),
    _HOUR: (1, 2, 3, 6, 12, 24, 48),
    _DAY: (1, 2, 5),
}
_NAMES: Final = {_SECOND: "seconds", _MINUTE: "minutes", _HOUR: "hours", _DAY: "days"}
_FITTING: Final = ((_SECOND, 150.0), (_MINUTE, 6 * _HOUR), (_HOUR, 4 * _DAY))
"""A cycle is told in a unit up to so many seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticks:
    """The marks of one axis."""

    values: tuple[float, ...]
    """Where they are, rising."""
    step: float
    """How far apart."""

    def within(self, least: float, greatest: float) -> "Ticks":
        """Return those between two values."""
        return Ticks(values=tuple(one for one in self.values if least <= one <= greatest), step=self.step)

    def written(self, value: float) -> str:
        """Return a value with as many decimals as the step needs, and a true minus sign."""
        decimals = next(places for places in range(20) if _is_whole(self.step * 10**places))
        return as_figure(value, decimals)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeTicks:
    """The marks of an axis of time."""

    seconds: tuple[float, ...]
    """Where they are."""
    unit: float
    """The unit that they are written in, in seconds."""

    @property
    def unit_name(self) -> str:
        """Return the unit in words."""
        return _NAMES[self.unit]

    def written(self, seconds: float) -> str:
        """Return a time in the axis' unit."""
        return f"{seconds / self.unit:g}"


def as_figure(value: float, decimals: int) -> str:
    """Write a number for people: a true minus sign, no negative zero.

    >>> as_figure(-0.04, 1)
    '0.0'
    """
    text = f"{value:.{decimals}f}"
    if float(text) == 0:
        text = text.removeprefix("-")
    return text.replace("-", "\N{MINUS SIGN}")


def ticks_around(least: float, greatest: float, *, most: int) -> Ticks:
    """Return marks at round values that reach beyond both ends.

    Args:
        least: the smallest value that is shown.
        greatest: the largest.
        most: how many marks there may be; 3 where it is less, since zero and a value on each side need as many.

    >>> ticks_around(19.3, 136.8, most=8).values
    (0.0, 20.0, 40.0, 60.0, 80.0, 100.0, 120.0, 140.0)
    """
    if greatest - least < 1e-6 * max(1.0, abs(least), abs(greatest)):
        least, greatest = least - 1.0, greatest + 1.0
    most = max(most, 3)
    for step in _round_steps((greatest - least) / most):
        first, last = math.floor(least / step + 1e-9), math.ceil(greatest / step - 1e-9)
        if last - first < most:
            break
    return Ticks(values=tuple(round(place * step, 10) for place in range(first, last + 1)), step=step)


def _is_whole(value: float) -> bool:
    return math.isclose(value, round(value), rel_tol=1e-9)


def _round_steps(least: float) -> Iterable[float]:
    """Give round steps, rising, from a little below a least one; without end."""
    power = math.floor(math.log10(least))
    while True:
        for mantissa in _MANTISSAS:
            yield mantissa * 10.0**power
        power += 1


def time_ticks(reach: float, *, most: int) -> TimeTicks:
    """Return marks from 0 to a time, at round values of a fitting unit.

    Args:
        reach: the last time, in seconds; more than 0.
        most: how many marks there may be, at least 2.

    >>> [one / 60 for one in time_ticks(2710.0, most=12).seconds]
    [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0]
    """
    unit = next((unit for unit, longest in _FITTING if reach <= longest), _DAY)
    step = next(one for one in _time_steps(unit, reach) if reach // one + 1 <= max(most, 2))
    return TimeTicks(seconds=tuple(place * step for place in range(int(reach // step) + 1)), unit=unit)


def _time_steps(unit: float, reach: float) -> Iterable[float]:
    if reach < unit:
        yield from (unit * one for one in _round_steps(reach / unit / 10) if one < 1)
    ladder = _LADDERS[unit]
    yield from (unit * one for one in ladder)
    yield from (unit * one for one in _round_steps(ladder[-1]))
