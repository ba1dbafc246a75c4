"""Checking one value against the format of its application identifier."""

from tracelabels.errors import IdentifierError
from tracelabels.identifiers.application_identifiers import ApplicationIdentifier, Component
from tracelabels.identifiers.character_sets import NAMES, CharacterSet, find_stray, name_character
from tracelabels.identifiers.faults import Fault
from tracelabels.identifiers.linters import checks

_SHOWN = 40
_PADDED_GROUP = 4
_MOST_PADDING = 2


def check_value(entry: ApplicationIdentifier, value: str) -> None:
    """Check a value: length, characters and content of each component.

    Raises:
        IdentifierError: If a rule is broken; the sentence names the identifier and the rule.
    """
    fault = find_value_fault(entry, value)
    if fault is not None:
        name = f"({entry.ai}) {entry.title}".rstrip()
        raise IdentifierError(
            given=f"{shown_element(entry.ai, value)}, {fault.given}",
            expected=f"{fault.expected} in {name}",
            remedy=_remedy(entry, value),
        )


def find_value_fault(entry: ApplicationIdentifier, value: str) -> Fault | None:
    """Return the first rule that a value breaks, or None.

    Args:
        entry: What the table says of its application identifier.
        value: The value, without separator.
    """
    if not value:
        return Fault(given="which has no value", expected=entry.length_in_words)
    if not entry.shortest <= len(value) <= entry.longest:
        # A character that never belongs there explains more than the length does.
        stray = _find_stray_fault(value, entry.components[0].character_set) if len(value) < entry.shortest else None
        return stray or Fault(given=f"{len(value)} characters long", expected=entry.length_in_words)
    start = 0
    for component in entry.components:
        part = value[start : start + component.longest]
        start += len(part)
        fault = _find_component_fault(component, part)
        if fault is not None:
            return fault
    return None


def shown_element(ai: str, value: str) -> str:
    """Show an element in a sentence, shortened if it is long, with nothing that a terminal would act on."""
    text = value if len(value) <= _SHOWN else value[:_SHOWN] + "..."
    safe = "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text)
    return f"({ai}){safe}"


def _find_component_fault(component: Component, part: str) -> Fault | None:
    if not part and component.optional:
        return None
    if len(part) < component.shortest:
        return Fault(given=f"whose part {part!r} is too short", expected=f"a part of {component.shortest} characters")
    fault = _find_stray_fault(part, component.character_set)
    if fault is None and component.character_set is CharacterSet.SET_64:
        fault = _find_padding_fault(part)
    for name in component.checks:
        fault = fault or checks()[name](part)
    return fault


def _find_stray_fault(part: str, allowed: CharacterSet) -> Fault | None:
    stray = find_stray(part, allowed)
    if stray is None:
        return None
    return Fault(given=f"with {name_character(part[stray])}", expected=NAMES[allowed])


def _find_padding_fault(part: str) -> Fault | None:
    """Check the optional "=" at the end of base64url text, a multiple of four in all (RFC 4648, section 5)."""
    padding = len(part) - len(part.rstrip("="))
    if "=" in part.rstrip("="):
        return Fault(given="with '=' before its end", expected=NAMES[CharacterSet.SET_64])
    if padding and (padding > _MOST_PADDING or len(part) % _PADDED_GROUP):
        return Fault(given=f"padded by {padding} '='", expected="padding to a multiple of 4 characters, or none")
    return None


def _remedy(entry: ApplicationIdentifier, value: str) -> str:
    if len(value) > entry.longest and entry.needs_separator:
        return (
            "correct or shorten the value; if it was scanned, set the scanner to send separators (GS), "
            "one may be lost behind it"
        )
    return "correct the value where it was written; if it was scanned, scan it again"
