"""The verdicts of GS1's own reference parser on 2,000 scanned texts, and the whole of GS1's syntax dictionary.

Both files lie outside the project, beside it. Where they are missing the tests are skipped on a contributor's
machine and fail in continuous integration.
"""

import json
import re
from datetime import date
from pathlib import Path

import pytest

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import as_human_readable, identify
from tracelabels.identifiers.application_identifiers import PREDEFINED_LENGTHS, application_identifiers
from tracelabels.identifiers.linters import checks

SHARED = Path(__file__).parents[3] / "shared"
# The day on which the reference parser was run; no verdict depends on it within the year.
TODAY = date(2026, 11, 25)


def require_file(path: Path) -> Path:
    if not path.exists():
        pytest.skip(f"{path.name} is not beside the project")
    return path


def verdict(scan: str) -> tuple[bool, bool, str | None]:
    """Return valid syntax, valid with associations, and the elements if the syntax is valid."""
    try:
        found = identify(scan, today=TODAY)
    except IdentifierError:
        return False, False, None
    return True, not found.unmet, as_human_readable(found.elements)


def test_every_verdict_of_the_reference_parser_is_reproduced():
    lines = require_file(SHARED / "vectors" / "element_strings.jsonl").read_text(encoding="utf-8").splitlines()
    records = [json.loads(line) for line in lines]
    assert len(records) == 2000
    expected = [
        (record["valid_syntax"], record["valid_with_associations"], record.get("elements")) for record in records
    ]
    found = [verdict(record["scan"]) for record in records]
    differing = [(records[n]["scan"], expected[n], found[n]) for n in range(2000) if expected[n] != found[n]]
    assert differing == []


def dictionary_entries(text: str) -> dict[str, tuple[str, ...]]:
    """Return flags, components, requirements, exclusions, qualifiers, key and title of each identifier, as written."""
    entries = {}
    for line in text.splitlines():
        if not re.match("[0-9]", line):
            continue
        body, _, title = line.partition("#")
        span, *tokens = body.split()
        first, _, last = span.partition("-")
        flags = tokens.pop(0) if re.fullmatch("[*?]+", tokens[0]) else ""
        kinds = {
            key: ",".join(token[len(key) :] for token in tokens if token.startswith(key))
            for key in ("req=", "ex=", "dlpkey=")
        }
        parts = " ".join(token for token in tokens if re.match(r"\[?[NXYZ]", token))
        is_key = any(token.startswith("dlpkey") for token in tokens)
        for number in range(int(first), int(last or first) + 1):
            ai = str(number).zfill(len(first))
            entries[ai] = (flags, parts, *kinds.values(), "key" if is_key else "", title.strip())
    return entries


def own_entries() -> dict[str, tuple[str, ...]]:
    """Return the same of the package's own table."""
    entries = {}
    for ai, entry in application_identifiers().items():
        flags = ("" if entry.needs_separator else "*") + ("?" if entry.link_attribute else "")
        parts = []
        for part in entry.components:
            length = str(part.longest) if part.shortest == part.longest else f"..{part.longest}"
            shape = f"{part.character_set.value}{length}"
            parts.append(",".join([f"[{shape}]" if part.optional else shape, *part.checks]))
        entries[ai] = (
            flags,
            " ".join(parts),
            ",".join("+".join(together) for together in entry.requires),
            ",".join(entry.excludes),
            "|".join(",".join(sequence) for sequence in entry.qualifiers),
            "key" if entry.link_key else "",
            entry.title,
        )
    return entries


def test_the_table_says_what_the_syntax_dictionary_says_of_every_identifier():
    text = require_file(SHARED / "reference" / "gs1-syntax-dictionary.txt").read_text(encoding="utf-8")
    assert own_entries() == dictionary_entries(text)


def test_every_check_that_the_table_names_exists_and_none_is_idle():
    named = {name for entry in application_identifiers().values() for part in entry.components for name in part.checks}
    assert named == set(checks())


def test_no_separator_is_needed_exactly_where_the_first_two_digits_fix_the_length():
    # GS1 General Specifications R26.0, table 7-6.
    for ai, entry in application_identifiers().items():
        assert entry.needs_separator == (ai[:2] not in PREDEFINED_LENGTHS)
        assert entry.needs_separator or entry.longest == entry.shortest == PREDEFINED_LENGTHS[ai[:2]]


def test_no_identifier_is_the_beginning_of_another():
    table = application_identifiers()
    assert [ai for ai in table for length in (2, 3) if length < len(ai) and ai[:length] in table] == []
