"""What a check of content finds wrong, before it is known where the text came from."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One broken rule.

    Attributes:
        given: What was found, in words that continue "(17)271332, ".
        expected: What the rule asks for.
    """

    given: str
    expected: str
