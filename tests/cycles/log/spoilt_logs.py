"""Logs spoilt by chance: bytes turned, rows lost, separators swapped, numbers and lines of absurd size."""

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from random_dialects import write_at_random

from tracelabels.cycles.log import LogOptions

LOGS = Path(__file__).parents[2] / "vectors" / "logs"
Random = np.random.Generator

ABSURD = (
    b"1e308", b"-1e308", b"1e999", b"9" * 400, b"-" * 400, b"nan", b"inf", b"-inf", b"1:" * 3000, b"1." * 3000,
    b" " * 20000, b'"' * 999, b"\x00" * 3000, b"(" * 2000,
    b"\xff\xfe", b"\xef\xbb\xbf", "\u0663\u0664\u0665".encode(),
    b"0" * 40, b"99999999999999999999", b"31.02.2026", b"25:61:61", b"0000-00-00", b"1E-300", b"---", b"OL", b"Err",
    b"#N/A",
    b"20260314T250000", b"1'000'000", b"1,2,3,4,5", b";;;;;;;;", b"\t\t\t", b"+", b".", b",", b"e5", b"46000.5",
    b"1773475200",     "14. M\u00e4rz 2026 08:00".encode(), b"\r", b"\n\n\n", b"=1+1", b"AM", b"\xe2\x88\x92",
)  # fmt: skip
"""What is put in somewhere."""
LARGEST = 3_000_000
"""Bytes; size itself has a limit and a test of its own."""
OPTIONS = (
    ("separator", (",", ";", "\t", "|", " ", "x")),
    ("decimal_mark", (".", ",", ";")),
    ("time_unit", ("s", "min", "weeks")),
    ("date_order", ("dmy", "mdy", "ymd", "yyy")),
    ("temperature_unit", ("C", "F", "K", "R")),
    ("pressure_unit", ("kPa", "bar", "psi", "inches")),
    ("pressure_reference", ("absolute", "gauge", "moon")),
    ("time_column", ("1", "2", "0", "Time", "99999999999", "\u0663")),
    ("temperature_column", ("1", "2", "3", "T", "")),
    ("pressure_column", ("none", "1", "2", "3")),
)


def _turn_bytes(content: bytes, rng: Random) -> bytes:
    turned = bytearray(content)
    for place in rng.integers(len(turned), size=int(rng.integers(1, 40))):
        turned[place] = int(rng.integers(256))
    return bytes(turned)


def _cut(content: bytes, rng: Random) -> bytes:
    start, end = sorted(rng.integers(len(content) + 1, size=2))
    return content[:start] + content[end:] if rng.random() < 0.5 else content[start:end]


def _lose_or_double_lines(content: bytes, rng: Random) -> bytes:
    lines = content.splitlines(keepends=True)
    return b"".join(line for line in lines for _ in range(int(rng.choice([0, 1, 1, 1, 2]))))


def _shuffle_lines(content: bytes, rng: Random) -> bytes:
    lines = content.splitlines(keepends=True)
    places = (
        rng.permutation(len(lines))
        if rng.random() < 0.3
        else np.argsort(np.arange(len(lines)) + rng.normal(0, 3, len(lines)))
    )
    return b"".join(lines[place] for place in places)


def _swap_separators(content: bytes, rng: Random) -> bytes:
    old, new = rng.choice(list(',;\t|. :-/\n"'), size=2)
    parts = content.split(old.encode())
    return b"".join(part + (new if rng.random() < 0.5 else old).encode() for part in parts)


def _put_in(content: bytes, rng: Random) -> bytes:
    for _ in range(int(rng.integers(1, 8))):
        place = int(rng.integers(len(content) + 1))
        content = content[:place] + ABSURD[int(rng.integers(len(ABSURD)))] + content[place:]
    return content


def _replace_numbers(content: bytes, rng: Random) -> bytes:
    absurd = ABSURD[int(rng.integers(len(ABSURD)))]
    share = rng.random() ** 3
    return re.sub(rb"\d+[.,]?\d*", lambda found: absurd if rng.random() < share else found[0], content[:20000])


def _empty_a_column(content: bytes, rng: Random) -> bytes:
    column, mark = int(rng.integers(5)), str(rng.choice([",", ";", "\t"])).encode()
    rows = [line.split(mark) for line in content.split(b"\n")]
    return b"\n".join(mark.join(b"" if place == column else cell for place, cell in enumerate(row)) for row in rows)


def _one_long_line(content: bytes, rng: Random) -> bytes:
    del rng
    return content.replace(b"\n", b" ") * 3


WAYS: tuple[Callable[[bytes, Random], bytes], ...] = (
    _turn_bytes, _cut, _lose_or_double_lines, _shuffle_lines, _swap_separators, _put_in, _put_in, _replace_numbers,
    _empty_a_column, _one_long_line,
)  # fmt: skip


def spoil(seed: int) -> tuple[bytes, LogOptions]:
    """Return a spoilt log, and options that may be as wrong."""
    rng = np.random.default_rng(seed)
    files = sorted(LOGS.iterdir())
    content = files[seed % len(files)].read_bytes() if seed % 2 else write_at_random(seed).content
    for _ in range(int(rng.integers(1, 4))):
        content = WAYS[int(rng.integers(len(WAYS)))](content or b"0", rng)[:LARGEST]
    options = LogOptions()
    for name, values in OPTIONS:
        if rng.random() < 0.06:
            options = replace(options, **{name: str(rng.choice(values))})
    return content, options
