"""Reasons stand in the chain for good, so they must not say what may have to be erased."""

from collections.abc import Iterator
from typing import Any, Final

from tracelabels.errors import InputError
from tracelabels.workflows.field_texts import as_text

_SHORTEST: Final = 3
"""Characters of a text that is looked for; shorter ones stand in every sentence."""
_NAMES: Final = frozenset({"name", "surgeon", "physician"})
"""Fields whose single words count, too."""


def require_plain(reason: str, *values: Any) -> None:  # noqa: ANN401  any recorded value
    """Refuse a reason that repeats what is personal about a thing.

    Args:
        reason: the reason.
        values: versions of the thing.

    Raises:
        InputError: it does.
    """
    field = find_personal_field(reason, *values)
    if field is not None:
        raise InputError(
            given=f"a reason that says what stands in {field}, which is personal",
            expected="a reason without anything personal, for it is never erased",
            remedy="write for example: misspelt, wrong client, other side, asked for it",
        )


def find_personal_field(text: str, *values: Any) -> str | None:  # noqa: ANN401  any recorded value
    """Return the first personal field of these values that a text repeats; None if it repeats none."""
    from tracelabels.records import personal_fields  # noqa: PLC0415  heavy: only who needs the ledger

    said = text.casefold()
    for value in values:
        for field in sorted(personal_fields(value)):
            if any(one in said for one in _texts(field, getattr(value, field))):
                return field
    return None


def _texts(field: str, value: object) -> Iterator[str]:
    if value is None:
        return
    whole = as_text(value).casefold()
    parts = [whole, *whole.replace("-", " ").split()] if field in _NAMES else [whole]
    yield from (one for one in parts if len(one) >= _SHORTEST)
