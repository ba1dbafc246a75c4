"""The envelope: within what a practice wants its labels to read.

The default is a careful chair-side use with a phone (common practice, no source): a photograph from about a hand's
length, held in line with the label and out of the lamp's reflection, of labels that came well out of the printer and
aged a little in the steriliser. It is about as wide as well made labels can bear with the plain reader; a practice
states its own.
"""

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING

from tracelabels.errors import InputError
from tracelabels.legibility.condition import FACTORS, Condition, Factor, condition_of

if TYPE_CHECKING:
    from collections.abc import Callable


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """One factor's usual value and how far it may go."""

    nominal: float
    """What it usually is."""
    limit: float
    """The worst value at which labels shall still read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Envelope:
    """The usual value and the limit of each factor; meanings, units and ranges stand with :class:`Condition`."""

    px_per_mm: Span = Span(nominal=20.0, limit=15.0)
    """Pixels per mm."""
    off_axis: Span = Span(nominal=0.0, limit=12.0)
    """Degrees round the tube."""
    tilt: Span = Span(nominal=0.0, limit=10.0)
    """Degrees."""
    turn: Span = Span(nominal=2.0, limit=5.0)
    """Degrees."""
    defocus: Span = Span(nominal=0.7, limit=0.9)
    """Pixels, standard deviation."""
    motion: Span = Span(nominal=0.02, limit=0.06)
    """Millimetres."""
    glare: Span = Span(nominal=0.0, limit=0.001)
    """Share of the symbol."""
    light_ratio: Span = Span(nominal=1.2, limit=1.6)
    """Brightest to darkest."""
    shadow: Span = Span(nominal=0.0, limit=0.15)
    """Share of the light."""
    noise: Span = Span(nominal=3.0, limit=4.0)
    """Grey levels."""
    jpeg_quality: Span = Span(nominal=90.0, limit=80.0)
    """1 to 100."""
    dot_gain: Span = Span(nominal=0.01, limit=0.02)
    """Millimetres per edge."""
    lost_dots: Span = Span(nominal=0.001, limit=0.005)
    """Share of the dots."""
    specks: Span = Span(nominal=0.0, limit=0.0002)
    """Share of the light dots."""
    dead_lines: Span = Span(nominal=0.0, limit=0.0)
    """Lines: none is allowed, since one already takes a Data Matrix away."""
    wrinkle: Span = Span(nominal=0.0, limit=0.0)
    """Millimetres: none is allowed."""
    stock: Span = Span(nominal=0.85, limit=0.7)
    """Reflectance."""
    ink: Span = Span(nominal=0.06, limit=0.15)
    """Reflectance."""
    blotches: Span = Span(nominal=0.0, limit=0.005)
    """Share of the area."""
    buckle: Span = Span(nominal=0.0, limit=0.2)
    """Millimetres."""

    def __post_init__(self) -> None:
        """Refuse values outside the factors' ranges, and limits that are better than the usual value."""
        self._condition([span.nominal for _, span in self.spans()])
        self._condition([span.limit for _, span in self.spans()])
        for factor, span in self.spans():
            if (span.limit - span.nominal) * factor.direction < 0.0:
                raise InputError(
                    given=f"envelope: {factor.name} with nominal {span.nominal:g} and limit {span.limit:g}",
                    expected="a limit that is no better than the nominal value",
                    remedy="exchange the two values",
                )

    def spans(self) -> tuple[tuple[Factor, Span], ...]:
        """Return every factor with its span, in the order of the factors."""
        return tuple((factor, getattr(self, factor.name)) for factor in FACTORS)

    @property
    def nominal(self) -> Condition:
        """Return the usual condition."""
        return self._condition([span.nominal for _, span in self.spans()])

    @property
    def limit(self) -> Condition:
        """Return the condition with every factor at its limit at once: the envelope's corner, worse than any sample."""
        return self._condition([span.limit for _, span in self.spans()])

    def sample(self, share: "Callable[[Factor], float]") -> Condition:
        """Return a condition between usual value and limit.

        Args:
            share: how far each factor goes: 0 is its usual value, 1 its limit.
        """
        return self._condition([s.nominal + (s.limit - s.nominal) * share(f) for f, s in self.spans()])

    @staticmethod
    def _condition(values: list[float]) -> Condition:
        return condition_of({factor.name: value for factor, value in zip(FACTORS, values, strict=True)})


def envelope_at(condition: Condition) -> Envelope:
    """Return the envelope that holds one condition and nothing else."""
    spans = {field.name: condition.value(field.name) for field in fields(Condition)}
    return Envelope(**{name: Span(nominal=value, limit=value) for name, value in spans.items()})
