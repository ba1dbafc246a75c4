"""The numbers of a cycle as CSV: every reading in one unit each, and the computed ones."""

import csv
import io
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.reports.curve_chart import CurveChart
from tracelabels.reports.figures import figures_of
from tracelabels.words import as_cell

READING_COLUMNS: Final = ("seconds", "celsius", "kpa_absolute", "f0_minutes", "kelvin_from_saturated_steam")
FIGURE_COLUMNS: Final = ("quantity", "value", "lowest", "highest", "unit", "asked_for")


def readings_csv(chart: CurveChart) -> bytes:
    """Return every reading, with F0 up to it and its difference from saturated steam; empty where there is none."""
    readings, found = chart.readings, chart.findings
    nothing = np.full(len(readings.seconds), np.nan)
    columns = (
        readings.seconds,
        readings.celsius,
        nothing if readings.kpa is None else readings.kpa,
        found.lethality.grown,
        nothing if found.saturation is None else found.saturation.differences_k,
    )
    return _table(READING_COLUMNS, zip(*map(_cells, columns), strict=True))


def figures_csv(chart: CurveChart) -> bytes:
    """Return every computed number, where the probe was, and the verdict with its reasons."""
    return _table(FIGURE_COLUMNS, _figure_rows(chart))


def _figure_rows(chart: CurveChart) -> Iterator[tuple[str, ...]]:
    found = chart.findings
    for one in figures_of(found):
        low, high = ("", "") if one.between is None else (f"{end:.10g}" for end in one.between)
        yield as_cell(one.what), f"{one.value:.10g}", low, high, one.unit, one.asked
    yield "probe error of the intervals", f"{found.probe_error_k:.10g}", "", "", "K", ""
    yield "probe error", "assumed" if found.is_error_assumed else "stated", "", "", "", ""
    yield "probe", found.probe.value, "", "", "", ""
    programme = "" if found.programme is None else found.programme.name
    yield "programme", as_cell(programme), "", "", "", ""
    yield "verdict", "" if found.verdict is None else found.verdict.value, "", "", "", ""
    for reason in found.reasons:
        yield "reason", as_cell(reason), "", "", "", ""
    for note in found.notes:
        yield "note", as_cell(note), "", "", "", ""


def _cells(values: NDArray[np.float64]) -> list[str]:
    """Write numbers with ten digits, which is more than any logger has; nothing for one that is missing."""
    return ["" if text == "nan" else text for text in map("{:.10g}".format, values.tolist())]


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> bytes:
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(head)
    table.writerows(rows)
    return out.getvalue().encode("utf-8-sig")
