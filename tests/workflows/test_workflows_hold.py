"""A failed check holds a run until somebody lets it through by name, with a reason, which is recorded."""

from dataclasses import replace

import pytest

from tracelabels.errors import HeldError
from tracelabels.legibility.rules import PrintMethod, Stock
from tracelabels.workflows.print_labels import Override, prove_labels
from tracelabels.workflows.print_run import PrintOrder, print_run
from tracelabels.workflows.templates import label_job

DIRECT = Stock(name="thermal roll", method=PrintMethod.DIRECT_THERMAL)


def test_stock_that_blackens_in_the_steriliser_holds_the_run(opened, bottle, tubes):
    practice = opened()
    serials = tubes(practice, bottle(practice))
    job = replace(label_job(practice, layout="tube-1.5-side"), stock=DIRECT)
    with pytest.raises(HeldError) as caught:
        print_run(practice, PrintOrder(serials=serials, job=job), by="bench")
    assert str(caught.value).startswith("labels that fail the rule steam: ")
    assert str(caught.value).endswith(
        "no file was left. Whoever answers for it may let it through with --override REASON"
    )
    assert list((practice.folder / "printed").iterdir()) == []
    with practice.ledger.read() as ledger:
        assert list(ledger.print_runs()) == []


def test_who_lets_it_through_and_why_is_recorded(opened, bottle, tubes):
    practice = opened()
    serials = tubes(practice, bottle(practice))
    override = Override(by="c-7", reason="for a display without steriliser")
    job = replace(label_job(practice, layout="tube-1.5-side"), stock=DIRECT, override=override)
    done = print_run(practice, PrintOrder(serials=serials, job=job), by="bench")
    with practice.ledger.read() as ledger:
        run = ledger.find_print_run(done.run.number).value
    assert (run.override_by, run.override_reason) == ("c-7", "for a display without steriliser (fails steam)")
    assert done.file.exists()
    assert practice.ledger.verify() == []


def test_an_override_that_nothing_needs_is_not_recorded(opened, bottle, tubes):
    practice = opened()
    serials = tubes(practice, bottle(practice))
    job = replace(label_job(practice, layout="tube-1.5-side"), override=Override(by="c-7", reason="to be safe"))
    done = print_run(practice, PrintOrder(serials=serials, job=job), by="bench")
    assert (done.run.override_by, done.proved.overridden) == (None, ())


def test_the_stock_of_the_practice_counts_and_what_is_said_for_a_run_counts_more(opened, bottle, tubes):
    practice = opened(method='"direct_thermal"')
    serials = tubes(practice, bottle(practice))
    job = label_job(practice, layout="tube-1.5-side")
    with pytest.raises(HeldError, match="fail the rule steam"):
        print_run(practice, PrintOrder(serials=serials, job=job, stock_withstands_steam=True), by="bench")
    practice = opened(method='"laser"')
    with pytest.raises(HeldError, match="fail the rule steam"):
        print_run(practice, PrintOrder(serials=serials, job=job, stock_withstands_steam=False), by="bench")
    done = print_run(practice, PrintOrder(serials=serials, job=job, stock_withstands_steam=True), by="bench")
    assert done.run.stock_withstands_steam is True


def test_a_code_below_the_table_is_let_through_with_a_warning_only(opened, bottle, tubes):
    from tracelabels.workflows.label_contents import ContentWriter

    practice = opened()
    serials = tubes(practice, bottle(practice))
    with practice.ledger.read() as ledger:
        contents = [ContentWriter(practice, ledger).content_of(serial) for serial in serials]
    job = label_job(practice, layout="tube-0.5-side", sheet="roll-28x13", dpi=203)
    proved = prove_labels(contents, job)
    assert proved.overridden == ()
    assert any("minimum 0.254 mm" in warning for warning in proved.warnings)
