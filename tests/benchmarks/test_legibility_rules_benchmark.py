"""How fast a whole sheet is held against every rule, with its proof."""

from datetime import date

from tracelabels.identifiers import IdentifierMode, LabelIdentity, format_serial
from tracelabels.labels import LabelContent, Printer, require_layout, require_sheet, typeset
from tracelabels.legibility.proof import prove
from tracelabels.legibility.rules import Stock, check_rules
from tracelabels.legibility.subjects import subjects_of_pdf, subjects_of_typeset

SHEET, LAYOUT, LABELS = "a4-5x13-38.1x21.2", "tube-1.5-side", 65
LIMIT_S = 1.0
"""Rules and proof of a sheet of 65 labels."""


def contents():
    return [
        LabelContent(
            identity=LabelIdentity(
                use_by=date(2027, 11, 30),
                prepared=date(2026, 11, 25),
                lot=f"TW26K{number:03d}",
                serial=format_serial(1, number),
            ),
            mode=IdentifierMode.IN_HOUSE,
            product="Rosehip",
            item_number="R-12",
        )
        for number in range(1, LABELS + 1)
    ]


def test_rules_and_proof_of_a_sheet(best_of, capsys):
    """65 labels at 300 and at 600 dpi: rasterise, cut, every rule on every label, and the proof, against a second."""
    layout, sheet, says = require_layout(LAYOUT), require_sheet(SHEET), contents()
    stock = Stock(name="white film", withstands_steam=True)
    for dpi in (300, 600):
        run = typeset(says, layout=layout, sheet=sheet, printer=Printer(dpi=dpi), title="run")

        def rules(run=run, dpi=dpi):
            subjects = subjects_of_typeset(run, says, layout=layout, sheet=sheet, dpi=dpi)
            return [check_rules(subject, stock=stock) for subject in subjects]

        def proof(run=run, dpi=dpi):
            return prove(run.pdf, run.placed, dpi=dpi)

        assert len(rules()) == LABELS
        assert proof() == ()
        of_rules, of_proof = best_of(rules, proof)
        share = (of_rules + of_proof) / LIMIT_S
        with capsys.disabled():
            print(
                f"\nrules and proof of {LABELS} labels at {dpi} dpi: {share:.2f} of the limit "
                f"(rules {of_rules * 1000:.0f} ms, proof {of_proof * 1000:.0f} ms)"
            )
        assert of_rules <= 3 * of_proof  # both rasterise the page; the rules shall not be what costs


def test_reading_and_measuring_a_foreign_sheet(best_of, capsys):
    """The same sheet as if it were somebody else's: find, read and measure 65 codes; printed beside the limit only."""
    layout, sheet, says = require_layout(LAYOUT), require_sheet(SHEET), contents()
    run = typeset(says, layout=layout, sheet=sheet, printer=Printer(dpi=300), title="run")
    found, problems = subjects_of_pdf(run.pdf, dpi=300)
    assert (len(found), problems) == (LABELS, ())
    (seconds,) = best_of(lambda: subjects_of_pdf(run.pdf, dpi=300), rounds=3)
    with capsys.disabled():
        print(f"\nany PDF, {LABELS} codes measured at 300 dpi: {seconds / LIMIT_S:.2f} of a second")
