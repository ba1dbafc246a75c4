"""Invented labels, and reading a printed page back."""

import dataclasses
from collections.abc import Iterable
from datetime import date

import numpy as np
import pytest

from tracelabels.errors import TemplateError
from tracelabels.identifiers import IdentifierMode, LabelIdentity, format_serial
from tracelabels.labels import ContentField, ContentLine, LabelContent, Layout, Typeset
from tracelabels.labels.layout_file import as_layout
from tracelabels.labels.sheets import as_sheet
from tracelabels.paper import rasterise
from tracelabels.symbols import PRINTED, ReadEffort, read_symbols
from tracelabels.templates import parse_table

ROUNDING = 2
IDENTITY = LabelIdentity(
    use_by=date(2027, 11, 30), prepared=date(2026, 11, 25), lot="5501", serial=format_serial(1, 17)
)
FULL = LabelContent(
    identity=IDENTITY,
    mode=IdentifierMode.IN_HOUSE,
    product="Rosehip",
    item_number="R-12",
    volume="0.4 mL",
    contents="1 tube",
    lines=(ContentLine(name="Rosehip", lot="5501", count=2), ContentLine(name="Oat Milk", lot="4410-B")),
    steriliser="Bench 1",
    load_number="0231",
    processed_on=date(2026, 11, 26),
    operator="KT",
)


@pytest.fixture
def full() -> LabelContent:
    """A label of which everything is known."""
    return FULL


@pytest.fixture
def content_for():
    """Return a function that gives distinct labels for a layout: an empty tube has a serial and nothing else."""

    def make(layout: Layout, number: int) -> LabelContent:
        serial = format_serial(1 + number // 900_000, number % 900_000)
        if layout.find_field(ContentField.LOT) or layout.is_round or layout.label_set == "pouch":
            return dataclasses.replace(FULL, identity=dataclasses.replace(IDENTITY, serial=serial))
        return LabelContent(identity=LabelIdentity(serial=serial), mode=IdentifierMode.IN_HOUSE, volume="1.5 mL")

    return make


@pytest.fixture
def sheet_from():
    """Return a function that reads a sheet from the text of its file."""
    return lambda text: as_sheet(parse_table(text.encode(), file="mine.toml"), name="mine")


@pytest.fixture
def layout_from():
    """Return a function that reads a layout from the text of its file."""
    return lambda text: as_layout(parse_table(text.encode(), file="mine.toml"), name="mine")


@pytest.fixture
def refusal_of():
    """Return a function that gives the sentence with which a file is refused."""

    def sentence(read, text: str) -> str:
        with pytest.raises(TemplateError) as caught:
            read(text)
        return str(caught.value)

    return sentence


def faults_of(typeset: Typeset) -> list[str]:
    """Rasterise a run at its printer's resolution and compare each symbol, dot for dot and read back by a reader."""
    faults = []
    pages = rasterise(typeset.pdf, dpi=typeset.dpi)
    number, page = -1, np.empty((0, 0), np.uint8)
    for label in typeset.placed:
        while number < label.page:
            number, page = number + 1, next(pages)
        exact = np.where(np.kron(label.modules, np.ones((label.x, label.x), bool)), 0, 255)
        printed = page[label.top : label.top + label.height, label.left : label.left + label.width]
        # The rasteriser reckons edges in 32-bit floats: an edge may be off by a 200th of a dot, which is no grey dot.
        if np.abs(printed.astype(int) - exact).max() > ROUNDING:
            faults.append(f"label {label.index}: not the exact dots")
        quiet = label.x
        cut = page[
            label.top - quiet : label.top + label.height + quiet, label.left - quiet : label.left + label.width + quiet
        ]
        faults += _reading_faults(label, np.pad(cut, 2 * quiet, constant_values=255))
    return faults


def _reading_faults(label, cut) -> Iterable[str]:
    read = read_symbols(cut, kinds=PRINTED, effort=ReadEffort.DEFAULT)
    said = [(one.data, one.symbology_identifier) for one in read]
    expected = [(label.payload.text.encode(), label.symbology_identifier)]
    return [] if said == expected else [f"label {label.index}: read {said}, not {expected}"]


@pytest.fixture
def read_back_faults():
    """Return a function that names every symbol of a run that does not print exactly or read back."""
    return faults_of
