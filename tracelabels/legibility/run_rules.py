"""The rules over a whole run, one label for each design: what holds a run before it is printed."""

from tracelabels.labels import Layout, Printer, Sheet, Typeset
from tracelabels.legibility.findings import Finding, Legibility
from tracelabels.legibility.rules import Stock, check_rules
from tracelabels.legibility.subject import Subject
from tracelabels.legibility.subjects import first_of_each_design


def design_of(subject: Subject) -> tuple[object, ...]:
    """Return what labels of one design share: kind, size, module size, turn and surface of the symbol."""
    code = subject.code
    return (
        code.symbology,
        code.version,
        code.modules.shape,
        round(code.x, 2),
        round(code.y, 2),
        subject.dpi,
        subject.tube_diameter,
        subject.axis,
    )


def rule_failures(
    run: Typeset, *, layout: Layout, sheet: Sheet, printer: Printer, stock: Stock | None
) -> tuple[Finding, ...]:
    """Return each rule that some label of a run fails, once.

    Args:
        run: the run, set.
        layout: what it was set in.
        sheet: what it was set on.
        printer: what it was set for.
        stock: what it is printed on; None if nothing is known of it.
    """
    found: dict[str, Finding] = {}
    for subject in first_of_each_design(run, layout=layout, sheet=sheet, printer=printer):
        for finding in check_rules(subject, stock=stock):
            if finding.verdict is Legibility.FAIL:
                found.setdefault(finding.rule, finding)
    return tuple(found.values())
