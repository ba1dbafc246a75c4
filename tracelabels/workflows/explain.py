"""Explain scanned texts, one by one; a text that is wrong is an answer too."""

from collections.abc import Iterable, Iterator
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


def explain(texts: Iterable[str], *, today: date, gs: str | None = None) -> Iterator[Explanation]:
    """Yield one explanation for each text, in order.

    Args:
        texts: as a scanner sends them, or as people write them.
        today: decides the century of two-digit years.
        gs: what stands for the group separator in these texts, if a scanner sends something else.
    """
    for text in texts:
        try:
            yield Explanation(identification=identify(text, today=today, gs=gs), error=None)
        except IdentifierError as problem:
            yield Explanation(identification=None, error=str(problem))


def title_of(ai: str) -> str:
    """Return GS1's data title of an application identifier, such as USE BY or EXPIRY."""
    return require_application_identifier(ai).title
