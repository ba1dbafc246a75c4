"""Explain a scanned text; a text that is wrong is an answer too."""

from dataclasses import dataclass
from datetime import date

from tracelabels.errors import IdentifierError
from tracelabels.identifiers import Identification, identify
from tracelabels.identifiers.application_identifiers import require_application_identifier


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanation:
    """What a text says, or what is wrong with it; one of the two is None."""

    identification: Identification | None
    """What it says."""
    error: str | None
    """What is wrong with it, in one sentence."""


def explain(text: str, *, today: date, gs: str | None = None) -> Explanation:
    """Return what a text says, or what is wrong with it.

    Args:
        text: as a scanner sends it, or as people write it.
        today: decides the century of two-digit years.
        gs: what stands for the group separator in it, if a scanner sends something else.
    """
    try:
        return Explanation(identification=identify(text, today=today, gs=gs), error=None)
    except IdentifierError as problem:
        return Explanation(identification=None, error=str(problem))


def title_of(ai: str) -> str:
    """Return GS1's data title of an application identifier, such as USE BY or EXPIRY."""
    return require_application_identifier(ai).title
