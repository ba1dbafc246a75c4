"""Symbols that others wrote: published codewords and another writer's QR, and what damage to them costs."""

import random
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
import reedsolo
import segno

from tracelabels.identifiers import IdentifierMode, Payload
from tracelabels.legibility.grades import NotGraded, ParameterName, SymbolGrade, grade_picture
from tracelabels.symbols import DataMatrixShape, Symbology, write_data_matrix, write_qr
from tracelabels.symbols.codewords import ReedSolomon, data_matrix_placement, find_codeword_map

VECTORS = Path(__file__).parent.parent / "vectors"
CODES = [ReedSolomon(polynomial=0x12D, first_root=1), ReedSolomon(polynomial=0x11D, first_root=0)]


def encoded(code: ReedSolomon, data: list[int], check: int) -> list[int]:
    """Append the check words, by the library that is under test; `syndromes` judges them."""
    codec = reedsolo.RSCodec(check, nsize=255, fcr=code.first_root, prim=code.polynomial)
    return list(codec.encode(bytes(data)))


def syndromes(words: Sequence[int], code: ReedSolomon, check: int) -> list[int]:
    """The words' polynomial at each root, reckoned by shifts alone: all 0 just for a codeword."""

    def times(a: int, b: int) -> int:
        product = 0
        while b:
            product ^= a * (b & 1)
            a, b = a << 1, b >> 1
            a ^= code.polynomial * (a >> 8)
        return product

    root, found = 1, []
    for power in range(code.first_root + check):
        if power >= code.first_root:
            value = 0
            for word in words:
                value = times(value, root) ^ word
            found.append(value)
        root = times(root, 2)
    return found


def published(kind: str) -> tuple[list[int], int]:
    """Return data and check codewords, and how many check codewords: figure 2.6.14-4 (20x20), Annex I.2 (1-M)."""
    if kind == "Data Matrix":
        facts = figure("data_matrix_gs1_figure_2_6_14_4")
        error = facts["error"].split()
        return [int(word) for word in facts["data"].split() + error], len(error)
    _, names, row, *_ = (VECTORS / "qr_iso_18004_annex_i_2.txt").read_text(encoding="utf-8").splitlines()
    facts = dict(zip(names.split("\t"), row.split("\t"), strict=True))
    error = bytes.fromhex(facts["error"])
    return [*bytes.fromhex(facts["data"]), *error], len(error)


@pytest.mark.parametrize(("kind", "code"), [("Data Matrix", CODES[0]), ("QR", CODES[1])])
def test_published_codewords_come_back_when_half_of_their_check_words_are_wrong(kind, code):
    words, check = published(kind)
    assert not any(syndromes(words, code, check))
    damaged = list(words)
    for place in range(0, check, 2):
        damaged[place] ^= 0x5A
    assert any(syndromes(damaged, code, check))
    assert list(code.find_corrected(damaged, check)) == words


@pytest.mark.parametrize("code", CODES, ids=["Data Matrix", "QR"])
def test_up_to_half_of_the_check_words_are_corrected(code):
    drawn = random.Random(code.polynomial)  # noqa: S311  the same draw every time
    for _ in range(120):
        check = drawn.randint(2, 40)
        words = encoded(code, [drawn.randrange(256) for _ in range(drawn.randint(1, 60))], check)
        assert not any(syndromes(words, code, check))
        damaged = list(words)
        for place in drawn.sample(range(len(words)), min(drawn.randint(0, check // 2), len(words))):
            damaged[place] ^= drawn.randrange(1, 256)
        assert code.find_corrected(damaged, check) == tuple(words)


@pytest.mark.parametrize("code", CODES, ids=["Data Matrix", "QR"])
def test_what_comes_back_is_always_valid_and_near(code):
    drawn = random.Random(1 + code.polynomial)  # noqa: S311  the same draw every time
    lost = 0
    for _ in range(60):
        words = encoded(code, [drawn.randrange(256) for _ in range(18)], 14)
        for place in drawn.sample(range(32), 10):
            words[place] ^= drawn.randrange(1, 256)
        found = code.find_corrected(words, 14)
        lost += found is None
        if found is not None:
            assert list(found) == encoded(code, list(found[:18]), 14)
            assert not any(syndromes(found, code, 14))
            assert sum(a != b for a, b in zip(found, words, strict=True)) <= 7
    assert lost > 50


def figure(name: str) -> dict[str, str]:
    lines = (VECTORS / f"{name}.txt").read_text(encoding="utf-8").splitlines()[1:]
    facts = dict(line.split(": ", 1) for line in lines if ": " in line)
    return facts | {"matrix": "\n".join(line for line in lines if set(line) <= set("01"))}


def test_the_published_matrix_gives_its_published_codewords():
    # ISO/IEC 16022:2006 Annex O: "123456".
    facts = figure("data_matrix_iso_16022_annex_o")
    dark = np.array([[module == "1" for module in row] for row in facts["matrix"].split()])
    bits = data_matrix_placement.bit_of_module(DataMatrixShape.SQUARE_10)
    stream = np.zeros(64, dtype=bool)
    stream[bits[bits >= 0]] = dark[bits >= 0]
    assert np.packbits(stream).tolist() == [142, 164, 186, 114, 25, 5, 88, 102]


def drawn_from(words: list[int], shape: DataMatrixShape) -> np.ndarray:
    """Lay codewords into the fixed pattern of a size."""
    frame = write_data_matrix(Payload(text="1", fnc1_first=False, mode=IdentifierMode.IN_HOUSE), shape=shape)
    bits = data_matrix_placement.bit_of_module(shape)
    stream = np.unpackbits(np.array(words, dtype=np.uint8)).astype(bool)
    return np.where(bits >= 0, stream[bits], frame.modules)


def picture(modules: np.ndarray, margin: int) -> np.ndarray:
    grey = np.where(np.pad(modules, margin), 20, 230).astype(np.uint8)
    return np.repeat(np.repeat(grey, 6, axis=0), 6, axis=1)


@pytest.mark.parametrize("errors", [0, 3])
def test_a_published_symbol_that_our_writer_says_in_other_words(errors):
    # GS1 General Specifications, figure 2.6.14-4: all in ASCII encodation; our writer packs a part of it otherwise.
    facts = figure("data_matrix_gs1_figure_2_6_14_4")
    data, check = ([int(word) for word in facts[name].split()] for name in ("data", "error"))
    modules = drawn_from(data + check, DataMatrixShape.SQUARE_20)
    ours = write_data_matrix(
        Payload(text=facts["text"], fnc1_first=True, mode=IdentifierMode.GS1), shape=DataMatrixShape.SQUARE_20
    )
    assert not np.array_equal(ours.modules, modules)
    owner = data_matrix_placement.codeword_of_module(DataMatrixShape.SQUARE_20)
    damaged = modules ^ np.isin(owner, [2, 11, 30][:errors])
    (grade,) = grade_picture(picture(damaged, 4))
    assert isinstance(grade, SymbolGrade), grade
    assert grade.find(ParameterName.UNUSED_ERROR_CORRECTION).value == pytest.approx(1 - 2 * errors / 18)
    assert np.array_equal(grade.modules.wrong, damaged != modules)


@pytest.mark.parametrize("text", ["hello world 17", "1727113013261120", "A1-b2"])
@pytest.mark.parametrize("level", ["L", "M", "Q", "H"])
def test_a_qr_of_another_writer(text, level):
    theirs = segno.make(text, error=level, micro=False, boost_error=False, mode="byte")
    modules = np.array([[bool(module) for module in row] for row in theirs.matrix])
    codewords = find_codeword_map(Symbology.QR, theirs.designator)
    damaged = modules ^ (codewords.owner == 4)
    (grade,) = grade_picture(picture(damaged, 6))
    assert isinstance(grade, SymbolGrade), grade
    assert grade.version == theirs.designator
    assert np.array_equal(grade.modules.dark, modules)
    assert np.array_equal(grade.modules.wrong, damaged != modules)


def test_these_qr_are_not_those_of_our_writer():
    # Else the test above would show nothing: segno fills texts in byte mode otherwise.
    theirs = segno.make("A1-b2", error="L", micro=False, boost_error=False, mode="byte", mask=0)
    ours = write_qr(Payload(text="A1-b2", fnc1_first=False, mode=IdentifierMode.IN_HOUSE), version=1, mask=0)
    assert not np.array_equal(np.array(theirs.matrix, dtype=bool), ours.modules)


def test_a_version_beyond_those_known_is_not_graded():
    theirs = segno.make("x" * 200, error="L", micro=False)
    modules = np.array([[bool(module) for module in row] for row in theirs.matrix])
    (finding,) = grade_picture(picture(modules, 6))
    assert isinstance(finding, NotGraded)
