"""One pouch, one client: of eight processes that claim the same thousand pouches each pouch has exactly one winner."""

import multiprocessing
import re
from datetime import UTC, datetime

import pytest
from records_scenario import DAY, KEY

from tracelabels.custody import CareLevel, Client, Kind, Name, Pouch, PouchKind, Use, Verdict
from tracelabels.errors import LedgerError
from tracelabels.records import Ledger, Series, open_ledger

CHAIRS, POUCHES = 8, 1_000
BUSY = "a ledger that others kept busy"
SENTENCE = re.compile(
    r"pouch \d{9}, which was used before \(fact 1-\d+\); expected a thing that nobody used; "
    r"look it up; record an incident if it was met a second time"
)
NOW = datetime(2027, 1, 4, 9, tzinfo=UTC)


def _claim_all(location, chair: int, serials: list[str]) -> tuple[list[str], list[str]]:
    """Use every pouch on this chair's own client; return what was won, and what the losers were told."""
    won, told = [], []
    with open_ledger(location, site=1, clock=lambda: NOW, key=KEY) as ledger:
        for serial in serials[chair * POUCHES // CHAIRS :] + serials[: chair * POUCHES // CHAIRS]:
            refused = BUSY
            while BUSY in refused:  # a starved machine: nothing was saved after 30 s of waiting, so ask again
                refused = _claim(ledger, chair, serial)
            if refused:
                told.append(refused)
            else:
                won.append(serial)
    return won, told


def _claim(ledger: Ledger, chair: int, serial: str) -> str:
    """Use a pouch; return the refusal, empty if there is none."""
    pouch, client = Name(Kind.POUCH, serial), Name(Kind.CLIENT, f"C-{chair}")
    try:
        with ledger.write(by=f"s{chair}") as unit:
            number = f"U01-{unit.next_numbers(Series.USE)[0]:06d}"
            use = Use(number=number, client=client, practitioner="s", at=NOW, items=(pouch,), verdict=Verdict.GO)
            unit.record(use, claims=[("used", pouch)])
    except LedgerError as refused:
        return str(refused)
    return ""


@pytest.mark.slow
def test_eight_processes_and_a_thousand_pouches_give_a_thousand_wins(location):
    with open_ledger(location, site=1, clock=lambda: NOW, key=KEY) as ledger, ledger.write(by="s") as unit:
        for chair in range(CHAIRS):
            unit.record(Client(code=f"C-{chair}", care_level=CareLevel.ROUTINE))
        serials = list(unit.next_serials(POUCHES))
        for serial in serials:
            unit.add_pouch(
                Pouch(
                    serial=serial,
                    kind=PouchKind.PAPER_FILM,
                    material_lot="PF",
                    sealed_by="s",
                    sealed_on=DAY,
                    instruments=("forceps",),
                )
            )
    with multiprocessing.get_context("spawn").Pool(CHAIRS) as pool:
        answers = pool.starmap(_claim_all, [(location, chair, serials) for chair in range(CHAIRS)])
    won = [serial for part, _ in answers for serial in part]
    told = [sentence for _, part in answers for sentence in part]
    assert (sorted(won), len(told)) == (sorted(serials), (CHAIRS - 1) * POUCHES)
    strange = [one for one in told if SENTENCE.fullmatch(one) is None]
    assert strange == []
    with open_ledger(location, site=1, clock=lambda: NOW, key=KEY) as ledger:
        assert ledger.verify() == []
        with ledger.read() as found:
            uses = [one.value for one in found.every(Use)]
            assert sorted(use.items[0].text for use in uses) == sorted(serials)
            assert all(len(found.claims("used", Name(Kind.POUCH, serial))) == 1 for serial in serials)
