"""Code 128 and GS1-128 against published values, the shortest encoding possible, and two other libraries."""

import random

import numpy as np
import pytest
import zxingcpp
from barcode.charsets.code128 import CODES, STOP
from barcode.codex import Code128, Gs1_128

from tracelabels.errors import SymbolError
from tracelabels.symbols import Symbology, read_symbols, write_code_128

FNC1 = 102
CHARSET_82 = "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz"
"""GS1 General Specifications R26.0, Table 7-20."""

OTHER_START = {"PJJ123C": [104, 48, 42, 42, 17, 18, 19, 35, 55]}
"""The published symbol starts in set A (103), ours in set B (104), which has the same capitals and digits."""

VALUE_OF = {pattern: value for value, pattern in enumerate([*CODES, STOP])}


def values_in(modules: np.ndarray) -> list[int]:
    """Read the symbol characters off the bars with python-barcode's table; the stop has two modules more."""
    (row,) = modules
    bars = "".join("01"[int(module)] for module in row)
    assert bars.endswith(STOP + "11")
    return [VALUE_OF[bars[start : start + 11]] for start in range(0, len(bars) - len(STOP) - 2, 11)]


def check_character(values: list[int]) -> int:
    return (values[0] + sum(place * value for place, value in enumerate(values[1:], start=1))) % 103


def fewest_characters(tokens: list[str | None]) -> int:
    """Return the length of the shortest encoding, start included, by trying all changes of set (None is FNC1)."""
    never = 10**6
    costs = [dict.fromkeys("ABC", never) for _ in range(len(tokens) + 2)]
    costs[0] = dict.fromkeys("ABC", 1)
    for place, token in enumerate(tokens):
        here = costs[place]
        if place:
            cheapest = min(here.values()) + 1
            here.update({name: min(cost, cheapest) for name, cost in here.items()})
        following = tokens[place + 1] if place + 1 < len(tokens) else None
        for name, cost in here.items():
            steps = costs[place + 1]
            if token is None:
                steps[name] = min(steps[name], cost + 1)
            elif name == "C":
                if token.isdigit() and following and following.isdigit():
                    costs[place + 2]["C"] = min(costs[place + 2]["C"], cost + 1)
            else:
                fits = ord(token) < 96 if name == "A" else ord(token) >= 32
                steps[name] = min(steps[name], cost + (1 if fits else 2))
    return min(costs[len(tokens)].values())


def drawn_texts(count: int) -> list[tuple[str, bool]]:
    drawn = random.Random(5)  # noqa: S311  the same draw every time
    texts = []
    for number in range(count):
        letters = CHARSET_82 if drawn.random() < 0.5 else "0123456789ABC"
        text = (
            drawn.choice(["0109501101530003", "17271130"])
            + "10"
            + "".join(drawn.choices(letters, k=drawn.randint(1, 15)))
        )
        if drawn.random() < 0.6:
            text += f"\x1d21{drawn.randint(0, 10**8)}"
        if number % 6 == 1:
            text = "".join(chr(drawn.randrange(128)) for _ in range(drawn.randint(1, 20)))
        texts.append((text, number % 2 == 0))
    return texts


def test_published_values(rows_of, gs1, plain):
    for row in rows_of("code_128_iso_15417_values.tsv"):
        text = row["text"].replace("<GS>", "\x1d")
        values = values_in(write_code_128((gs1 if row["fnc1_first"] == "yes" else plain)(text)).modules)
        published = [int(word) for word in row["values"].split()]
        assert values == OTHER_START.get(text, published), text
        assert len(values) == len(published)
        assert check_character(published[:-1]) == published[-1]


def test_what_a_symbol_knows_of_itself(gs1, plain):
    symbol = write_code_128(gs1("0109501101530003"))
    assert (symbol.symbology, symbol.version, symbol.symbology_identifier) == (Symbology.CODE_128, "128", "]C1")
    # 134 modules: the published length of a GS1-128 with a GTIN alone.
    assert (symbol.rows, symbol.columns, symbol.quiet_zone, symbol.is_linear) == (1, 134, 10, True)
    assert not symbol.modules.flags.writeable
    assert write_code_128(plain("17271130\x1d21A")).symbology_identifier == "]C0"


def test_no_shorter_encoding_exists(gs1, plain):
    for text, fnc1_first in drawn_texts(600):
        tokens = [None if fnc1_first and letter == "\x1d" else letter for letter in text]
        values = values_in(write_code_128((gs1 if fnc1_first else plain)(text)).modules)
        assert len(values) - 1 == fewest_characters([None, *tokens] if fnc1_first else tokens), text
        assert check_character(values[:-1]) == values[-1]
        assert (values[1] == FNC1) == fnc1_first


def test_python_barcode_is_never_shorter_and_the_bare_writer_is_equal(gs1, plain):
    longer = 0
    for text, fnc1_first in drawn_texts(200):
        columns = write_code_128((gs1 if fnc1_first else plain)(text)).columns
        judge = Gs1_128(text.replace("\x1d", "\xf1")) if fnc1_first else Code128(text)
        assert len(judge.build()[0]) >= columns
        longer += len(judge.build()[0]) > columns
        if not fnc1_first:
            bare = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.Code128)
            assert np.asarray(bare.to_image(scale=1, add_quiet_zones=False)).shape[1] == columns
    assert longer > 0


def test_read_back_byte_by_byte(gs1, plain, picture_of):
    for text, fnc1_first in drawn_texts(60):
        symbol = write_code_128((gs1 if fnc1_first else plain)(text))
        (reading,) = read_symbols(picture_of(symbol.modules, pixels=2), kinds=frozenset({Symbology.CODE_128}))
        assert (reading.data, reading.symbology_identifier) == (text.encode(), "]C1" if fnc1_first else "]C0")


def test_python_barcodes_gs1_128_is_read_with_the_same_text(picture_of):
    bars = Gs1_128("010950110153000310AB12\xf12117").build()[0]
    (reading,) = read_symbols(picture_of(np.array([[bar == "1" for bar in bars]])))
    assert (reading.text, reading.symbology_identifier) == ("010950110153000310AB12\x1d2117", "]C1")


def test_refusals(gs1, plain):
    with pytest.raises(SymbolError) as refused:
        write_code_128(gs1("0109501101530003" + "1727113010" + "A" * 20 + "\x1d21" + "7" * 20))
    assert str(refused.value) == (
        "69 characters for one GS1-128 symbol; expected at most 48; use a Data Matrix, or leave elements out"
    )
    with pytest.raises(SymbolError):
        write_code_128(plain("日本"))
