"""How long records are kept: the longest rule decides and is named, every reason is told."""

from datetime import UTC, date, datetime

from tracelabels.custody import (
    AdverseEvent,
    Kind,
    Name,
    Recall,
    RecallAction,
    RecallStep,
    RetentionRule,
    longest,
    open_recalls,
    reasons_to_keep,
)

AT = datetime(2027, 1, 4, 8, tzinfo=UTC)
OURS = RetentionRule(name="ours", years=10)
CODE = RetentionRule(name="local code", years=15)
CLIENT = Name(Kind.CLIENT, "C-0007")


def reasons(today, *, rules=(OURS,), recalls=(), events=()):
    found = reasons_to_keep(rules=rules, last=date(2028, 2, 29), today=today, recalls=recalls, events=events)
    return [one.sentence for one in found]


def test_the_longest_rule_decides_and_is_named():
    assert longest([OURS, CODE, RetentionRule(name="short", years=3)]) == CODE
    assert reasons(date(2038, 3, 1), rules=(OURS, CODE)) == [
        "kept until 2043-02-28: 15 years from 2028-02-29, the last thing on record (local code)"
    ]


def test_the_last_day_of_keeping_still_counts():
    assert len(reasons(date(2038, 2, 28))) == 1
    assert reasons(date(2038, 3, 1)) == []


def test_every_reason_is_told():
    recall = Recall(number="K01-0001", cause="load:L01-0001", reason="growth", at=AT, clients=(CLIENT,))
    event = AdverseEvent(number="A01-0001", client=CLIENT, onset=date(2027, 1, 8))
    closed = AdverseEvent(number="A01-0002", client=CLIENT, onset=date(2027, 1, 8), closed_on=date(2027, 2, 1))
    assert reasons(date(2030, 1, 1), recalls=[recall], events=[event, closed]) == [
        "recall K01-0001 reaches the client and is not closed",
        "adverse event A01-0001 is not closed",
        "kept until 2038-02-28: 10 years from 2028-02-29, the last thing on record (ours)",
    ]


def test_a_recall_is_open_until_it_is_closed():
    recall = Recall(number="K01-0001", cause="load:L01-0001", reason="growth", at=AT)
    note = RecallAction(recall=recall.as_name, step=RecallStep.NOTE, at=AT)
    closed = RecallAction(recall=recall.as_name, step=RecallStep.CLOSED, at=AT)
    assert open_recalls([recall], [note]) == (recall,)
    assert open_recalls([recall], [note, closed]) == ()
