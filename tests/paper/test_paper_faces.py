"""The embedded face: its measures against the font files, and the shapes that must never be confused."""

import itertools
import unicodedata

import numpy as np
import pytest

from tracelabels.assets import fonts_folder
from tracelabels.lengths import Mm, Points
from tracelabels.paper import (
    Face,
    Paper,
    ascent,
    cap_height,
    descent,
    missing_characters,
    rasterise_page,
    text_width,
    x_height,
)


@pytest.mark.parametrize("face", list(Face))
def test_measures_are_those_of_the_font_file(face):
    from reportlab.pdfbase.ttfonts import TTFontFile

    file = TTFontFile(str(fonts_folder() / f"{face.value}.ttf"), charInfo=1)
    ten = Points(10.0)
    mm = 10 * 25.4 / 72
    assert ascent(ten) == pytest.approx(file.ascent / 1000 * mm, abs=0.002)
    assert descent(ten) == pytest.approx(-file.descent / 1000 * mm, abs=0.002)
    assert cap_height(ten) == pytest.approx(file.capHeight / 1000 * mm, abs=0.002)
    assert text_width("Rosehip", face, ten) == pytest.approx(
        sum(file.charWidths[ord(letter)] for letter in "Rosehip") / 1000 * mm
    )
    assert 0.5 * mm < x_height(ten) < 0.6 * mm


@pytest.mark.parametrize("face", list(Face))
def test_all_digits_are_equally_wide(face):
    assert len({text_width(digit, face, Points(100.0)) for digit in "0123456789"}) == 1


def _drawn(character: str, face: Face) -> np.ndarray:
    paper = Paper(width=Mm(12.0), height=Mm(14.0), dpi=300, title="shape")
    piece = paper.fragment()
    piece.text(character, left=Mm(1.0), baseline=Mm(10.0), size=Points(24.0), face=face)
    paper.stamp(piece, left=Mm(0.0), top=Mm(0.0))
    dark = rasterise_page(paper.finish(), index=0, dpi=300) < 128
    columns = np.nonzero(dark.any(axis=0))[0]
    return np.roll(dark, -columns[0], axis=1)  # compared where each begins


@pytest.mark.parametrize("face", list(Face))
@pytest.mark.parametrize("alike", ["0O", "1Il", "5S", "8B", "2Z", "6G"])
def test_characters_that_look_alike_elsewhere_differ_here(face, alike):
    shapes = {character: _drawn(character, face) for character in alike}
    for one, other in itertools.combinations(alike, 2):
        ink = min(shapes[one].sum(), shapes[other].sum())
        # Of the ink of the slighter one, at least a tenth stands where the other has none, or the other way round.
        assert (shapes[one] ^ shapes[other]).sum() > ink / 10, (one, other)


def test_latin_greek_and_cyrillic_are_there():
    wanted = (
        "ABCXYZabcxyz0123456789 ÀÉÎÕÜßçñøåÆŒŁśžőűğışț "
        "ΑΒΓΔΘΛΞΠΣΦΨΩαβγδεζηθικλμνξοπρστυφχψωάέήίόύώϊϋΐΰς "
        "АБВГДЕЁЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯабвгдеёжзийклмнопрстуфхцчшщъыьэюяІіЇїЄєҐґЎўЈјЉљЊњЋћЂђЏџ"
        "–—…·×°±µ²³½€%&()[]{}#@+=<>/\\|\"'"  # noqa: RUF001  these very characters are asked for
    )
    assert missing_characters(wanted) == ()


def test_a_character_that_is_not_there_is_named_once():
    assert missing_characters("Rose 薔薇 薔 ✿") == ("薔", "薇", "✿")
    assert unicodedata.name(missing_characters("✿")[0]) == "BLACK FLORETTE"
