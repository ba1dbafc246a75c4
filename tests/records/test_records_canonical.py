"""The one way to write a value as JSON, against another writer and a table of another standard."""

import json

from hypothesis import given
from hypothesis import strategies as st

from tracelabels.records.chain import canonical

NUMBERS = st.integers(-(2**63), 2**63 - 1)
NAMES = st.text("abcdefghijklmnopqrstuvwxyz_", min_size=1, max_size=12)
VALUES = st.text() | NUMBERS | st.booleans()


@given(st.dictionaries(NAMES, VALUES | st.lists(st.dictionaries(NAMES, VALUES, max_size=3), max_size=3)))
def test_two_writers_agree(value):
    """Python's own JSON writer with the settings of RFC 8785 for these kinds of values."""
    other = json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
    assert canonical(value) == other.encode()


def test_every_character_is_written_as_rfc_8785_says():
    """RFC 8785, 3.2.2.2: the seven short escapes, u00xx in lower case below a space, all else as it is."""
    short = {8: "\\b", 9: "\\t", 10: "\\n", 12: "\\f", 13: "\\r", 34: '\\"', 92: "\\\\"}

    def written(code: int) -> str:
        return short.get(code) or (f"\\u{code:04x}" if code < 32 else chr(code))

    codes = [*range(0xD800), *range(0xE000, 0x110000)]
    assert [code for code in codes if canonical(chr(code)).decode() != f'"{written(code)}"'] == []
