"""The curve of a cycle: it lies where its axes say, names what it shows, and nothing overlaps."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest
from reports_cycles import WRAPPED_134, findings, readings

from tracelabels.cycles import Band, Readings, Span
from tracelabels.lengths import Mm
from tracelabels.paper import page_count
from tracelabels.reports.curve_chart import CurveChart, lay_out_chart
from tracelabels.reports.curve_picture import CurvePicture, PictureKind, draw_curve, lay_out_picture
from tracelabels.reports.marks import Area, Line, Page, Words, box_of

STARTED = datetime(2026, 3, 2, 14, 3, 10)  # noqa: DTZ001  a logger's clock has no zone


def _chart(of: Readings, **facts: object) -> CurveChart:
    return CurveChart(readings=of, findings=findings(of, **facts), started_at=STARTED)


def _page(chart: CurveChart, *, width: float = 176.0, height: float = 78.0) -> Page:
    room = box_of(0.0, 0.0, width, height)
    return Page(width=Mm(width), height=Mm(height), marks=lay_out_chart(chart, room))


def _long() -> Readings:
    seconds = np.arange(1e6)
    celsius = 20 + 50 * (1 + np.sin(seconds / 2e4)) + np.sin(seconds * 1.7)
    return Readings(seconds=seconds, celsius=celsius)


def _holed() -> Readings:
    whole = readings(gaps=(Span(start_s=40.0, end_s=45.0), Span(start_s=600.0, end_s=680.0)))
    kpa = whole.kpa.copy()
    kpa[5::7] = np.nan
    return replace(whole, kpa=kpa)


TWO = Readings(seconds=np.array([0.0, 1.0]), celsius=np.array([120.0, 121.0]))
CHARTS = {
    "whole": lambda: _chart(readings()),
    "a narrow band": lambda: _chart(readings(), programme=replace(WRAPPED_134, band=Band(set_c=134.0, above_k=0.5))),
    "no upper limit": lambda: _chart(readings(), programme=replace(WRAPPED_134, band=Band(set_c=121.0))),
    "no pressure, no programme": lambda: _chart(readings(with_pressure=False), programme=None),
    "nothing held": lambda: _chart(readings(set_c=110.0)),
    "two readings": lambda: _chart(TWO),
    "one reading": lambda: _chart(Readings(seconds=np.array([0.0]), celsius=np.array([121.0]))),
    "always the same": lambda: _chart(replace(TWO, celsius=np.array([20.0, 20.0])), programme=None),
    "a gauge": lambda: _chart(readings(step_s=120.0)),
    "gaps": lambda: _chart(_holed()),
    "a million": lambda: _chart(_long()),
    "much too hot": lambda: _chart(readings(set_c=400.0)),
    "pressures all missing": lambda: _chart(replace(readings(), kpa=np.full(2000, np.nan))),
}


@pytest.mark.parametrize("name", CHARTS)
@pytest.mark.parametrize("size", [(176.0, 78.0), (100.0, 62.0)], ids=["page", "small"])
def test_nothing_overlaps_and_nothing_leaves_its_room(name, size, faults):
    page = _page(CHARTS[name](), width=size[0], height=size[1])
    assert faults(page) == []


def _texts(page: Page) -> list[str]:
    return [one.text for one in page.words]


def test_everything_is_named():
    chart = _chart(_holed())
    found = chart.findings
    texts = _texts(_page(chart))
    for name in (
        "temperature in °C",
        "pressure in kPa, absolute",
        "set 134 °C, at most 137 °C",
        f"plateau {found.plateau.span.minutes:.1f} min",
        "gap",
        "temperature near the set temperature, enlarged, in °C",
        "F0 growing, in minutes at 121.1 °C; dotted: 15, asked for",
        "temperature minus that of saturated steam of this pressure, in K; dotted: ±2, allowed",
        f"most that lasted {found.saturation.worst_difference_k:.1f}".replace("-", "−"),  # noqa: RUF001  a true minus sign
        "minutes since the first reading (2026-03-02 14:03:10 by the logger's own clock)",
    ):
        assert name in texts


def test_a_name_keeps_away_from_the_curves_where_it_can():
    def left_of_the_name(of: Readings) -> float:
        page = _page(_chart(of))
        return next(one.left for one in page.words if one.text.startswith("set 134"))

    usual = readings(with_pressure=False)
    begins_hot = replace(usual, celsius=np.where(usual.seconds < 300, 140.0, usual.celsius))
    assert left_of_the_name(usual) < 20
    assert left_of_the_name(begins_hot) > 100
    ends_hot = replace(begins_hot, celsius=np.where(usual.seconds > 1600, 140.0, begins_hot.celsius))
    assert 60 < left_of_the_name(ends_hot) < 100


def test_noise_does_not_look_like_a_cycle():
    still = replace(
        readings(), celsius=20 + 0.05 * np.sin(np.arange(2000.0)), kpa=101.3 + 0.05 * np.sin(np.arange(2000.0))
    )
    curves = [
        mark
        for mark in _page(_chart(still, programme=None)).marks
        if isinstance(mark, Line) and len(mark.points) > 100 and mark.thickness in {0.45, 0.3}
    ][:2]
    heights = [[y for _, y in curve.points] for curve in curves]
    assert all(max(one) - min(one) < 1.5 for one in heights)  # of 50; their own range would fill it


def test_what_was_not_measured_has_no_panel():
    texts = " ".join(_texts(_page(_chart(readings(with_pressure=False), programme=None))))
    assert "pressure" not in texts
    assert "set " not in texts


def _main_axes(page: Page):
    """From the numbers as a reader sees them: functions from place to degrees, kilopascal and minutes."""
    from tracelabels.paper import text_width

    left, right, below = [], [], []
    frame = next(mark for mark in page.marks if isinstance(mark, Line) and len(mark.points) == 6)
    bottom = max(y for _, y in frame.points)
    minutes = max(one.baseline for one in page.words if one.text == "0")
    for one in page.words:
        if not one.text.isdigit():
            continue
        middle = one.left + text_width(one.text, one.face, one.size) / 2
        if one.baseline == minutes:
            below.append((middle, float(one.text)))
        elif one.baseline < bottom + 1.0:
            side = left if middle < page.width / 2 else right
            side.append((one.baseline - 0.8, float(one.text)))
    return [np.polynomial.Polynomial.fit(*zip(*axis, strict=True), 1) for axis in (left, right, below)]


def test_curves_lie_where_the_axes_say():
    of = readings()
    page = _page(_chart(of))
    degrees, kilopascal, minutes = _main_axes(page)
    lines = [mark for mark in page.marks if isinstance(mark, Line) and len(mark.points) > 100]
    temperature = next(one for one in lines if not one.dashes)
    pressure = next(one for one in lines if one.dashes)
    for curve, scale, measured in ((temperature, degrees, of.celsius), (pressure, kilopascal, of.kpa)):
        x, y = np.array(curve.points).T
        assert minutes(x[[0, -1]]) == pytest.approx(of.seconds[[0, -1]] / 60, abs=0.02)
        assert scale(y) == pytest.approx(np.interp(minutes(x) * 60, of.seconds, measured), abs=0.05 * np.ptp(measured))
        assert (scale(y.min()), scale(y.max())) == pytest.approx((measured.max(), measured.min()), abs=0.4)


def test_the_plateau_is_shaded_where_it_was():
    chart = _chart(readings())
    page = _page(chart)
    _, _, minutes = _main_axes(page)
    span = chart.findings.plateau.span
    shaded = [mark for mark in page.marks if isinstance(mark, Area) and len(mark.points) == 4]
    assert len(shaded) == 3  # the main panel, the band enlarged, the difference from saturated steam
    for area in shaded:
        x = [point[0] for point in area.points]
        assert minutes(min(x)) == pytest.approx(span.start_s / 60, abs=0.02)
        assert minutes(max(x)) == pytest.approx(span.end_s / 60, abs=0.02)


def test_a_curve_is_not_drawn_across_a_gap():
    page = _page(_chart(_holed()))
    _, _, minutes = _main_axes(page)
    curves = [mark for mark in page.marks if isinstance(mark, Line) and mark.thickness == 0.45 and mark.clip]
    assert len(curves) == 3
    ends = [(minutes(one.points[0][0]) * 60, minutes(one.points[-1][0]) * 60) for one in curves]
    assert ends == [pytest.approx(pair, abs=1.0) for pair in ((0, 40), (45, 600), (680, 1999))]


def test_a_reading_that_stands_alone_is_still_seen():
    alone = Readings(
        seconds=np.array([0.0, 60.0, 600.0, 1200.0]),
        celsius=np.array([20.0, 40.0, 90.0, 50.0]),
        gaps=(Span(start_s=60.0, end_s=600.0), Span(start_s=600.0, end_s=1200.0)),
    )
    page = _page(_chart(alone, programme=None))
    curves = [mark for mark in page.marks if isinstance(mark, Line) and mark.thickness == 0.45 and mark.clip]
    lengths = [one.points[-1][0] - one.points[0][0] for one in curves]
    assert lengths == pytest.approx([page.width * 60 / 1200 * 154 / 176, 0.7, 0.7], abs=0.01)


def test_few_readings_are_marked_one_by_one():
    squares = [mark for mark in _page(_chart(readings(step_s=120.0))).marks if isinstance(mark, Area)]
    small = [one for one in squares if max(x for x, _ in one.points) - min(x for x, _ in one.points) < 1.0]
    assert len(small) == 17


def test_a_million_readings_are_thinned_out_to_what_is_seen():
    page = _page(_chart(_long()))
    assert sum(len(getattr(mark, "points", ())) for mark in page.marks) < 20_000


def test_a_picture_is_the_same_layout_on_paper_and_on_screen(faults):
    chart = _chart(readings(), reasons=("a reason that is told at length " * 9, *(f"reason {n}" for n in range(9))))
    picture = CurvePicture(title="a logger's file with a <long> name " * 4, chart=chart)
    page = lay_out_picture(picture)
    assert faults(page) == []
    assert "and 6 more reasons" in _texts(page)
    tree = ET.fromstring(draw_curve(picture, PictureKind.SVG))  # noqa: S314  our own text
    drawn = list(tree.iter("{http://www.w3.org/2000/svg}text"))
    want = [one for one in page.words if one.text.strip()]
    assert [one.text for one in drawn] == [one.text for one in want]
    rights = [
        float(one.get("x")) + (0.0 if one.get("text-anchor") == "end" else float(one.get("textLength")))
        for one in drawn
    ]
    assert rights == pytest.approx([one.box.right for one in want], abs=0.01)
    assert [one.get("text-anchor") == "end" for one in drawn] == [one.is_ending for one in want]
    assert page_count(draw_curve(picture, PictureKind.PDF)) == 1
    paths = list(tree.iter("{http://www.w3.org/2000/svg}path"))
    assert len(paths) == sum(not isinstance(mark, Words) for mark in page.marks)


def test_a_picture_in_dots_shows_the_drawing():
    import io

    from PIL import Image

    picture = CurvePicture(title="load L01-0004", chart=_chart(readings()))
    png = Image.open(io.BytesIO(draw_curve(picture, PictureKind.PNG)))
    page = lay_out_picture(picture)
    assert png.size == pytest.approx((page.width / 25.4 * 150, page.height / 25.4 * 150), abs=1.0)
    pixels = np.asarray(png)
    shade = next(mark for mark in page.marks if isinstance(mark, Area) and len(mark.points) == 4)
    x, y = (np.mean([point[axis] for point in shade.points]) / 25.4 * 150 for axis in (0, 1))
    assert pixels[round(y), round(x)] == pytest.approx(255 * shade.grey, abs=2)
