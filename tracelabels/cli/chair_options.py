"""What commands at the chair take as typed: a label, what was seen at opening, what is personal."""

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import click

from tracelabels.cli.options import Command, find_day
from tracelabels.errors import InputError

if TYPE_CHECKING:
    from tracelabels.custody import OpeningCheck, SeenLabel


_LONGEST: Final = 100_000
_WORDS: Final = {"ok": True, "yes": True, "no": False}
_ASKED: Final = ["dry", "indicator", "whole"]


def label_options(command: Command) -> Command:
    """Add what is typed from a label."""
    lot = click.option("--lot", help="Batch or preparation number, as on the label.")
    use_by = click.option("--use-by", metavar="DATE", help="Use-by, as on the label.")
    prepared = click.option("--prepared", metavar="DATE", help="Date prepared, as on the label.")
    return lot(use_by(prepared(command)))


def typed_label(serial: str, lot: str | None, use_by: str | None, prepared: str | None) -> "SeenLabel":
    """Return what was typed from a label."""
    from tracelabels.custody import SeenLabel

    return SeenLabel(
        serial=serial.replace(" ", ""),
        lot=lot,
        use_by=find_day(use_by, "--use-by"),
        prepared=find_day(prepared, "--prepared"),
    )


def opening_from(text: str | None) -> "OpeningCheck | None":
    """Read the answers at opening; all three have to be there, each ok, yes or no. None if nothing was answered."""
    from tracelabels.custody import OpeningCheck

    if not text:
        return None
    parts = [part.strip().lower().partition("=")[::2] for part in text.split(",")]
    answers = dict(parts)
    if sorted(name for name, _ in parts) != _ASKED or not set(answers.values()) <= set(_WORDS):
        raise InputError(
            given=f"--opened {text!r}",
            expected="indicator=, dry= and whole=, each once, each ok, yes or no",
            remedy="write for example indicator=ok,dry=yes,whole=yes",
        )
    return OpeningCheck(
        indicator=_WORDS[answers["indicator"]], dry=_WORDS[answers["dry"]], whole=_WORDS[answers["whole"]]
    )


def personal_input(names: Sequence[str]) -> dict[str, str]:
    """Read what is personal from standard input, as one JSON object of texts, so that no history of a shell holds it.

    Raises:
        InputError: it is no such object, or has a key of another name.
    """
    text = sys.stdin.read(_LONGEST)
    try:
        found = json.loads(text)
    except ValueError:
        found = None
    if not isinstance(found, dict) or not all(isinstance(one, str) for one in found.values()):
        raise InputError(
            given="standard input that is no JSON object of texts",
            expected=f'for example {{"{names[0]}": "..."}}',
            remedy="write it so; nothing was recorded",
        )
    stranger = next((name for name in found if name not in names), None)
    if stranger is not None:
        raise InputError(
            given=f"standard input with {stranger!r}", expected=", ".join(names), remedy="correct the name of the key"
        )
    return found
