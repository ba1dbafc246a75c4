"""Which elements must, and which must not, stand together.

Source: the ``req`` and ``ex`` attributes of the GS1 Barcode Syntax Dictionary, which follow GS1 General
Specifications 4.13 and 4.14. They are meant for all codes on one thing together, so a rule that one code leaves unmet
may be met by another.
"""

from collections.abc import Sequence
from functools import lru_cache

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import ApplicationIdentifier, require_application_identifier
from tracelabels.identifiers.elements import Element
from tracelabels.identifiers.values import shown_element


def require_compatible(elements: Sequence[Element]) -> None:
    """Refuse a repeated identifier with another value, and a pair that GS1 excludes.

    Raises:
        IdentifierError: If there is one.
    """
    values: dict[str, str] = {}
    for element in elements:
        first = values.setdefault(element.ai, element.value)
        if first != element.value:
            raise IdentifierError(
                given=f"{shown_element(element.ai, first)} and {shown_element(element.ai, element.value)} together",
                expected=f"the same value wherever ({element.ai}) is repeated",
                remedy="scan one label at a time, or correct the code where it was made",
            )
    excluded = _find_excluded_pair(tuple(values))
    if excluded is not None:
        ai, other = excluded
        raise IdentifierError(
            given=f"({ai}) together with ({other})",
            expected=f"no ({other}) beside ({ai}), which GS1 excludes",
            remedy="leave one of the two out where the code is made",
        )


def find_unmet(elements: Sequence[Element]) -> tuple[str, ...]:
    """Return one sentence for each required-with rule that the elements do not keep, in the order of the elements.

    >>> find_unmet([Element(ai="250", value="A7")])
    ('(250) SECONDARY SERIAL needs (01) with (21), (03) with (21) or (8006) with (21) beside it.',)
    """
    return _unmet_among(tuple(dict.fromkeys(element.ai for element in elements)))


# Labels of one kind carry the same identifiers, whatever the values: both answers are kept for the last kinds seen.
@lru_cache(maxsize=256)
def _find_excluded_pair(present: tuple[str, ...]) -> tuple[str, str] | None:
    for ai in present:
        for pattern in require_application_identifier(ai).excludes:
            for other in present:
                if _fits(pattern, other, ai):
                    return ai, other
    return None


@lru_cache(maxsize=256)
def _unmet_among(present: tuple[str, ...]) -> tuple[str, ...]:
    entries = [require_application_identifier(ai) for ai in present]
    return tuple(_unmet_sentence(entry) for entry in entries if not _is_met(entry, present))


def _is_met(entry: ApplicationIdentifier, present: tuple[str, ...]) -> bool:
    return not entry.requires or any(
        all(any(_fits(pattern, other, entry.ai) for other in present) for pattern in together)
        for together in entry.requires
    )


def _fits(pattern: str, other: str, itself: str) -> bool:
    """Tell whether another identifier fits a pattern; an identifier never fits on its own account."""
    if other == itself:
        return False
    fixed = pattern.rstrip("n")
    return len(other) == len(pattern) and other.startswith(fixed)


def _unmet_sentence(entry: ApplicationIdentifier) -> str:
    choices = [" with ".join(f"({pattern})" for pattern in together) for together in entry.requires]
    listed = ", ".join(choices[:-1]) + " or " + choices[-1] if len(choices) > 1 else choices[0]
    return f"({entry.ai}) {entry.title} needs {listed} beside it."
