"""Data Matrix against published figures, an independent placement, an independent Reed-Solomon code and libdmtx."""

import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import reedsolo
import zxingcpp
from hypothesis import given, settings
from hypothesis import strategies as st

from tracelabels.errors import SymbolError
from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.symbols import DataMatrixShape, ReadEffort, ShapeFamily, Symbol, Symbology, read_symbols, shapes_of
from tracelabels.symbols import write_data_matrix as write

VECTORS = Path(__file__).parent.parent / "vectors"
FIGURES = sorted(path.stem for path in VECTORS.glob("data_matrix_*.txt"))
OTHER_ENCODATION = {
    "data_matrix_gs1_figure_2_6_14_3": "left to find the size itself, the writer packs AB-123 in EDIFACT (240 ...)",
    "data_matrix_gs1_figure_2_6_14_4": "the writer packs BCDEFG1 in EDIFACT even when the size is given",
    "data_matrix_gs1_figure_4_15_1": "left to find the size itself, the writer packs ABC123 in EDIFACT",
}
"""Figures in ASCII encodation that our writer says in other words: the same size, the same content."""

OTHER_EVEN_IN_A_GIVEN_SIZE = {"data_matrix_gs1_figure_2_6_14_4"}

CHARSET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
"""GS1 General Specifications R26.0, Table 7-20."""


def figure(name: str) -> dict[str, str]:
    """Read one figure: source on line one, then facts, then perhaps a matrix."""
    source, *lines = (VECTORS / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    assert source.startswith("# ")
    facts = dict(line.split(": ", 1) for line in lines if ": " in line)
    facts["matrix"] = "\n".join(line for line in lines if set(line) <= set("01"))
    return facts


def payload_of(facts: dict[str, str]) -> Payload:
    return Payload(text=facts["text"], fnc1_first=facts["fnc1_first"] == "yes", mode=IdentifierMode.GS1)


def numbers(text: str) -> list[int]:
    return [int(word) for word in text.split()]


# The placement of ISO/IEC 16022:2006, Annex F, on its own: eight modules a codeword, swept in diagonals, and four
# special corners.
UTAH = ((-2, -2), (-2, -1), (-1, -2), (-1, -1), (-1, 0), (0, -2), (0, -1), (0, 0))
CORNERS = (
    ((-1, 0), (-1, 1), (-1, 2), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
    ((-3, 0), (-2, 0), (-1, 0), (0, -4), (0, -3), (0, -2), (0, -1), (1, -1)),
    ((-3, 0), (-2, 0), (-1, 0), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
    ((-1, 0), (-1, -1), (0, -3), (0, -2), (0, -1), (1, -3), (1, -2), (1, -1)),
)


REGIONS_BESIDE = {18: 1, 26: 1, 32: 2, 36: 2, 40: 2, 44: 2, 48: 2, 64: 4, 80: 4, 88: 4, 96: 4, 120: 6, 144: 6}
"""Data regions side by side in a rectangle of so many columns."""


class Placement:
    """Which module of a mapping matrix carries which bit of which codeword."""

    def __init__(self, rows: int, columns: int) -> None:
        self.rows, self.columns = rows, columns
        self.codewords: list[list[tuple[int, int]]] = []
        self.taken: set[tuple[int, int]] = set()
        self._sweep()

    def _wrap(self, row: int, column: int) -> tuple[int, int]:
        if row < 0:
            row, column = row + self.rows, column + 4 - (self.rows + 4) % 8
        if column < 0:
            row, column = row + 4 - (self.columns + 4) % 8, column + self.columns
        return row % self.rows, column  # ISO/IEC 21471: some extended rectangles wrap below the last row

    def _add(self, modules: list[tuple[int, int]]) -> None:
        self.codewords.append(modules)
        self.taken.update(modules)

    def _corner(self, number: int) -> None:
        self._add([(row % self.rows, column % self.columns) for row, column in CORNERS[number]])

    def _corners(self, row: int, column: int) -> None:
        conditions = (
            row == self.rows and column == 0,
            row == self.rows - 2 and column == 0 and self.columns % 4 != 0,
            row == self.rows - 2 and column == 0 and self.columns % 8 == 4,
            row == self.rows + 4 and column == 2 and self.columns % 8 == 0,
        )
        for number, holds in enumerate(conditions):
            if holds:
                self._corner(number)

    def _utah(self, row: int, column: int) -> None:
        if 0 <= row < self.rows and 0 <= column < self.columns and (row, column) not in self.taken:
            self._add([self._wrap(row + down, column + right) for down, right in UTAH])

    def _sweep(self) -> None:
        row, column = 4, 0
        while row < self.rows or column < self.columns:
            self._corners(row, column)
            while True:
                self._utah(row, column)
                row, column = row - 2, column + 2
                if row < 0 or column >= self.columns:
                    break
            row, column = row + 1, column + 3
            while True:
                self._utah(row, column)
                row, column = row + 2, column - 2
                if row >= self.rows or column < 0:
                    break
            row, column = row + 3, column + 1


def regions(rows: int, columns: int) -> tuple[int, int]:
    """Return how many data regions lie below and beside each other (ISO/IEC 16022:2006 Table 7; 21471:2020 Table 7)."""
    if rows == columns:
        side = 1 + (rows > 26) + 2 * (rows > 52) + 2 * (rows > 104)
        return side, side
    return 1, REGIONS_BESIDE[columns]


def mapping_matrix(modules: np.ndarray) -> np.ndarray:
    """Strip finder and alignment patterns, after checking that they are what they must be."""
    rows, columns = modules.shape
    down, beside = regions(rows, columns)
    height, width = rows // down, columns // beside
    for top in range(0, rows, height):
        for left in range(0, columns, width):
            region = modules[top : top + height, left : left + width]
            assert region[:, 0].all()
            assert region[-1].all()
            assert np.array_equal(region[0], np.arange(width) % 2 == 0)
            assert np.array_equal(region[:, -1], np.arange(height) % 2 == 1)
    keep_rows = [row for row in range(rows) if row % height not in {0, height - 1}]
    keep_columns = [column for column in range(columns) if column % width not in {0, width - 1}]
    return modules[np.ix_(keep_rows, keep_columns)]


def codewords_in(modules: np.ndarray) -> list[int]:
    """Read the codewords off a symbol, data first."""
    mapping = mapping_matrix(modules)
    placement = Placement(*mapping.shape)
    return [int("".join(str(int(mapping[place])) for place in places), 2) for places in placement.codewords]


def matrix_of(codewords: list[int], rows: int, columns: int) -> np.ndarray:
    """Build a one-region symbol from its codewords."""
    mapping = np.zeros((rows - 2, columns - 2), dtype=bool)
    placement = Placement(*mapping.shape)
    # Where the placement leaves four modules over, the two on the main diagonal are dark.
    if len(placement.taken) < mapping.size:
        mapping[-2, -2] = mapping[-1, -1] = True
    for codeword, places in zip(codewords, placement.codewords, strict=True):
        for bit, place in enumerate(places):
            mapping[place] = codeword >> (7 - bit) & 1
    modules = np.zeros((rows, columns), dtype=bool)
    modules[0, ::2] = modules[1::2, -1] = modules[:, 0] = modules[-1] = True
    modules[1:-1, 1:-1] = mapping
    return modules


def error_words(data: list[int], count: int) -> list[int]:
    """Compute the check codewords of one block with an independent library."""
    return list(reedsolo.RSCodec(count, nsize=255, fcr=1, prim=0x12D).encode(bytes(data)))[len(data) :]


@pytest.mark.parametrize("name", FIGURES)
def test_published_codewords_are_ours_or_the_difference_is_known(name):
    facts = figure(name)
    shape = DataMatrixShape(facts["shape"])
    published = numbers(facts["data"]) + numbers(facts["error"])
    found = codewords_in(write(payload_of(facts), shape=shape).modules)
    assert (found == published) == (name not in OTHER_EVEN_IN_A_GIVEN_SIZE)
    assert found[shape.data_codewords :] == error_words(found[: shape.data_codewords], shape.error_codewords)


@pytest.mark.parametrize("name", [name for name in FIGURES if "h3" not in name and "left" not in name])
def test_published_codewords_without_a_given_size(name, picture_of):
    facts = figure(name)
    symbol = write(payload_of(facts))
    assert symbol.version == facts["shape"]
    published = numbers(facts["data"]) + numbers(facts["error"])
    assert (codewords_in(symbol.modules) == published) == (name not in OTHER_ENCODATION)
    (reading,) = read_symbols(picture_of(symbol.modules))
    assert reading.text == facts["text"]


@pytest.mark.parametrize("name", FIGURES)
def test_published_error_codewords_follow_from_the_published_data(name):
    facts = figure(name)
    assert error_words(numbers(facts["data"]), len(numbers(facts["error"]))) == numbers(facts["error"])


@pytest.mark.parametrize("name", [name for name in FIGURES if "h3" not in name])
def test_a_published_symbol_is_read_with_its_published_text(name, picture_of):
    facts = figure(name)
    rows, columns = (int(side) for side in facts["shape"].split("x"))
    modules = matrix_of(numbers(facts["data"]) + numbers(facts["error"]), rows, columns)
    (reading,) = read_symbols(picture_of(modules), kinds=frozenset({Symbology.DATA_MATRIX}))
    assert (reading.text, reading.symbology_identifier, reading.version) == (
        facts["text"],
        "]d2" if facts["fnc1_first"] == "yes" else "]d1",
        facts["shape"],
    )


def test_figure_o2_module_by_module():
    facts = figure("data_matrix_iso_16022_annex_o")
    found = write(payload_of(facts)).modules
    assert "\n".join("".join("01"[int(module)] for module in row) for row in found) == facts["matrix"]


def test_the_smallest_square_is_taken_in_the_published_size(gs1):
    assert write(gs1("01095011015300031715011910AB-123")).version == "20x20"
    assert write(gs1("010001234567890517040115")).version == "18x18"


def test_table_7(rows_of):
    found = [
        {
            "shape": shape.value,
            "data": str(shape.data_codewords),
            "error": str(shape.error_codewords),
            "digits": str(shape.digits),
        }
        for shape in DataMatrixShape
    ]
    assert found == rows_of("data_matrix_iso_16022_table_7.tsv")


@pytest.mark.parametrize("shape", DataMatrixShape)
def test_codewords_fill_the_mapping_matrix(shape):
    down, beside = regions(shape.rows, shape.columns)
    modules = (shape.rows - 2 * down) * (shape.columns - 2 * beside)
    assert shape.data_codewords + shape.error_codewords == modules // 8


@pytest.mark.parametrize("shape", DataMatrixShape)
def test_each_size_holds_its_digits_and_not_a_pair_more(shape, plain):
    symbol = write(plain("12" * (shape.digits // 2)), shape=shape)
    assert (symbol.version, symbol.modules.shape) == (shape.value, (shape.rows, shape.columns))
    assert codewords_in(symbol.modules)[: shape.data_codewords] == [142] * shape.data_codewords
    with pytest.raises(SymbolError):
        write(plain("12" * (shape.digits // 2 + 1)), shape=shape)


@pytest.mark.parametrize("shape", shapes_of(ShapeFamily.SQUARE))
def test_without_a_wish_the_smallest_square_is_taken(shape, plain):
    assert write(plain("12" * (shape.digits // 2))).version == shape


def test_never_an_extended_rectangle_unless_asked(gs1):
    drawn = random.Random(7)  # noqa: S311  the same draw every time
    squares = {shape.value for shape in shapes_of(ShapeFamily.SQUARE)}
    tempted = 0
    for _ in range(300):
        lot = "".join(drawn.choices(CHARSET_82, k=drawn.randint(1, 20)))
        assert write(gs1(f"010950110153000310{lot}")).version in squares
        bare = zxingcpp.create_barcode(f"[01]09501101530003[10]{lot}", zxingcpp.BarcodeFormat.DataMatrix, gs1=True)
        tempted += len(set(bare_shape(bare))) == 2
    # Left alone, the writer takes a rectangle for some of these.
    assert tempted > 0


def bare_shape(bare: zxingcpp.Barcode) -> tuple[int, int]:
    return np.asarray(bare.to_image(scale=1, add_quiet_zones=False)).shape


def test_what_a_symbol_knows_of_itself(gs1, plain):
    symbol = write(gs1("010950110153000310A(B\x1d21123456"))
    assert symbol.symbology is Symbology.DATA_MATRIX
    assert (symbol.version, symbol.symbology_identifier, symbol.quiet_zone) == ("18x18", "]d2", 1)
    assert (symbol.rows, symbol.columns, symbol.is_linear) == (18, 18, False)
    assert symbol.modules.dtype == np.bool_
    assert not symbol.modules.flags.writeable
    same = write(gs1("010950110153000310A(B\x1d21123456"))
    assert symbol == same
    assert hash(symbol) == hash(same)
    assert symbol != write(plain("010950110153000310A(B\x1d21123456"))
    assert symbol != "18x18"
    assert symbol != replace(symbol, modules=~symbol.modules)


def test_a_tube_in_house_fits_18_and_with_gtin_22(gs1, plain):
    # Use-by, date prepared, a lot of four digits, a serial of nine; in GS1 form with the GTIN first.
    assert write(plain("1727113013261120101234\x1d21010000017")).version == "18x18"
    assert write(gs1("0109501101530003" + "1727113013261120101234\x1d21010000017")).version == "22x22"


@pytest.mark.parametrize(
    ("text", "fnc1_first", "shape", "reason"),
    [
        (
            "12345678901",
            False,
            DataMatrixShape.RECTANGLE_8_18,
            "Input too long for Version 25, requires 6 codewords (maximum 5)",
        ),
        ("", False, None, "Can not create a barcode from NULL or empty data"),
        ("172711", True, None, "Invalid data length for AI (17)"),
        ("17271130\x1d10AB", True, None, "Control characters are not supported by GS1"),
        ("10AB\x1d", True, None, "the symbol would say something else"),
    ],
)
def test_refusals(text, fnc1_first, shape, reason):
    with pytest.raises(SymbolError) as refused:
        write(Payload(text=text, fnc1_first=fnc1_first, mode=IdentifierMode.IN_HOUSE), shape=shape)
    quoted = text.replace("\x1d", "<GS>")
    assert str(refused.value) == (
        f'the text "{quoted}" cannot be written ({reason}); expected a text that this kind of symbol carries whole; '
        "shorten the text or take a larger symbol"
    )


def test_a_refusal_quotes_the_head_of_a_long_text_and_stays_printable():
    with pytest.raises(SymbolError) as refused:
        write(Payload(text="\ud800" + "x" * 5000, fnc1_first=False, mode=IdentifierMode.IN_HOUSE))
    assert str(refused.value).startswith(f'the text "\\ud800{"x" * 59}" and 4941 characters more cannot be written (')
    assert str(refused.value).encode()


lots = st.text(st.sampled_from(CHARSET_82), min_size=1, max_size=20)
fixed = st.lists(st.sampled_from(["0109501101530003", "17271130", "13261120", "2001", "3103000250"]), max_size=3)


@given(head=fixed, lot=lots, serial=st.none() | lots)
@settings(max_examples=150, deadline=None)
def test_any_gs1_text_is_read_back_byte_by_byte(head, lot, serial):
    text = "".join(head) + "10" + lot + ("" if serial is None else f"\x1d21{serial}")
    symbol = write(Payload(text=text, fnc1_first=True, mode=IdentifierMode.GS1))
    grey = np.where(np.pad(symbol.modules, 1), 0, 255).astype(np.uint8).repeat(3, 0).repeat(3, 1)
    (reading,) = read_symbols(grey, effort=ReadEffort.PURE)
    assert (reading.data, reading.text, reading.symbology_identifier) == (text.encode(), text, "]d2")


@given(text=st.text(st.characters(codec="ascii"), min_size=1, max_size=60))
@settings(max_examples=150, deadline=None)
def test_any_plain_text_is_read_back_byte_by_byte(text):
    symbol = write(Payload(text=text, fnc1_first=False, mode=IdentifierMode.IN_HOUSE))
    grey = np.where(np.pad(symbol.modules, 1), 0, 255).astype(np.uint8).repeat(3, 0).repeat(3, 1)
    (reading,) = read_symbols(grey, effort=ReadEffort.PURE)
    assert (reading.data, reading.text, reading.symbology_identifier) == (text.encode(), text, "]d1")


def libdmtx_loses_its_place(symbol: Symbol) -> bool:
    """Say whether a separator FNC1 lies inside C40 or Text encodation (latches 230, 239).

    There libdmtx keeps the shift that announced FNC1 and takes the next character from the wrong set.
    """
    data = codewords_in(symbol.modules)[: DataMatrixShape(symbol.version).data_codewords]
    return symbol.payload.fnc1_first and "\x1d" in symbol.payload.text and not {230, 239}.isdisjoint(data)


def test_libdmtx_reads_what_we_write(gs1, plain, picture_of, read_with_libdmtx):
    drawn = random.Random(11)  # noqa: S311  the same draw every time
    symbols = [write(payload_of(figure(name)), shape=DataMatrixShape(figure(name)["shape"])) for name in FIGURES[:-1]]
    for shape in [None] * 30 + list(shapes_of(ShapeFamily.RECTANGLE)) * 5:
        room = 40 if shape is None else shape.data_codewords
        lot = "".join(drawn.choices(CHARSET_82, k=min(20, max(1, room - 10))))
        serial = f"{drawn.randrange(10**9):09d}"
        text = f"10{lot}\x1d21{serial}" if room > 20 else f"91{drawn.randrange(10**4):04d}"
        symbols.append(write((gs1 if drawn.random() < 0.5 else plain)(text), shape=shape))
    # Its finder misses a few at any one size, so that each symbol is shown in three.
    sizes = [read_with_libdmtx([picture_of(symbol.modules, pixels=size) for symbol in symbols]) for size in (4, 6, 9)]
    compared = 0
    for symbol, *found_in_sizes in zip(symbols, *sizes, strict=True):
        texts = set(found_in_sizes) - {None}
        assert len(texts) == 1, symbol
        (found,) = texts
        before, _, after = symbol.payload.text.encode().partition(b"\x1d")
        if libdmtx_loses_its_place(symbol):
            assert found.startswith(before)
        else:
            # libdmtx drops FNC1, so that a separator of a GS1 symbol cannot be compared.
            assert found.replace(b"\x1d", b"") == before + after
            compared += 1
    assert compared >= len(symbols) * 3 // 4
