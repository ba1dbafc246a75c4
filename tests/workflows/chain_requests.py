"""Request keys: the same request again is told the same and writes nothing; another one under its key is refused.

Every workflow that takes a key is asked here. What *another* request is, is said beside each call: another client,
another thing, another result.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import pytest
from chain_model import Model
from hypothesis.stateful import RuleBasedStateMachine

from tracelabels.custody import IncidentKind, Name
from tracelabels.errors import InputError
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.report_incident import IncidentReport, report_incident

T = TypeVar("T")
Request = Callable[[str], T]
_TOLD = (
    "standing",
    "load",
    "test",
    "release",
    "opening",
    "use",
    "incidents",
    "preparation",
    "tubes",
    "reading",
    "recall",
    "verdict",
)


@dataclass(kw_only=True)
class ATap(Generic[T]):
    """A request that was made, and wrote something."""

    key: str
    request: Request[T]
    told: object
    about: Name | None
    """What it recorded, if that may be corrected or taken back."""


class RequestRules(RuleBasedStateMachine):
    """Makes every request twice, and now and then much later again."""

    practice: Practice
    model: Model

    def __init__(self) -> None:
        super().__init__()
        self.keys = 0
        self.taps: list[ATap[object]] = []
        self.taken_back: set[Name] = set()
        self.corrected: set[Name] = set()

    def once(self, request: Request[T], *others: Request[object], about: Callable[[T], Name] | None = None) -> T:
        """Make a request twice under one key: the same answer, and nothing is written the second time.

        Args:
            request: makes it, given a key.
            others: other requests that must not be told this one's answer; one of them is made under the same key.
            about: names what it recorded, if that may be corrected or taken back.
        """
        self.keys += 1
        key = f"tap-{self.keys}"
        before = self.practice.ledger.heads()
        answer = request(key)
        if self.practice.ledger.heads() == before:
            self.tap(ATap(key=key, request=request, told=told(answer), about=None))
            return answer
        tap = ATap[object](key=key, request=request, told=told(answer), about=about(answer) if about else None)
        self.tap(tap)
        other = chosen_of([*others, self._a_stranger], self.keys)
        self.refused(other, key)
        self.taps.append(tap)
        return answer

    def tap(self, tap: ATap[object]) -> None:
        """Make a request again: it is told the same, and nothing is written."""
        before = self.practice.ledger.heads()
        again = told(tap.request(tap.key))
        assert self.practice.ledger.heads() == before, f"asked again under {tap.key}, it wrote again"
        assert again == tap.told or tap.about in self.corrected, (
            f"asked again under {tap.key}: {again} instead of {tap.told}"
        )

    def refused(self, request: Request[object], key: str) -> None:
        """Make another request under a key that is taken: it is refused, and nothing is written."""
        before = self.practice.ledger.heads()
        with pytest.raises(InputError, match="a key of its own for each request"):
            request(key)
        assert self.practice.ledger.heads() == before, f"refused under {key}, and yet it wrote"

    def _a_stranger(self, key: str) -> object:
        """Something else altogether."""
        report = IncidentReport(kind=IncidentKind.OTHER, account="another tap")
        return report_incident(self.practice, report, by="s9", request_key=key)

    def tap_again(self, pick: int) -> None:
        """Make an old request again, whatever happened since; of what was taken back it is refused."""
        tap = chosen_of(self.taps, pick)
        if tap.about in self.taken_back:
            self.refused(tap.request, tap.key)
        else:
            self.tap(tap)


def chosen_of(things: Sequence[T], number: int) -> T:
    return things[number % len(things)]


def told(answer: object) -> object:
    """Return what an answer says that must be said again: by number, where it has one; what is personal may be gone."""
    if isinstance(answer, tuple):
        return tuple(map(told, answer))
    number = getattr(answer, "number", None)
    if number is not None:
        return number
    said = {name: told(getattr(answer, name)) for name in _TOLD if getattr(answer, name, None) is not None}
    return said or answer
