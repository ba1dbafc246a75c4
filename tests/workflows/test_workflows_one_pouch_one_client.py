"""Eight chairs use the same pouches at once, through the real workflow: one wins, the others are told who and when."""

import multiprocessing
import re
from datetime import date

import pytest
from chair_day import FINE, ChairDay

from tracelabels.custody import CareLevel, PouchOpening, Use
from tracelabels.workflows.practice import open_practice
from tracelabels.workflows.register_client import register_client
from tracelabels.workflows.use_gate import Together, UsedItem
from tracelabels.workflows.use_on_client import UseOrder, use_on_client

DAY = date(2026, 12, 1)
CHAIRS = 8


@pytest.fixture(params=["sqlite", "postgresql"])
def practice_folder(request: pytest.FixtureRequest, folder):
    if request.param == "postgresql":
        url = request.getfixturevalue("new_database")()
        settings = folder / "practice.toml"
        text = settings.read_text(encoding="utf-8")
        assert 'url = ""' in text
        settings.write_text(text.replace('url = ""', f'url = "{url}"'), encoding="utf-8")
    return folder


def _use_all(folder, chair: int, pouches: tuple[str, ...]) -> list[tuple[str, str | None, tuple[str, ...]]]:
    """Return for each pouch the number of the use, or what was told."""
    found = []
    with open_practice(folder, today=DAY) as practice:
        here = ChairDay(practice=practice)
        for serial in pouches:
            item = UsedItem(serial=serial, seen=(here.label_of(serial),))
            together = Together(client=f"C-2{chair}", items=(item,), opening=FINE)
            done = use_on_client(practice, UseOrder(together=together), by=f"s{chair}")
            told = tuple(reason.sentence for reason in done.reasons)
            found.append((serial, done.use.number if done.use else None, told))
    return found


def _settle(folder, pouches_count: int) -> tuple[str, ...]:
    with open_practice(folder, today=DAY) as practice:
        here = ChairDay.begin(practice)
        for chair in range(CHAIRS):
            register_client(practice, code=f"C-2{chair}", care_level=CareLevel.ROUTINE, by="lead")
        pouches = here.instruments(pouches_count)
        here.labelled(*pouches)
        here.load(*pouches)
    return pouches


def _check(folder, pouches: tuple[str, ...]) -> None:
    with multiprocessing.get_context("spawn").Pool(CHAIRS) as pool:
        answers = pool.starmap(_use_all, [(folder, chair, pouches) for chair in range(CHAIRS)])
    won = {serial: (chair, use) for chair, part in enumerate(answers) for serial, use, _ in part if use is not None}
    assert sorted(won) == sorted(pouches)
    assert len({use for _, use in won.values()}) == len(pouches)
    for chair, part in enumerate(answers):
        for serial, use, told in part:
            winner, number = won[serial]
            assert (use is None) == (chair != winner)
            if use is None:
                who = rf"by s{winner} for client C-2{winner}"
                sentence = rf"pouch {serial}: pouch {serial} was used on 2026-12-01 at 12:00 {who}: {number}"
                assert any(re.fullmatch(sentence, one) for one in told), told
    with open_practice(folder, today=DAY) as practice, practice.ledger.read() as ledger:
        used = [name.text for one in ledger.every(Use) for name in one.value.items]
        opened = [one.value.pouch.text for one in ledger.every(PouchOpening)]
        assert (sorted(used), sorted(opened)) == (sorted(pouches), sorted(pouches))


@pytest.mark.slow
def test_eight_chairs_and_six_pouches(practice_folder):
    _check(practice_folder, _settle(practice_folder, 6))


@pytest.mark.long
def test_eight_chairs_and_a_hundred_pouches(practice_folder):
    _check(practice_folder, _settle(practice_folder, 100))
