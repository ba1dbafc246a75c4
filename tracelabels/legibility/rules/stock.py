"""The label stock and the ink: what a rule must know of them, because no picture of the file shows it."""

from dataclasses import dataclass
from enum import StrEnum

from tracelabels.errors import InputError


class PrintMethod(StrEnum):
    """How the print comes onto the stock."""

    LASER = "laser"
    INKJET = "inkjet"
    THERMAL_TRANSFER = "thermal_transfer"
    DIRECT_THERMAL = "direct_thermal"
    """Heat-sensitive paper: heat blackens it, so that it never goes into a steriliser."""
    UNKNOWN = "unknown"


class Tint(StrEnum):
    """A colour, as far as red light at 660 nm sees it otherwise than an eye does."""

    BLACK = "black"
    GREY = "grey"
    WHITE = "white"
    RED = "red"
    ORANGE = "orange"
    YELLOW = "yellow"
    BROWN = "brown"
    GREEN = "green"
    BLUE = "blue"


SEEN_AS_LIGHT = frozenset({Tint.RED, Tint.ORANGE, Tint.YELLOW, Tint.WHITE})
"""Tints that reflect red light: as ink they vanish at 660 nm, as stock they look white."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """A label stock with what is printed on it."""

    name: str
    """What people call it."""
    light: float = 0.80
    """Reflectance of the bare stock at 660 nm, 0 to 1. The usual value is that of matt white film (from memory)."""
    dark: float = 0.05
    """Reflectance of the full ink at 660 nm, 0 to 1. The usual value is that of black toner or resin (from memory)."""
    stock_tint: Tint = Tint.WHITE
    """Colour of the stock."""
    ink_tint: Tint = Tint.BLACK
    """Colour of the ink."""
    method: PrintMethod = PrintMethod.UNKNOWN
    """How it is printed."""
    withstands_steam: bool | None = None
    """Whether stock, glue and print go through a steam steriliser unharmed; None if nobody knows."""

    def __post_init__(self) -> None:
        """Refuse a reflectance that is none.

        Raises:
            InputError: If a reflectance is not between 0 and 1.
        """
        for name, value in (("light", self.light), ("dark", self.dark)):
            if not 0 <= value <= 1:
                raise InputError(
                    given=f"a reflectance '{name}' of {value:g} for label stock {self.name}",
                    expected="a share from 0 to 1",
                    remedy="divide per cents by 100",
                )
