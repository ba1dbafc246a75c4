"""How people name a thing: what kind it is, and its number, serial, code or lot."""

from dataclasses import dataclass
from enum import StrEnum

from tracelabels.errors import InputError
from tracelabels.words import in_words


class Kind(StrEnum):
    """Kinds of things that have a name."""

    PRODUCT = "product"
    BOTTLE = "bottle"
    PREPARATION = "preparation"
    TUBE = "tube"
    POUCH = "pouch"
    CONSUMABLE = "consumable"
    STERILISER = "steriliser"
    LOAD = "load"
    SPORE_TEST = "spore_test"
    HOLD = "hold"
    CLIENT = "client"
    USE = "use"
    INCIDENT = "incident"
    ADVERSE_EVENT = "adverse_event"
    RECALL = "recall"
    PRINT_RUN = "print_run"
    STAFF = "staff"


@dataclass(frozen=True, slots=True, order=True)
class Name:
    """The name of one thing, as it is known today.

    >>> str(Name(Kind.LOAD, "L01-0004"))
    'load L01-0004'
    """

    kind: Kind
    """What it is."""
    text: str
    """Its number, serial or code; ``maker/item number`` of a product, ``kind/lot`` of a consumable."""

    def __post_init__(self) -> None:
        """Refuse an empty name."""
        if not self.text.strip():
            raise InputError(
                given=f"a {in_words(self.kind)} without a name",
                expected="its number, serial or code",
                remedy="enter it as it stands on the label or in the list",
            )

    def __str__(self) -> str:
        """Say kind and name."""
        return f"{in_words(self.kind)} {self.text}"
