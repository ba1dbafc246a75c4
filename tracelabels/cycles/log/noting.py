"""What is odd is kept while a log is read; beyond a hundred of a kind only their number."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.cycles.log.logged import Oddity, OddityKind
from tracelabels.words import in_words

MOST_TOLD: Final = 100
"""So many oddities of a kind are told one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Note:
    kind: OddityKind
    row: int
    sentence: str


class Notes:
    """Everything odd that was found so far."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self._notes: list[_Note] = []
        self._counts = Counter[OddityKind]()

    def keep(self, kind: OddityKind, rows: NDArray[np.int64] | Sequence[int], sentence: Callable[[int], str]) -> None:
        """Keep what is odd at some rows.

        Args:
            kind: what it is.
            rows: where it is.
            sentence: makes the sentence for the row at a place among those, without the line.
        """
        room = max(0, MOST_TOLD - self._counts[kind])
        self._counts[kind] += len(rows)
        self._notes += [_Note(kind=kind, row=int(row), sentence=sentence(at)) for at, row in enumerate(rows[:room])]

    def told(self, lines: NDArray[np.int64]) -> tuple[Oddity, ...]:
        """Return everything in the order of lines.

        Args:
            lines: line of each row, from 0, shape (rows,).
        """
        told = [
            Oddity(
                kind=note.kind, line=int(lines[note.row]) + 1, sentence=f"line {lines[note.row] + 1}: {note.sentence}"
            )
            for note in self._notes
        ]
        last = {one.kind: max(other.line for other in told if other.kind is one.kind) for one in told}
        more = [
            Oddity(kind=kind, line=last[kind], sentence=f"{count - MOST_TOLD:,} more of the kind {in_words(kind)}")
            for kind, count in self._counts.items()
            if count > MOST_TOLD
        ]
        return tuple(sorted([*told, *more], key=lambda one: one.line))
