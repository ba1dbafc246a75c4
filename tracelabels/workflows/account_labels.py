"""Say what became of printed labels: applied or destroyed. Labels printed = applied + destroyed."""

from collections.abc import Iterable
from dataclasses import dataclass

from tracelabels.custody import Kind, LabelFate, LabelKind, LabelOutcome, Name, PrintedLabel
from tracelabels.errors import InputError
from tracelabels.workflows.practice import Practice, require_own_serial


@dataclass(frozen=True, slots=True, kw_only=True)
class Accounted:
    """What is known of a run's labels now."""

    applied: int
    """Labels put on their things."""
    destroyed: int
    """Labels destroyed."""
    open: tuple[str, ...]
    """Serials of labels that are neither, in the order printed."""


def account_labels(
    practice: Practice,
    run: str,
    *,
    by: str,
    applied: Iterable[str] = (),
    destroyed: Iterable[str] = (),
    is_rest_applied: bool = False,
) -> Accounted:
    """Record what became of labels of a print run, all of it or nothing; what was said before stands.

    Args:
        practice: whose.
        run: number of the run.
        by: opaque staff id.
        applied: serials of labels put on their things.
        destroyed: serials of labels destroyed.
        is_rest_applied: all other labels of the run were put on their things.

    Raises:
        InputError: a serial is not in the run, or is said to be both.
        LedgerError: there is no such run.
    """
    wanted = _wanted(applied, destroyed)
    name = Name(Kind.PRINT_RUN, run)
    with practice.write(by=by) as ledger:
        before = [one.value for one in ledger.about(LabelOutcome, "run", name)]
        known = {(one.serial, one.kind): one.outcome for one in before}
        labels = [one.value for one in ledger.labels_of_run(run)]
        _require_in_run(run, wanted, labels)
        for label in labels:
            fate = wanted.get(label.serial)
            _require_same(label, fate, known)
            fate = fate or (LabelFate.APPLIED if is_rest_applied else None)
            if fate is not None and (label.serial, label.kind) not in known:
                ledger.record(LabelOutcome(run=name, serial=label.serial, kind=label.kind, outcome=fate))
                known[label.serial, label.kind] = fate
    return _accounted(labels, known)


def _accounted(labels: Iterable[PrintedLabel], known: dict[tuple[str, LabelKind], LabelFate]) -> Accounted:
    fates = list(known.values())
    return Accounted(
        applied=fates.count(LabelFate.APPLIED),
        destroyed=fates.count(LabelFate.DESTROYED),
        open=tuple(label.serial for label in labels if (label.serial, label.kind) not in known),
    )


def _wanted(applied: Iterable[str], destroyed: Iterable[str]) -> dict[str, LabelFate]:
    wanted = {require_own_serial(serial): LabelFate.APPLIED for serial in applied}
    for serial in map(require_own_serial, destroyed):
        if serial in wanted:
            raise InputError(
                given=f"label {serial} both applied and destroyed",
                expected="one of the two",
                remedy="look for the label, and name it once",
            )
        wanted[serial] = LabelFate.DESTROYED
    return wanted


def _require_in_run(run: str, wanted: Iterable[str], labels: Iterable[PrintedLabel]) -> None:
    printed = {label.serial for label in labels}
    for serial in wanted:
        if serial not in printed:
            raise InputError(
                given=f"label {serial}, which is not in print run {run}",
                expected="a serial of that run",
                remedy="look up the serial for its run",
            )


def _require_same(label: PrintedLabel, fate: LabelFate | None, known: dict[tuple[str, LabelKind], LabelFate]) -> None:
    before = known.get((label.serial, label.kind))
    if before is not None and fate is not None and fate is not before:
        raise InputError(
            given=f"label {label.serial} {fate.value}, said to be {before.value} before",
            expected="one fate for each label",
            remedy="correct what was said before, with the reason, if it was wrong",
        )
