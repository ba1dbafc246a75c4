"""The numbers of a cycle as CSV: whole, in one unit each, and harmless in a spreadsheet."""

import csv
import io
from dataclasses import replace

import numpy as np
import pytest
from reports_cycles import findings, readings

from tracelabels.cycles import Readings
from tracelabels.reports.curve_chart import CurveChart
from tracelabels.reports.numbers import FIGURE_COLUMNS, READING_COLUMNS, figures_csv, readings_csv


def _rows(content: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"))))


def test_every_reading_stands_in_the_table_with_what_follows_from_it():
    of = readings()
    found = findings(of)
    head, *rows = _rows(readings_csv(CurveChart(readings=of, findings=found)))
    assert tuple(head) == READING_COLUMNS
    columns = (of.seconds, of.celsius, of.kpa, found.lethality.grown, found.saturation.differences_k)
    for got, want in zip(zip(*rows, strict=True), columns, strict=True):
        there = np.isfinite(want)
        assert [cell != "" for cell in got] == there.tolist()
        read = [float(cell) for cell in got if cell]
        assert read == pytest.approx(want[there].tolist(), rel=1e-9)


def test_what_was_not_measured_is_empty():
    of = Readings(seconds=np.array([0.0, 30.0]), celsius=np.array([120.5, 121.0]))
    _, *rows = _rows(readings_csv(CurveChart(readings=of, findings=findings(of))))
    assert [(row[:3], row[4]) for row in rows] == [(["0", "120.5", ""], ""), (["30", "121", ""], "")]


def test_computed_numbers_come_with_interval_unit_and_what_is_asked():
    of = readings()
    found = findings(of, reasons=("=HYPERLINK(1)", "held"), notes=("look at the printout",))
    head, *rows = _rows(figures_csv(CurveChart(readings=of, findings=found)))
    assert tuple(head) == FIGURE_COLUMNS
    table = {row[0]: row[1:] for row in rows}
    f0 = table["F0 (at 121.1 °C, z 10 K)"]
    assert [float(cell) for cell in f0[:3]] == pytest.approx([found.lethality.f0, *found.lethality.interval], rel=1e-9)
    assert f0[3:] == ["min", "at least 15"]
    assert float(table["holding time"][0]) == pytest.approx(found.plateau.hold_minutes, rel=1e-9)
    assert table["holding time"][4] == "at least 3.5"
    assert table["highest in the hold"][4] == "at most 137"
    off = table["off saturated steam, lasting"]
    assert float(off[0]) == pytest.approx(found.saturation.worst_difference_k, rel=1e-9)
    assert off[1:] == ["", "", "K", "within ±2"]
    assert [row[:2] for row in rows[-7:]] == [
        ["probe error", "assumed"],
        ["probe", "chamber"],
        ["programme", "wrapped-134"],
        ["verdict", "met"],
        ["reason", "'=HYPERLINK(1)"],
        ["reason", "held"],
        ["note", "look at the printout"],
    ]


def test_without_plateau_pressure_and_programme_there_is_f0_alone():
    of = readings(with_pressure=False)
    found = replace(findings(of, programme=None), plateau=None)
    _, *rows = _rows(figures_csv(CurveChart(readings=of, findings=found)))
    named = [row[0] for row in rows if row[0] not in {"reason", "note"}]
    figures, words = ["F0 (at 121.1 °C, z 10 K)", "probe error of the intervals"], ["probe error", "probe"]
    assert named == [*figures, *words, "programme", "verdict"]
