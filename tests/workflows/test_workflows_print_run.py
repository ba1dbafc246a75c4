"""Of two labels of one kind for one serial only one is ever valid, and what was printed is what is recorded."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from tracelabels.custody import Expiry, LabelKind
from tracelabels.errors import InputError, LedgerError
from tracelabels.workflows import print_run as module
from tracelabels.workflows.check_at_chair import check_photograph
from tracelabels.workflows.pack_pouches import Pouching, one_each, pack_pouches
from tracelabels.workflows.print_run import PrintOrder, print_run, serials_of_run
from tracelabels.workflows.receive_bottle import withdraw_bottle
from tracelabels.workflows.templates import label_job

DAY = date(2026, 11, 25)


@pytest.fixture
def printed():
    def call(practice, serials, *, layout="tube-1.5-side", sheet=None, reprint_of=None):
        job = label_job(practice, layout=layout, sheet=sheet)
        return print_run(practice, PrintOrder(serials=tuple(serials), job=job, reprint_of=reprint_of), by="bench")

    return call


def _valid(practice, serial, kind=LabelKind.TUBE):
    with practice.ledger.read() as ledger:
        found = [one.value for one in ledger.labels_with_serial(serial)]
    return [one.run for one in found if one.kind is kind and one.voided_by is None]


def test_a_run_is_recorded_label_by_label_as_it_was_printed(opened, bottle, tubes, printed):
    practice = opened()
    serials = tubes(practice, bottle(practice))
    done = printed(practice, serials)
    assert done.file == practice.folder / "printed" / "R01-0001.pdf"
    with practice.ledger.read() as ledger:
        run = ledger.find_print_run("R01-0001").value
        labels = [one.value for one in ledger.labels_of_run("R01-0001")]
    assert run == done.run
    assert run.proof_digest == __import__("hashlib").sha256(done.file.read_bytes()).hexdigest()
    assert [(one.serial, one.lot, one.use_by, one.prepared, one.item_number) for one in labels] == [
        (serial, "5501", DAY + timedelta(days=180), DAY, "R-12") for serial in serials
    ]


def test_a_reprint_leaves_one_valid_label_and_only_of_the_run_that_holds_it(opened, bottle, tubes, printed):
    practice = opened()
    (serial, *_) = tubes(practice, bottle(practice))
    printed(practice, [serial])
    printed(practice, [serial], reprint_of="R01-0001")
    assert _valid(practice, serial) == ["R01-0002"]
    with pytest.raises(LedgerError) as caught:
        printed(practice, [serial], reprint_of="R01-0001")
    assert str(caught.value) == (
        f"a reprint of the tube label {serial} of print run R01-0001; expected the run of its valid label, R01-0002; "
        "print it again with --reprint R01-0002"
    )
    assert _valid(practice, serial) == ["R01-0002"]
    with pytest.raises(LedgerError):
        printed(practice, [serial])
    printed(practice, [serial], layout="cap-11", sheet="a4-round-13x18-11")
    assert _valid(practice, serial, LabelKind.CAP) == ["R01-0003"]


def test_a_serial_named_twice_is_refused(opened, bottle, tubes, printed):
    practice = opened()
    (serial, *_) = tubes(practice, bottle(practice))
    with pytest.raises(InputError) as caught:
        printed(practice, [serial, serial])
    assert str(caught.value) == (
        f"serial {serial} twice; expected each serial once; name it once; for two labels of one tube use --copies"
    )


def test_nobody_can_come_between_the_proof_and_the_record(opened, bottle, tubes, printed, monkeypatch):
    practice = opened()
    source = bottle(practice)
    (serial, *_) = tubes(practice, source)
    write = module.write_labels

    def withdrawn_meanwhile(contents, job, out, *, progress, before_it_appears):
        withdraw_bottle(practice, source, by="other", reason="a doubt")
        return write(contents, job, out, progress=progress, before_it_appears=before_it_appears)

    monkeypatch.setattr(module, "write_labels", withdrawn_meanwhile)
    with pytest.raises(InputError, match="was withdrawn on 2026-11-25"):
        printed(practice, [serial])
    assert _valid(practice, serial) == []
    assert list((practice.folder / "printed").iterdir()) == []


def test_two_prints_at_once_leave_one_valid_label(opened, bottle, tubes, printed, monkeypatch):
    practice = opened()
    (serial, *_) = tubes(practice, bottle(practice))
    write = module.write_labels

    def other_first(contents, job, out, *, progress, before_it_appears):
        monkeypatch.setattr(module, "write_labels", write)
        printed(practice, [serial])
        return write(contents, job, out, progress=progress, before_it_appears=before_it_appears)

    monkeypatch.setattr(module, "write_labels", other_first)
    with pytest.raises(LedgerError, match="which has one from print run R01-0002"):
        printed(practice, [serial])
    assert _valid(practice, serial) == ["R01-0002"]


def test_a_file_that_cannot_get_its_name_says_how_to_go_on(opened, bottle, tubes, printed, monkeypatch):
    practice = opened()
    (serial, *_) = tubes(practice, bottle(practice))
    whole = Path.replace

    def refuse(self, target):
        if self.suffix == ".part":
            raise PermissionError(13, "the file is open in another program")
        return whole(self, target)

    monkeypatch.setattr(Path, "replace", refuse)
    with pytest.raises(InputError) as caught:
        printed(practice, [serial])
    assert str(caught.value).endswith("close the file if it is open, and print again with --reprint R01-0001")
    assert list((practice.folder / "printed").iterdir()) == []
    monkeypatch.setattr(Path, "replace", whole)
    printed(practice, [serial], reprint_of="R01-0001")
    assert _valid(practice, serial) == ["R01-0002"]


def test_what_is_past_its_use_by_gets_no_label(opened, bottle, tubes, printed):
    serials = tubes(opened(), bottle(opened()))
    later = opened(DAY + timedelta(days=181))
    with pytest.raises(InputError) as caught:
        printed(later, serials)
    assert str(caught.value) == (
        "preparation P01-0001: preparation P01-0001 was good until 2027-05-24; expected tubes that may still be used; "
        "destroy them, or correct the record or the policy if it is wrong; no label was printed"
    )


def test_a_pouch_of_several_batches_names_each_and_is_good_until_the_earliest(opened, bottle, tubes, printed):
    practice = opened(limit_after_preparation='"none"')
    first = tubes(practice, bottle(practice, batch="5501", expiry=Expiry.on_day(date(2027, 8, 31))), count=2)
    second = tubes(practice, bottle(practice, batch="5502", expiry=Expiry.in_month(2027, 6)), count=1)
    mix = tubes(practice, bottle(practice, batch="5503"), bottle(practice, batch="5504"), count=1)
    (pouch,) = pack_pouches(practice, [Pouching(tubes=(*first, *second, *mix))], material_lot="PM-1", by="bench")
    from tracelabels.workflows.label_contents import ContentWriter

    with practice.ledger.read() as ledger:
        content = ContentWriter(practice, ledger).content_of(pouch.serial)
    assert (content.identity.lot, content.identity.use_by) == (None, date(2027, 6, 30))
    assert [(line.lot, line.lot_kind.value, line.use_by, line.count) for line in content.lines] == [
        ("5501", "batch", date(2027, 8, 31), 2),
        ("5502", "batch", date(2027, 6, 30), 1),
        ("P01-0003", "preparation", date(2027, 11, 25), 1),
    ]
    assert content.contents == "4 x tube 1.5 mL"
    done = printed(practice, [pouch.serial], layout="pouch-batches", sheet="a4-2x4-99.1x67.7")
    assert done.proved.labels == 1


def test_a_corrected_batch_stops_the_label_until_it_is_printed_again(opened, bottle, tubes, printed):
    practice = opened()
    source = bottle(practice)
    (serial, *_) = tubes(practice, source)
    done = printed(practice, [serial])
    with practice.ledger.write(by="bench") as ledger:
        found = ledger.require_bottle(source)
        ledger.correct(found, replace(found.value, batch="5510"), reason="misread")
    (page,) = check_photograph(practice, done.file)
    assert [reason.kind.value for reason in page.answers[0].reasons][:1] == ["label_outdated"]
    again = printed(practice, [serial], reprint_of=done.run.number)
    (page,) = check_photograph(practice, again.file)
    assert page.answers[0].reasons[0].kind.value == "not_released"
    (page,) = check_photograph(practice, done.file)
    assert page.answers[0].reasons[0].sentence == f"the label with serial {serial} was voided: print run R01-0002"


def test_pouches_take_each_tube_once(opened, bottle, tubes):
    practice = opened()
    serials = tubes(practice, bottle(practice), count=4)
    pouches = pack_pouches(practice, one_each(serials, in_one=2), material_lot="PM-1", by="bench")
    assert [pouch.tubes for pouch in pouches] == [serials[:2], serials[2:]]
    with pytest.raises(LedgerError) as caught:
        pack_pouches(practice, one_each(serials[:1]), material_lot="PM-1", by="bench")
    assert str(caught.value) == (
        f"tube {serials[0]}, which lies in pouch {pouches[0].serial}; expected a tube that is in no pouch; "
        "if it was taken out, it gets a new serial before it is pouched again"
    )


def test_the_serials_of_a_run_come_in_the_order_printed(opened, bottle, tubes, printed):
    practice = opened()
    serials = tubes(practice, bottle(practice))
    printed(practice, reversed(serials))
    assert serials_of_run(practice, "R01-0001") == tuple(reversed(serials))
