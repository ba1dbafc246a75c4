"""How long records about a client are kept, and what else stands against erasing them."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from tracelabels.custody.incidents import AdverseEvent
from tracelabels.custody.periods import Period, PeriodUnit
from tracelabels.custody.reasons import Reason, ReasonKind
from tracelabels.custody.recalls import Recall, RecallAction, RecallStep


@dataclass(frozen=True, slots=True, kw_only=True)
class RetentionRule:
    """One rule that says how long records are kept."""

    name: str
    """Whose rule it is, so that people can look it up."""
    years: int
    """Years from the last thing that happened to the client."""

    def kept_until(self, last: date) -> date:
        """Return the last day of keeping.

        >>> RetentionRule(name="ours", years=10).kept_until(date(2028, 2, 29))
        datetime.date(2038, 2, 28)
        """
        return Period(count=self.years * 12, unit=PeriodUnit.MONTHS).end(last) if self.years else last


def longest(rules: Iterable[RetentionRule]) -> RetentionRule:
    """Return the rule that keeps longest; of several alike the first named."""
    return max(rules, key=lambda rule: rule.years)


def open_recalls(recalls: Iterable[Recall], actions: Iterable[RecallAction]) -> tuple[Recall, ...]:
    """Return the recalls that nobody closed."""
    closed = {one.recall.text for one in actions if one.step is RecallStep.CLOSED}
    return tuple(one for one in recalls if one.number not in closed)


def reasons_to_keep(
    *,
    rules: Sequence[RetentionRule],
    last: date,
    today: date,
    recalls: Sequence[Recall],
    events: Sequence[AdverseEvent],
) -> tuple[Reason, ...]:
    """Return everything that stands against erasing a client.

    Args:
        rules: every rule that holds; the longest decides.
        last: the day on which something last happened to the client.
        today: today.
        recalls: open recalls that reach the client.
        events: the client's adverse events.
    """
    found = [
        Reason(kind=ReasonKind.RECALL_OPEN, sentence=f"recall {one.number} reaches the client and is not closed")
        for one in recalls
    ]
    found += [
        Reason(kind=ReasonKind.ADVERSE_EVENT_OPEN, sentence=f"adverse event {one.number} is not closed")
        for one in events
        if one.closed_on is None
    ]
    rule = longest(rules)
    until = rule.kept_until(last)
    if today <= until:
        sentence = (
            f"kept until {until.isoformat()}: {rule.years} years from {last.isoformat()}, the last thing on record "
            f"({rule.name})"
        )
        found.append(Reason(kind=ReasonKind.RETENTION_RUNS, sentence=sentence))
    return tuple(found)
