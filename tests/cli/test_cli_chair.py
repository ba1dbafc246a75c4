"""The chair through the commands: from a photographed pouch to the use on record, and what is refused."""

import json
import sys
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from tracelabels.legibility.camera import Camera, Piece, photograph, save_photograph
from tracelabels.paper import rasterise_page
from tracelabels.workflows.practice import open_practice

sys.path.insert(0, str(Path(__file__).parents[1] / "workflows"))  # chair_day.py: the load is run by the workflows
from chair_day import ChairDay

DAY = ("--today", "2026-12-01")
PREPARED = ("--today", "2026-11-25")
FINE = ("--opened", "indicator=ok,dry=yes,whole=yes")
DPI = 600


@pytest.fixture
def chair(run, practice):
    """A released pouch with an empty tube, labels printed, two clients; returns a way to run commands there."""

    def call(*arguments: object, stdin: bytes = b"", today: tuple[str, ...] = DAY):
        done = run(*arguments, "--json", "--practice", practice, *today, stdin=stdin)
        lines = [json.loads(line) for line in done.out.splitlines()]
        return done, (lines[0] if lines else None)

    return call


@pytest.fixture
def pouch(chair, practice) -> tuple[str, str]:
    """Return the serials of the pouch and of the tube in it."""
    _, made = chair("prepare", "--tubes", "1", "--size", "1.5", today=PREPARED)
    (tube,) = made["tubes"]
    _, packed = chair("pack", tube, "--material-lot", "PM-1", today=PREPARED)
    for serial, layout, sheet in (
        (tube, "tube-empty", "roll-28x13"),
        (packed["pouch"], "pouch-instruments", "a4-3x8-63.5x33.9"),
    ):
        done, _ = chair("print", serial, "--layout", layout, "--sheet", sheet, today=PREPARED)
        assert done.code == 0, done.err
    with open_practice(practice, today=date(2026, 12, 1)) as here:
        ChairDay.begin(here).load(packed["pouch"])
    return packed["pouch"], tube


@pytest.fixture
def take(practice):
    """Photograph a printed label, first on its sheet, with the simulated camera."""

    def call(run_number: str, *, corner: tuple[float, float], size: tuple[float, float]) -> Path:
        page = rasterise_page((practice / "printed" / f"{run_number}.pdf").read_bytes(), index=0, dpi=DPI)
        mm = DPI / 25.4
        rows = slice(round(corner[1] * mm), round((corner[1] + size[1]) * mm))
        columns = slice(round(corner[0] * mm), round((corner[0] + size[0]) * mm))
        piece = Piece(print=page[rows, columns], px_per_mm=mm, turn=5.0)
        camera = Camera(px_per_mm=20.0, width=1500, height=1000, distance=200.0, defocus=1.2, noise=3.0, tilt=8.0)
        photo = photograph([piece], camera=camera, rng=np.random.default_rng(4))
        file = practice / f"{run_number}.jpg"
        save_photograph(file, photo, note="simulated")
        return file

    return call


POUCH_LABEL = {"corner": (7.2, 12.9), "size": (63.5, 33.9)}


def test_a_photographed_pouch_is_preliminary_then_go(chair, pouch, take):
    photo = take("R01-0003", **POUCH_LABEL)
    done, found = chair("scan", photo)
    assert (done.code, found["codes"][0]["verdict"]) == (0, "preliminary")
    done, found = chair("scan", photo, "--client", "C-14", *FINE)
    (code,) = found["codes"]
    assert (code["record"]["serial"], code["verdict"], code["reasons"], done.code) == (pouch[0], "go", [], 0)
    done, found = chair("scan", photo, "--client", "C-14", "--opened", "indicator=no,dry=yes,whole=yes")
    assert (done.code, found["codes"][0]["reasons"]) == (1, ["the pouch's indicator has not turned"])
    done, found = chair("scan", photo, "--client", "C-99", *FINE)
    assert found["codes"][0]["verdict"] == "stop"
    assert "client 'C-99' is not on record" in found["codes"][0]["reasons"]


def test_from_the_pouch_to_the_use_by_command(chair, pouch, take, practice):
    serial, tube = pouch
    typed = ("--use-by", "2027-05-24", "--prepared", "2026-11-25")
    done, bare = chair("gate", serial, "--client", "C-14", *FINE)
    assert (done.code, bare["verdict"]) == (0, "preliminary")
    done, whole = chair("gate", serial, *typed, "--client", "C-14", *FINE)
    assert (done.code, whole["verdict"], whole["reasons"]) == (0, "go", [])
    done, opened = chair("open-pouch", serial, *typed, "--client", "C-14", *FINE, "--request", "k1")
    assert (done.code, opened["recorded"], opened["verdict"]) == (0, True, "go")
    done, second = chair("open-pouch", serial, *typed, "--client", "C-15", *FINE)
    assert (done.code, second["recorded"]) == (1, False)
    assert f"pouch {serial} was opened on 2026-12-01 at 12:00 by bench for client C-14" in second["reasons"]
    done, filled = chair("fill", tube, "--from", "010000012=0.4", "--fill", "0.4", "--client", "C-14")
    assert (done.code, filled["use_by"], filled["reasons"]) == (0, "2026-12-01", [])
    done, _ = chair("print", tube, "--layout", "tube-filled", "--sheet", "roll-70x16")
    assert done.code == 0, done.err
    photo = take("R01-0004", corner=(2.0, 0.0), size=(70.0, 16.0))
    sealed = json.dumps({"procedure": "scar camouflage", "body_site": "forearm", "side": "left"}).encode()
    arguments = ("use", "C-14", "--photo", photo, "--personal", "--request", "k2")
    done, used = chair(*arguments, stdin=sealed)
    assert (done.code, used["verdict"], used["reasons"], used["incidents"]) == (0, "go", [], [])
    assert used["items"] == [f"tube {tube}", f"pouch {serial}"]
    assert chair(*arguments, stdin=sealed)[1] == used
    done, again = chair("use", "C-15", tube)
    assert (done.code, again["use"]) == (1, None)
    assert chair("destroy", tube, "--remainder", "--how", "sharps box")[0].code == 0
    assert b"scar camouflage" not in (practice / "ledger.sqlite").read_bytes()
    assert [one.suffix for one in (practice / "evidence").rglob("*.sealed")] == [".sealed"]
    assert chair("verify")[0].code == 0


def test_what_happened_all_the_same_is_recorded_with_an_incident(chair, pouch):
    serial, _ = pouch
    done, refused = chair("use", "C-14", serial)
    assert (done.code, refused["use"]) == (1, None)
    done, forced = chair("use", "C-14", serial, "--happened", "opened in a hurry")
    assert (done.code, forced["use"]) == (0, "U01-000001")
    assert [one["kind"] for one in forced["incidents"]] == ["used_against_stop"]
    done, late = chair("use", "C-15", serial, "--at", "2026-11-30 09:15")
    assert (late["verdict"], [one["kind"] for one in late["incidents"]]) == (None, ["used_during_outage", "used_twice"])


def test_clients_are_registered_shown_and_changed(chair, practice):
    personal = json.dumps({"name": "Not A Real Name", "birth_date": "1980-02-03"}).encode()
    done, made = chair("client", "--care", "routine", "--personal", "--by", "lead", stdin=personal)
    assert (done.code, made["care"], made["care_set_by"], made["birth_date"]) == (0, "routine", "lead", "1980-02-03")
    assert b"Not A Real Name" not in (practice / "ledger.sqlite").read_bytes()
    code = made["client"]
    assert chair("client", code)[1]["name"] == "Not A Real Name"
    done, _ = chair("client", code, "--care", "protected")
    assert (done.code, "reason" in done.err) == (2, True)
    assert chair("client", code, "--care", "protected", "--reason", "treatment began")[1]["care"] == "protected"
    done, _ = chair("client", code, "--personal", stdin=b'{"nickname": "x"}')
    assert (done.code, "'nickname'; expected name, birth_date" in done.err) == (2, True)
    assert chair("client", "--personal", stdin=b"not json")[0].code == 2
    assert chair("client")[0].code == 2


def test_moves_incidents_and_adverse_events_by_command(chair, pouch):
    serial, tube = pouch
    done, moved = chair("move", serial, "--to", "lost")
    assert (done.code, moved["kind"]) == (0, "lost")
    done, asked = chair("gate", serial, "--client", "C-14", *FINE)
    assert (done.code, f"pouch {serial} was lost on 2026-12-01 at 12:00 by bench" in asked["reasons"]) == (1, True)
    assert chair("move", serial, "--to", "shelf")[0].code == 2
    done, met = chair("incident", serial, "--kind", "duplicate_label", "--account", "two pouches", "--client", "C-14")
    assert (met["incident"], met["items"]) == ("I01-0001", [f"pouch {serial}"])
    assert chair("incident", tube)[0].code == 2
    begun = ("adverse", "C-14", "--onset", "2026-11-30", "--what", "redness")
    assert chair(*begun)[0].code == 2
    done, event = chair(*begun, "--due", "2026-12-10")
    assert (event["adverse_event"], event["report_due"], event["closed_on"]) == ("A01-0001", "2026-12-10", None)
    done, closed = chair("adverse", "A01-0001", "--sent", "2026-12-01", "--closed", "2026-12-01", "--reason", "healed")
    assert (closed["report_sent"], closed["closed_on"]) == ("2026-12-01", "2026-12-01")


@pytest.mark.usefixtures("pouch")
def test_a_bottle_has_its_own_gate(chair):
    assert chair("gate", "010000012", "--client", "C-14")[1]["verdict"] == "go"
    done, protected = chair("gate", "010000012", "--client", "C-15")
    assert (done.code, protected["reasons"]) == (
        1,
        ["protected care asks for a processed tube; what comes straight from a bottle was never processed"],
    )
