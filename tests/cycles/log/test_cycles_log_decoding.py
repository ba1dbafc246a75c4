"""Bytes to text: encodings with and without a mark, and line ends."""

import codecs

import pytest

from tracelabels.cycles.log import LogOptions, read_log

TEXT = "Zeit [s];Überhitzer °C;Kammer °C\n" + "".join(f"{30 * at};{24 + at};{22 + 2 * at}\n" for at in range(40))
CELSIUS = [22.0 + 2 * at for at in range(40)]

ENCODED = {
    "utf-8": (TEXT.encode(), "utf-8"),
    "utf-8 with a mark": (codecs.BOM_UTF8 + TEXT.encode(), "utf-8"),
    "utf-16, little end first, without a mark": (TEXT.encode("utf-16-le"), "utf-16-le"),
    "utf-16, big end first, without a mark": (TEXT.encode("utf-16-be"), "utf-16-be"),
    "utf-16, big end first": (codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"), "utf-16-be"),
    "utf-32": (codecs.BOM_UTF32_LE + TEXT.encode("utf-32-le"), "utf-32-le"),
    "cp1252": (TEXT.encode("cp1252"), "cp1252"),
    "ascii": (TEXT.replace("Ü", "U").replace("°", "").encode(), "ascii"),
    "carriage returns alone": (TEXT.replace("\n", "\r").encode(), "utf-8"),
    "carriage returns and line feeds": (TEXT.replace("\n", "\r\n").encode(), "utf-8"),
    "no end of the last line": (TEXT.rstrip("\n").encode(), "utf-8"),
    "zeros behind the end": (TEXT.encode() + b"\x00" * 500, "utf-8"),
}


@pytest.mark.parametrize("name", ENCODED)
def test_a_file_is_text_in_whatever_encoding(name):
    content, encoding = ENCODED[name]
    log = read_log(content, LogOptions(), name="a.csv")
    found = {guess.what: guess.value for guess in log.guesses}
    assert (found["encoding"], found["temperature_column"].strip("'")[:6]) == (encoding, "Kammer")
    assert log.readings.celsius.tolist() == CELSIUS
    assert [one.sentence for one in log.oddities] == (
        ["line 42: no reading in '" + "\\x00" * 60 + "'; the row is left out"] if "zeros" in name else []
    )
