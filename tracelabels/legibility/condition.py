"""One condition: everything about print, age, surface, view, light and camera that decides whether a label reads.

Each factor has one physical name, one unit and one side on which it gets worse. Reading is taken to get no easier as
a factor gets worse (the assumption behind every margin); that holds on average, not for each single picture.
"""

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Final

from tracelabels.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Callable

_STEP_SHARE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """What is known of one factor."""

    name: str
    """The field of :class:`Condition`."""
    title: str
    """In words."""
    unit: str
    """Its unit."""
    best: float
    """The end of its range at which reading is easiest."""
    worst: float
    """The end of its range at which reading is hardest; the search for a margin stops here."""
    step: float
    """A change that matters, in the unit: what rooms are counted in where nominal value and limit are the same."""
    safety: float = 0.1
    """The share of the value by which the simulation may be wrong about it: what a strained trial adds at most, beside
    a tenth of the step (common practice, no source; tuned on two simulators that were written apart)."""
    is_whole: bool = False
    """Whether only whole numbers make sense."""

    @property
    def direction(self) -> int:
        """Return 1 if larger is worse, -1 if smaller is worse."""
        return 1 if self.worst > self.best else -1

    def strain(self, value: float) -> float:
        """Return by how much a strained trial makes a value worse at most.

        Nothing at all at the best end of the range: a label without glare or dead lines is not tried with them.
        """
        return 0.0 if value == self.best else _STEP_SHARE * self.step + self.safety * abs(value)

    def worsened(self, value: float, amount: float) -> float:
        """Return a value made worse by an amount (better by one below 0), within the range."""
        lowest, highest = sorted((self.best, self.worst))
        return min(max(value + self.direction * amount, lowest), highest)


FACTORS: Final = (
    Factor(name="px_per_mm", title="pixels per mm", unit="px/mm", best=60.0, worst=2.0, step=2.0, safety=0.06),
    Factor(name="off_axis", title="turned round the tube", unit="degrees", best=0.0, worst=80.0, step=5.0, safety=0.06),
    Factor(name="tilt", title="tilt", unit="degrees", best=0.0, worst=75.0, step=5.0, safety=0.06),
    Factor(name="turn", title="turn in the picture", unit="degrees", best=0.0, worst=45.0, step=5.0, safety=0.06),
    Factor(name="defocus", title="defocus", unit="px", best=0.0, worst=10.0, step=0.4, safety=0.2),
    Factor(name="motion", title="motion", unit="mm", best=0.0, worst=2.0, step=0.05, safety=0.1),
    Factor(name="glare", title="glare", unit="share", best=0.0, worst=0.6, step=0.01, safety=0.2),
    Factor(name="light_ratio", title="uneven light", unit="ratio", best=1.0, worst=16.0, step=0.5, safety=0.1),
    Factor(name="shadow", title="hard shadow", unit="share", best=0.0, worst=0.98, step=0.1, safety=0.05),
    Factor(name="noise", title="noise", unit="grey levels", best=0.0, worst=80.0, step=3.0, safety=0.1),
    Factor(
        name="jpeg_quality",
        title="JPEG quality",
        unit="1 to 100",
        best=100.0,
        worst=1.0,
        step=10.0,
        safety=0.05,
        is_whole=True,
    ),
    Factor(name="dot_gain", title="dot gain", unit="mm per edge", best=0.0, worst=0.2, step=0.01, safety=0.12),
    Factor(name="lost_dots", title="dots lost", unit="share", best=0.0, worst=0.5, step=0.01, safety=0.15),
    Factor(name="specks", title="specks", unit="share", best=0.0, worst=0.2, step=0.005, safety=0.1),
    Factor(name="dead_lines", title="dead head lines", unit="lines", best=0.0, worst=6.0, step=1.0, is_whole=True),
    Factor(name="wrinkle", title="ribbon wrinkle", unit="mm", best=0.0, worst=2.0, step=0.1, safety=0.2),
    Factor(name="stock", title="stock reflectance", unit="share", best=1.0, worst=0.1, step=0.1, safety=0.06),
    Factor(name="ink", title="ink reflectance", unit="share", best=0.0, worst=0.9, step=0.1, safety=0.08),
    Factor(name="blotches", title="blotches", unit="share", best=0.0, worst=0.9, step=0.02, safety=0.4),
    Factor(name="buckle", title="buckled film", unit="mm", best=0.0, worst=2.0, step=0.1, safety=0.15),
)
"""Every factor with its range; in the order in which things happen last to first: camera, light, print, age, film."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """What one photograph is taken under; directions and places (of turn, highlight, shadow) are left to chance."""

    px_per_mm: float = 20.0
    """Pixels per mm of label where it faces the camera: how near and how fine the camera is."""
    off_axis: float = 0.0
    """Degrees by which the label's middle is turned round the tube; of a flat label, by which it leans sideways."""
    tilt: float = 0.0
    """Degrees by which the tube's axis leans away; of a flat label, by which its far side leans away."""
    turn: float = 2.0
    """Degrees by which the label is turned in the picture, beside whole quarter turns."""
    defocus: float = 0.7
    """Standard deviation of the blur, pixels."""
    motion: float = 0.02
    """Way that the label moves while the shutter is open, mm."""
    glare: float = 0.0
    """Share of the symbol's area that is washed out."""
    light_ratio: float = 1.2
    """Brightest to darkest light over the picture of the symbol."""
    shadow: float = 0.0
    """Share of the light that a hard shadow across the symbol takes."""
    noise: float = 3.0
    """Standard deviation, grey levels of 255."""
    jpeg_quality: float = 90.0
    """1 to 100, whole."""
    dot_gain: float = 0.01
    """Spread of the ink, mm per edge."""
    lost_dots: float = 0.001
    """Share of the printer's dots that leave no ink."""
    specks: float = 0.0
    """Share of the light dots that are inked."""
    dead_lines: float = 0.0
    """Lines of the print head that are missing in the symbol, whole."""
    wrinkle: float = 0.0
    """Width of a light slanted band, mm."""
    stock: float = 0.85
    """Reflectance of the stock."""
    ink: float = 0.06
    """Reflectance of the ink."""
    blotches: float = 0.0
    """Share of the area that is blotched."""
    buckle: float = 0.0
    """Height of the waves of the film that a flat label sticks to, mm; nothing on a tube."""

    def __post_init__(self) -> None:
        """Refuse values outside the ranges of the factors."""
        for factor in FACTORS:
            value = getattr(self, factor.name)
            lowest, highest = sorted((factor.best, factor.worst))
            if not lowest <= value <= highest:
                raise InputError(
                    given=f"condition: {factor.name} {value:g}",
                    expected=f"a value from {lowest:g} to {highest:g} ({factor.unit})",
                    remedy="change it",
                )

    def value(self, name: str) -> float:
        """Return the value of a factor."""
        return float(getattr(self, name))

    def worsened(self, amount: "Callable[[Factor, float], float]") -> "Condition":
        """Return this condition with each factor made worse by an amount that depends on it and its value."""
        values = ((factor, self.value(factor.name)) for factor in FACTORS)
        return condition_of({factor.name: factor.worsened(value, amount(factor, value)) for factor, value in values})

    def with_value(self, name: str, value: float) -> "Condition":
        """Return this condition with another value of one factor."""
        return condition_of({factor.name: self.value(factor.name) for factor in FACTORS} | {name: value})


def condition_of(values: dict[str, float]) -> Condition:
    """Return the condition with these values; what is not named keeps its default.

    Raises:
        InputError: a name is no factor, or a value lies outside its range.
    """
    unknown = sorted(set(values) - {field.name for field in fields(Condition)})
    if unknown:
        raise InputError(
            given=f"condition: {', '.join(unknown)}",
            expected=f"one of {', '.join(factor.name for factor in FACTORS)}",
            remedy="correct the name",
        )
    whole = {factor.name for factor in FACTORS if factor.is_whole}
    return Condition(**{name: float(round(value)) if name in whole else value for name, value in values.items()})
