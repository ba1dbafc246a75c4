"""How much of the bare library's speed a label's symbol keeps. Ratios within one run; nothing absolute is asserted."""

import time
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from importlib.metadata import version
from typing import Any

import numpy as np
import pytest
import zxingcpp

from tracelabels.identifiers import IdentifierMode, LabelIdentity, compose_label, format_serial
from tracelabels.lengths import Mm
from tracelabels.symbols import PRINTED, ReadEffort, Space, TubeAxis, choose_symbol, read_symbols, write_data_matrix

LABELS = 1000
ROUNDS = 9


def identities(mode: IdentifierMode) -> list[LabelIdentity]:
    """Invent labels that all differ: a conformant one has a GTIN and a mixed batch, an in-house one four digits."""
    first = date(2026, 3, 2)
    return [
        LabelIdentity(
            gtin="09501101530003" if mode is IdentifierMode.GS1 else None,
            use_by=first + timedelta(days=365 + number % 90),
            prepared=first + timedelta(days=number % 90),
            lot=f"B{number % 50:02d}-{number % 7}A" if mode is IdentifierMode.GS1 else f"{5000 + number % 50}",
            serial=format_serial(1, number),
        )
        for number in range(LABELS)
    ]


def bare_texts(mode: IdentifierMode, labels: Sequence[LabelIdentity]) -> list[str]:
    """Return what a script would hand to the bare writer, composed beforehand."""
    payloads = [compose_label(label, mode) for label in labels]
    if mode is IdentifierMode.IN_HOUSE:
        return [payload.text for payload in payloads]
    return [
        f"[01]{label.gtin}[17]{label.use_by:%y%m%d}[13]{label.prepared:%y%m%d}[10]{label.lot}[21]{label.serial}"
        for label in labels
    ]


def bare_modules(text: str, options: dict[str, Any]) -> np.ndarray:
    made = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.DataMatrix, **options)
    return np.asarray(made.to_image(scale=1, add_quiet_zones=False)) == 0


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def best_of_both(ours: Callable[[], object], bare: Callable[[], object]) -> tuple[float, float]:
    """Run the two in turn and keep the best of each, so that a busy moment hurts neither."""
    pairs = [(seconds(ours), seconds(bare)) for _ in range(ROUNDS)]
    return min(pair[0] for pair in pairs), min(pair[1] for pair in pairs)


@pytest.mark.parametrize("mode", [IdentifierMode.GS1, IdentifierMode.IN_HOUSE])
def test_a_complete_identifier_keeps_half_the_rate_of_the_bare_writer(mode):
    labels = identities(mode)
    texts = bare_texts(mode, labels)
    options = {"force_square": True} | ({"gs1": True} if mode is IdentifierMode.GS1 else {})
    for label, text in zip(labels, texts, strict=True):
        assert np.array_equal(write_data_matrix(compose_label(label, mode)).modules, bare_modules(text, options))

    ours, bare = best_of_both(
        lambda: [write_data_matrix(compose_label(label, mode)).modules for label in labels],
        lambda: [bare_modules(text, options) for text in texts],
    )
    print(
        f"\nData Matrix {mode}, identity to modules: {bare / ours:.2f} of the bare writer's rate "
        f"({LABELS / ours:,.0f}/s against {LABELS / bare:,.0f}/s; zxing-cpp {version('zxing-cpp')}, options {options})"
    )
    assert bare / ours >= 0.5


def test_reading_costs_little_more_than_the_bare_reader():
    symbols = [write_data_matrix(compose_label(label, IdentifierMode.GS1)) for label in identities(IdentifierMode.GS1)]
    crops = [
        np.where(np.pad(symbol.modules, 2), 0, 255).astype(np.uint8).repeat(4, 0).repeat(4, 1)
        for symbol in symbols[:200]
    ]
    formats = zxingcpp.BarcodeFormats(
        [
            zxingcpp.BarcodeFormat.DataMatrix,
            zxingcpp.BarcodeFormat.QRCodeModel2,
            zxingcpp.BarcodeFormat.MicroQRCode,
            zxingcpp.BarcodeFormat.Code128,
        ]
    )
    ours, bare = best_of_both(
        lambda: [read_symbols(crop, kinds=PRINTED, effort=ReadEffort.DEFAULT) for crop in crops],
        lambda: [zxingcpp.read_barcodes(crop, formats=formats, text_mode=zxingcpp.TextMode.Plain) for crop in crops],
    )
    print(
        f"\nreading crops of one symbol: {ours / bare:.2f} times the bare reader "
        f"({ours / len(crops) * 1e6:.0f} us against {bare / len(crops) * 1e6:.0f} us; formats {formats}, default flags)"
    )
    # Turning the library's answer into a value costs a few microseconds; a picture of a page hides it wholly.
    assert ours / bare <= 1.5


def test_choosing_is_printed_beside_plain_writing():
    payload = compose_label(identities(IdentifierMode.IN_HOUSE)[0], IdentifierMode.IN_HOUSE)
    space = Space(width=Mm(20), height=Mm(8), tube_diameter=Mm(10.8), axis=TubeAxis.WIDTH)
    ours, bare = best_of_both(
        lambda: [choose_symbol(payload, space, dpi=300) for _ in range(200)],
        lambda: [write_data_matrix(payload) for _ in range(200)],
    )
    print(f"\nchoosing size and module: {ours / bare:.1f} times plain writing ({ours / 200 * 1e6:.0f} us)")
    # A choice writes the smallest square and the rectangle that wins; the rest is geometry, kept between calls.
    assert ours / bare <= 8
