"""What ISO/IEC 15415 and 15416 take alike from the reflectances of a symbol: its ends, its contrast, its threshold."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reflectances:
    """Reflectances of a symbol with its quiet zone."""

    reflectance: "NDArray[np.float64]"
    """0 to 1, of any shape."""

    @property
    def highest(self) -> float:
        """Return Rmax."""
        return float(self.reflectance.max())

    @property
    def lowest(self) -> float:
        """Return Rmin."""
        return float(self.reflectance.min())

    @property
    def contrast(self) -> float:
        """Return SC, the symbol contrast, Rmax - Rmin."""
        return self.highest - self.lowest

    @property
    def threshold(self) -> float:
        """Return GT, the midpoint between Rmax and Rmin."""
        return (self.highest + self.lowest) / 2.0
