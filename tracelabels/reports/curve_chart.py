"""The curve of a cycle: temperature and pressure, plateau, band, F0, difference from saturated steam.

Everything is told apart by the style of its line, so that a grey print shows it too.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles import CycleFindings, Readings
from tracelabels.lengths import Mm
from tracelabels.paper import Face, text_width
from tracelabels.reports.marks import Box, Line, Mark, Words, as_points, box_of, line, words, words_ending
from tracelabels.reports.panel import ROOM, SMALL, TICK, Labels, Panel, side_axis
from tracelabels.reports.ticks import Ticks, as_figure, ticks_around, time_ticks

_SIDE: Final = 11.0
"""Room for the numbers on each side."""
_FOOT: Final = 7.6
_STRIP: Final = (6.4, 8.5)
"""Least and greatest height of a strip; a tenth of the whole between them."""
_GAP: Final = 4.2
"""Between two panels: the next one's heading stands there."""
_SHADE: Final = 0.88
_AREA: Final = 0.72
_PRESSURE: Final = (1.6, 0.8)
_TOP_OF_BAND: Final = (3.0, 0.7, 0.5, 0.7)
_ALLOWED: Final = (0.5, 0.5)
_LEAST_REACH: Final = 5.0
"""The least difference of temperatures that fills the panel, in kelvin."""
_FEW: Final = 60
"""Up to so many readings are marked one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveChart:
    """A cycle to be drawn."""

    readings: Readings
    """What was measured; one reading is a dot."""
    findings: CycleFindings
    """What was computed from it."""
    started_at: datetime | None = None
    """The logger's own clock at the first reading; None if it wrote none."""


def lay_out_chart(chart: CurveChart, room: Box) -> tuple[Mark, ...]:
    """Return everything that is drawn, within a room of at least 100 x 55 mm."""
    return tuple(_Chart(chart, room).marks())


class _Chart:
    """The panels of one chart, one below the other over the same time."""

    def __init__(self, chart: CurveChart, room: Box) -> None:
        self._readings, self._found = chart.readings, chart.findings
        self._chart = chart
        self._room = room
        self._labels = Labels(room)
        self._reach = float(chart.readings.seconds[-1]) or 1.0
        self._curves: list[tuple[Panel, NDArray[np.float64]]] = []
        self._left, self._width = room.left + _SIDE, room.width - 2 * _SIDE

    def marks(self) -> Iterator[Mark]:
        """Give areas first, then lines, then texts, so that nothing hides another."""
        strips = [strip for strip in (self._near_band, self._f0, self._saturation) if self._has(strip)]
        high = max(_STRIP[0], min(_STRIP[1], 0.1 * self._room.height))
        below = len(strips) * (high + _GAP)
        top = self._room.top + ROOM + 1.0
        main = box_of(self._left, top, self._width, self._room.bottom - _FOOT - below - top)
        drawn = list(self._main(main))
        bottom = float(main.bottom)
        for strip in strips:
            drawn += strip(box_of(self._left, bottom + _GAP, self._width, high))
            bottom += _GAP + high
        drawn += self._time_axis(bottom)
        yield from drawn
        yield from self._labels.placed

    def _has(self, strip: object) -> bool:
        if strip == self._near_band:
            return self._found.programme is not None and self._found.plateau is not None
        return strip != self._saturation or self._found.saturation is not None

    # -- temperature and pressure ------------------------------------------------------------------------------------

    def _main(self, box: Box) -> Iterator[Mark]:
        panel, ticks = self._over(box, *self._temperatures(box))
        yield from self._under(panel)
        yield from self._band(panel)
        yield from self._pressure(box)
        yield from self._curve(panel, self._readings.celsius, thickness=0.45)
        if len(self._readings.seconds) <= _FEW:
            yield from panel.dots(self._readings, self._readings.celsius)
        yield panel.frame()
        yield from side_axis(panel, self._labels, [(value, ticks.written(value)) for value in ticks.values])
        yield from self._heading(box)
        self._name_band(panel)
        self._name_plateau(panel)
        self._name_gaps(panel)

    def _over(self, box: Box, least: float, greatest: float) -> tuple[Panel, Ticks]:
        """Return a panel that spans values with a little air, and the round ones among them."""
        air = 0.03 * (greatest - least) or 1.0
        low, high = least - air, greatest + air
        ticks = ticks_around(low, high, most=int(box.height / (1.15 * ROOM))).within(low, high)
        return Panel(box, reach_s=self._reach, least=low, greatest=high), ticks

    def _temperatures(self, box: Box) -> tuple[float, float]:
        """Return the least and the greatest to be shown: readings, band, and room above the band for its name."""
        celsius = self._readings.celsius
        least, greatest = float(np.nanmin(celsius)), float(np.nanmax(celsius))
        # Noise of a tenth of a degree shall not look like a cycle.
        least = min(least, greatest - _LEAST_REACH)
        if self._found.programme is None:
            return least, greatest
        band = self._found.programme.band
        least, top = min(least, band.set_c), band.set_c + (band.above_k or 0.0)
        named = top + (max(top, greatest) - least) * 1.6 * ROOM / box.height
        return least, max(greatest, named)

    def _band(self, panel: Panel) -> Iterator[Mark]:
        programme = self._found.programme
        if programme is None:
            return
        yield panel.level(programme.band.set_c, thickness=0.2)
        if programme.band.above_k is not None:
            yield panel.level(programme.band.set_c + programme.band.above_k, thickness=0.2, dashes=_TOP_OF_BAND)

    def _name_band(self, panel: Panel) -> None:
        programme = self._found.programme
        if programme is None:
            return
        low, top = programme.band.set_c, programme.band.set_c + (programme.band.above_k or 0.0)
        name = f"set {low:g} °C" if programme.band.above_k is None else f"set {low:g} °C, at most {top:g} °C"
        above, middle = panel.y(top) - 0.9, (panel.box.left + panel.box.right) / 2
        self._place(
            panel,
            words(name, panel.box.left + 1.0, above, size=SMALL),
            words_ending(name, panel.box.right - 1.0, above, size=SMALL),
            words(name, middle, above, size=SMALL),
        )

    def _curve(
        self,
        panel: Panel,
        values: NDArray[np.float64],
        *,
        thickness: float,
        dashes: tuple[float, ...] = (),
        grey: float = 0.0,
    ) -> tuple[Line, ...]:
        """Return a curve, and keep in mind where it runs."""
        self._curves.append((panel, values))
        return panel.curve(self._readings, values, thickness=thickness, dashes=dashes, grey=grey)

    def _place(self, panel: Panel, *candidates: Words) -> None:
        """Place a name within a panel, where no curve runs through it if there is such a place."""
        self._labels.place(*sorted(candidates, key=lambda one: self._is_crossed(one.box)), within=panel.box)

    def _is_crossed(self, box: Box) -> bool:
        return any(panel.crosses(self._readings, values, box) for panel, values in self._curves)

    def _pressure(self, box: Box) -> Iterator[Mark]:
        kpa = self._readings.kpa
        if kpa is None or not np.isfinite(kpa).any():
            return
        panel, ticks = self._over(box, min(0.0, float(np.nanmin(kpa))), float(np.nanmax(kpa)))
        yield from self._curve(panel, kpa, thickness=0.3, dashes=_PRESSURE, grey=0.25)
        numbers = [(value, ticks.written(value)) for value in ticks.values]
        yield from side_axis(panel, self._labels, numbers, is_right=True)

    def _heading(self, box: Box) -> Iterator[Mark]:
        """Give samples of the lines, with what they are."""
        baseline = box.top - 1.0
        yield _sample(box.left, baseline, thickness=0.45)
        self._labels.place(words("temperature in °C", box.left + 8.0, baseline, size=SMALL))
        if self._readings.kpa is not None:
            name = words_ending("pressure in kPa, absolute", box.right, baseline, size=SMALL)
            if self._labels.place(name):
                yield _sample(name.left - 8.0, baseline, thickness=0.3, dashes=_PRESSURE, grey=0.25)

    def _name_plateau(self, panel: Panel) -> None:
        plateau = self._found.plateau
        if plateau is None:
            return
        name = f"plateau {as_figure(plateau.span.minutes, 1)} min"
        half = text_width(name, Face.REGULAR, SMALL) / 2
        left, right = panel.x(plateau.span.start_s), panel.x(plateau.span.end_s)
        low = panel.box.bottom - 1.3
        self._place(
            panel,
            words(name, (left + right) / 2 - half, low, size=SMALL),
            words(name, right + 1.0, low, size=SMALL),
            words_ending(name, left - 1.0, low, size=SMALL),
        )

    def _name_gaps(self, panel: Panel) -> None:
        for gap in self._readings.gaps:
            middle = panel.x((gap.start_s + gap.end_s) / 2) - text_width("gap", Face.REGULAR, SMALL) / 2
            rows = (panel.box.top + (row + 0.5) * panel.box.height for row in (0.5, 0.3, 0.1))
            self._place(panel, *(words("gap", middle, row, size=SMALL) for row in rows))

    def _under(self, panel: Panel) -> Iterator[Mark]:
        """Give the plateau's shade, and where readings are missing."""
        if self._found.plateau is not None:
            yield panel.shade(self._found.plateau.span, _SHADE)
        for gap in self._readings.gaps:
            for seconds in (gap.start_s, gap.end_s):
                yield panel.upright(seconds, thickness=0.15, dashes=_ALLOWED)

    # -- strips ------------------------------------------------------------------------------------------------------

    def _near_band(self, box: Box) -> Iterator[Mark]:
        """Give the temperature near its band, enlarged."""
        programme, plateau = self._found.programme, self._found.plateau
        assert programme is not None  # noqa: S101  this strip is drawn only with a programme, see _has
        assert plateau is not None  # noqa: S101  as above
        low, above = programme.band.set_c, programme.band.above_k
        high = max(low + 2.0, plateau.highest_c) if above is None else low + above
        edge = max(1.0, 0.3 * (high - low))
        panel = Panel(box, reach_s=self._reach, least=low - edge, greatest=high + edge)
        yield from self._under(panel)
        yield panel.level(low, thickness=0.2)
        numbers = [low]
        if above is not None:
            yield panel.level(high, thickness=0.2, dashes=_TOP_OF_BAND)
            numbers.append(high)
        yield from panel.curve(self._readings, self._readings.celsius, thickness=0.35)
        yield panel.frame()
        yield from side_axis(panel, self._labels, [(value, f"{value:g}") for value in numbers])
        self._name_strip(box, "temperature near the set temperature, enlarged, in °C")

    def _f0(self, box: Box) -> Iterator[Mark]:
        grown, programme = self._found.lethality.grown, self._found.programme
        least = None if programme is None else programme.least_f0
        ticks = ticks_around(0.0, max(float(grown[-1]), least or 0.0, 1.0), most=3)
        panel = Panel.over(box, ticks, reach_s=self._reach)
        yield from panel.area(self._readings, grown, grey=_AREA)
        yield from self._under_lines(panel)
        yield from panel.curve(self._readings, grown, thickness=0.3)
        reference = f"{self._found.lethality.reference_c:g} °C"
        name = f"F0 growing, in minutes at {reference}"
        if least is not None:
            yield panel.level(least, thickness=0.25, dashes=_ALLOWED)
            name += f"; dotted: {least:g}, asked for"
        yield panel.frame()
        yield from side_axis(panel, self._labels, [(value, ticks.written(value)) for value in ticks.values])
        self._name_strip(box, name, f"in all {as_figure(self._found.lethality.f0, 1)}")

    def _saturation(self, box: Box) -> Iterator[Mark]:
        saturation, programme = self._found.saturation, self._found.programme
        assert saturation is not None  # noqa: S101  this strip is drawn only with pressures, see _has
        allowed = None if programme is None else programme.saturation_k
        reach = max(1.5 * (allowed or 2.0), 1.15 * abs(saturation.worst_difference_k))
        ticks = ticks_around(-reach, reach, most=5)
        panel = Panel.over(box, ticks, reach_s=self._reach)
        yield from self._under(panel)
        yield panel.level(0.0, thickness=0.15)
        numbers = [0.0, *((allowed, -allowed) if allowed else ()), ticks.values[0], ticks.values[-1]]
        name = "temperature minus that of saturated steam of this pressure, in K"
        if allowed:
            yield panel.level(allowed, thickness=0.25, dashes=_ALLOWED)
            yield panel.level(-allowed, thickness=0.25, dashes=_ALLOWED)
            name += f"; dotted: ±{allowed:g}, allowed"
        yield from panel.curve(self._readings, saturation.differences_k, thickness=0.3)
        yield panel.frame()
        yield from side_axis(panel, self._labels, [(value, _signed(value)) for value in numbers])
        worst = as_figure(saturation.worst_difference_k, 1)
        self._name_strip(box, name, f"most that lasted {worst}")

    def _under_lines(self, panel: Panel) -> Iterator[Mark]:
        """Give where the plateau begins and ends, where a filled curve would hide its shade."""
        spans = [] if self._found.plateau is None else [self._found.plateau.span]
        for span in spans:
            for seconds in (span.start_s, span.end_s):
                yield panel.upright(seconds, thickness=0.1, grey=0.5)

    def _name_strip(self, box: Box, name: str, value: str | None = None) -> None:
        baseline = box.top - 1.0
        self._labels.place(words(name, box.left, baseline, size=SMALL))
        if value is not None:
            self._labels.place(words_ending(value, box.right, baseline, size=SMALL, face=Face.BOLD))

    # -- time --------------------------------------------------------------------------------------------------------

    def _time_axis(self, bottom: float) -> Iterator[Mark]:
        panel = Panel(box_of(self._left, bottom, self._width, 1.0), reach_s=self._reach, least=0.0, greatest=1.0)
        ticks = time_ticks(self._reach, most=int(self._width / 9.0))
        low = bottom + TICK + 2.6
        for seconds in ticks.seconds:
            text = ticks.written(seconds)
            x = panel.x(seconds)
            half = text_width(text, Face.REGULAR, SMALL) / 2
            if self._labels.place(words(text, x - half, low, size=SMALL)):
                yield line(((x, bottom), (x, bottom + TICK)), 0.2)
        name = f"{ticks.unit_name} since the first reading"
        if self._chart.started_at is not None:
            name += f" ({self._chart.started_at:%Y-%m-%d %H:%M:%S} by the logger's own clock)"
        self._labels.place(words(name, self._left, low + ROOM + 0.5, size=SMALL))


def _sample(left: float, baseline: float, *, thickness: float, dashes: Iterable[float] = (), grey: float = 0.0) -> Line:
    y = baseline - 0.8
    pattern = tuple(map(Mm, dashes))
    return Line(points=as_points(((left, y), (left + 6.5, y))), thickness=Mm(thickness), dashes=pattern, grey=grey)


def _signed(value: float) -> str:
    return f"+{value:g}" if value > 0 else f"{value:g}".replace("-", "\N{MINUS SIGN}")
