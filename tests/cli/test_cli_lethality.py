"""``tracelabels lethality``: the promised keys, exit codes, files left, refusals whole; pages for the folder."""

import json
from datetime import datetime

import pytest

from tracelabels.workflows.demonstration_logs import LoggedCurve, write_log

GOOD = LoggedCurve(plateau_c=134.9, hold_minutes=4.0, lag_s=4.0)
BEGINS = datetime(2026, 11, 25, 8)  # noqa: DTZ001  a logger's own clock
PROMISED = {
    "f0", "f0_interval", "hold_minutes", "plateau", "saturation", "assumed", "verdict", "reasons",
}  # fmt: skip


@pytest.fixture
def log(tmp_path):
    file = tmp_path / "log.csv"
    file.write_bytes(write_log(GOOD, begins=BEGINS))
    return file


def test_without_a_practice_and_a_programme_numbers_are_computed_and_no_verdict(run, log):
    done = run("lethality", log, "--json")
    (found,) = map(json.loads, done.out.splitlines())
    assert done.code == 0
    assert set(found) >= PROMISED
    assert found["verdict"] is None
    assert 4.0 < found["hold_minutes"] < 6.0
    assert found["f0_interval"][0] < found["f0"] < found["f0_interval"][1]
    assert set(found["plateau"]) >= {"start", "end", "lowest", "highest"}
    assert found["saturation"]["checked"] is True
    assert abs(found["saturation"]["worst_difference_k"]) < 0.5
    assert found["assumed"]["temperature_unit"] == "C"


@pytest.mark.parametrize(
    ("options", "verdict", "code"),
    [
        (("--programme", "wrapped-134c-3min"), "met", 0),
        (("--programme", "wrapped-instruments-gravity-132c-15min"), "not_met", 1),
        (("--programme", "wrapped-134c-3min", "--probe-error", "1.5"), "cannot_tell", 1),
        (("--programme", "wrapped-134c-3min", "--pressure-column", "none"), "met", 0),
        (("--programme", "wrapped-134c-3min", "--temperature-unit", "F"), "not_met", 1),
    ],
)
def test_a_verdict_and_its_exit_code(run, log, options, verdict, code):
    done = run("lethality", log, *options, "--json")
    assert (json.loads(done.out)["verdict"], done.code) == (verdict, code)
    assert "sterile" not in done.err.replace("nothing sterile", "")


def test_curve_and_numbers_are_left_as_files_and_nothing_else_is_written_over(run, log, tmp_path):
    done = run("lethality", log, "--plot", tmp_path / "c.svg", "--numbers", tmp_path / "n.csv")
    assert done.code == 0
    assert (tmp_path / "c.svg").read_bytes().startswith(b"<?xml")
    readings = (tmp_path / "n.csv").read_text(encoding="utf-8-sig").splitlines()
    assert readings[0] == "seconds,celsius,kpa_absolute,f0_minutes,kelvin_from_saturated_steam"
    assert len(readings) == len(log.read_bytes().splitlines())
    assert "wrapped" not in (tmp_path / "n-computed.csv").read_text(encoding="utf-8-sig")
    refused = run("lethality", log, "--plot", log)
    assert (refused.code, refused.err) == (
        2,
        "tracelabels: 'log.csv'; expected a name that ends in .pdf, .png or .svg; choose one of them\n",
    )


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ((), "no log; expected a logger's file; name it, or ask with --list"),
        (("--programme", "wraped-134c-3min"), "programme 'wraped-134c-3min'; expected one of liquid-121c-15min, "),
        (("--reference", "250"), "reference 250; expected 100 to 140 degrees Celsius; correct the number"),
    ],
)
def test_wrong_use_is_refused(run, log, options, words):
    done = run("lethality", *((log, *options) if options else ()))
    assert done.code == 2
    assert done.err.startswith(f"tracelabels: {words}")


def test_programmes_are_listed_with_their_sources(run):
    listed = [json.loads(line) for line in run("lethality", "--list", "--json").out.splitlines()]
    assert len(listed) > 10
    assert all(one["source"] and one["hold_minutes"] > 0 for one in listed)


def test_the_page_of_a_load_and_the_logbook_are_left(run, tmp_path, log):
    folder = tmp_path / "practice"
    day = ("--practice", folder, "--today", "2026-11-25")
    run("new", folder, "--name", "Tidewater Restorative", "--today", "2026-11-25")
    steps = [
        ("steriliser", "S1", "--name", "the small one", "--serial-number", "7", "--cycle", "air_removal",
         "--installed", "2026-11-25 05:00"),
        ("steriliser-day", "S1", "air_removal_test", "--passed", "--at", "2026-11-25 06:00"),
        ("load", "S1", "--count", "0", "--cycle", "air_removal", "--programme", "wrapped-134c-3min",
         "--spore-test", "BI-9", "over the drain", "--cycle-number", "811", "--at", "2026-11-25 08:00"),
        ("load-end", "L01-0001", "complete", "--at", "2026-11-25 08:50"),
        ("readings", "L01-0001", "--file", log),
    ]  # fmt: skip
    for step in steps:
        done = run(*step, *day)
        assert done.code == 0, done.err
    page = run("load-report", "L01-0001", "--out", tmp_path / "l.pdf", "--numbers", tmp_path / "l.csv", *day, "--json")
    told = json.loads(page.out)
    assert (told["readings"], told["released"], told["rejected"]) == ("met", False, 0)
    assert (tmp_path / "l.pdf").read_bytes().startswith(b"%PDF")
    assert len((tmp_path / "l.csv").read_text().splitlines()) > 100
    book = run("logbook", "S1", "--out", tmp_path / "b.pdf", *day, "--json")
    assert json.loads(book.out)["entries"] == 4
    assert (tmp_path / "b.pdf").read_bytes().startswith(b"%PDF")
    empty = run("logbook", "S1", "--to", "2026-11-24", "--out", tmp_path / "e.pdf", *day, "--json")
    assert json.loads(empty.out)["entries"] == 0
    wrong = run("logbook", "S1", "--from", "2026-11-26", "--to", "2026-11-25", "--out", tmp_path / "c.pdf", *day)
    assert (wrong.code, wrong.err) == (
        2,
        "tracelabels: 2026-11-26 to 2026-11-25; expected a last day on or after the first; correct the days\n",
    )
