"""From bottle to record through the commands: every outcome that the chair can have today, and wrong photographs."""

import io
import json
import re
import struct
import zlib

import numpy as np
import pytest
from PIL import Image

from tracelabels.paper import rasterise_page

DAY = ("--today", "2026-11-25")


@pytest.fixture
def photo(practice):
    """A clean picture of the first label of a printed run, enlarged as a near camera would see it."""

    def take(run_number: str, *, slot: int = 0):
        page = rasterise_page((practice / "printed" / f"{run_number}.pdf").read_bytes(), index=0, dpi=600)
        mm = 600 / 25.4
        left, top = 4.75 + 40.6 * slot, 10.7  # of the sheet a4-5x13-38.1x21.2
        label = page[round(top * mm) : round((top + 21.2) * mm), round(left * mm) : round((left + 38.1) * mm)]
        file = practice / f"{run_number}-{slot}.png"
        Image.fromarray(np.pad(label, 60, constant_values=200)).save(file)
        return file

    return take


def test_a_fresh_label_finds_its_record_and_is_not_yet_fit(run, practice, photo):
    done = run("scan", photo("R01-0001"), "--json", "--practice", practice, *DAY)
    (code,) = json.loads(done.out)["codes"]
    assert done.code == 1
    assert code["record"]["serial"] == "010000020"
    assert (code["record"]["products"], code["record"]["lot"], code["record"]["print_run"]) == (
        ["Rosehip"],
        "5501",
        "R01-0001",
    )
    assert (code["record"]["use_by"], code["record"]["prepared"]) == ("2027-05-24", "2026-11-25")
    assert (code["symbology"], code["text"]) == ("]d1", "1727052413261125105501\x1d21010000020")
    assert code["hri"] == "(17)270524(13)261125(10)5501(21)010000020"
    assert code["verdict"] == "stop"
    assert code["reasons"][0] == "no release of its steriliser load is recorded"
    assert len(code["position"]) == 4


def test_without_a_ledger_there_is_no_verdict(run, photo):
    done = run("scan", photo("R01-0001"), "--no-record", "--json", *DAY)
    (code,) = json.loads(done.out)["codes"]
    assert (done.code, code["verdict"], code["record"], code["reasons"]) == (0, None, None, [])


def test_a_reprint_voids_its_predecessor(run, practice, photo):
    first = photo("R01-0001", slot=0)
    done = run(
        "print",
        "010000020",
        "--reprint",
        "R01-0001",
        "--layout",
        "tube-1.5-side",
        "--practice",
        practice,
        *DAY,
        "--json",
    )
    assert done.code == 0, done.err
    second = photo(json.loads(done.out)["run"])
    codes = [
        json.loads(run("scan", file, "--json", "--practice", practice, *DAY).out)["codes"][0]
        for file in (first, second)
    ]
    # With unchanged facts both say the same, and nobody can tell one from the other; the record knows both.
    assert codes[0]["text"] == codes[1]["text"]
    assert [code["record"]["print_run"] for code in codes] == ["R01-0002", "R01-0002"]
    found = json.loads(run("look", "010000020", "--json", "--practice", practice).out)
    assert found["facts"]["labels"] == "tube in run R01-0001 (voided by print run R01-0002), tube in run R01-0002"


def test_a_label_that_says_something_else_is_a_mix_up(run, practice, tmp_path):
    row = "Rosehip,R-12,5510,2027-05-24,2026-11-25,010000020"
    (tmp_path / "l.csv").write_text(f"product,item,lot,use_by,prepared,serial\n{row}\n")
    arguments = ("--layout", "tube-1.5-side", "--sheet", "a4-5x13-38.1x21.2", "--out", tmp_path / "l.pdf")
    assert run("labels", "--from", tmp_path / "l.csv", *arguments).code == 0
    done = run("scan", tmp_path / "l.pdf", "--json", "--practice", practice, *DAY)
    (code,) = json.loads(done.out)["codes"]
    assert (done.code, code["verdict"]) == (1, "stop")
    assert code["reasons"][0] == "the label does not say what was printed for 010000020: batch 5510 instead of 5501"


def test_a_serial_that_was_never_recorded_stops(run, practice, tmp_path):
    row = "Rosehip,R-12,5501,2027-05-24,2026-11-25,970042426"
    (tmp_path / "l.csv").write_text(f"product,item,lot,use_by,prepared,serial\n{row}\n")
    arguments = ("--layout", "tube-1.5-side", "--sheet", "a4-5x13-38.1x21.2", "--out", tmp_path / "l.pdf")
    assert run("labels", "--from", tmp_path / "l.csv", *arguments).code == 0
    done = run("scan", tmp_path / "l.pdf", "--json", "--practice", practice, *DAY)
    (code,) = json.loads(done.out)["codes"]
    assert (done.code, code["record"], code["verdict"]) == (1, None, "stop")
    assert code["reasons"][0] == "no label with serial 970042426 was ever recorded"


def test_past_its_use_by_both_dates_are_reasons(run, practice, photo):
    done = run("scan", photo("R01-0001"), "--json", "--practice", practice, "--today", "2027-05-25")
    (code,) = json.loads(done.out)["codes"]
    assert "the label says use by 2027-05-24" in code["reasons"]
    assert any(sentence.startswith("preparation P01-0001 was good until 2027-05-24") for sentence in code["reasons"])


def _huge_png() -> bytes:
    def chunk(kind: bytes, content: bytes) -> bytes:
        return struct.pack(">I", len(content)) + kind + content + struct.pack(">I", zlib.crc32(kind + content))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(60_001)))
        + chunk(b"IEND", b"")
    )


def _truncated() -> bytes:
    whole = io.BytesIO()
    Image.fromarray(np.random.default_rng(1).integers(0, 255, (200, 200), dtype=np.uint8)).save(whole, "JPEG")
    return whole.getvalue()[:3000]


@pytest.mark.parametrize(
    ("content", "word"),
    [
        (b"a text, not a picture\n", "is a text file"),
        (_truncated(), "truncated"),
        (b"", "empty"),
        (_huge_png(), "3600 million"),
    ],
    ids=["text", "truncated", "0 bytes", "60000x60000"],
)
def test_a_file_that_is_no_good_picture_gets_one_sentence_and_the_others_are_still_answered(
    run, practice, photo, content, word
):
    (practice / "bad.png").write_bytes(content)
    done = run("scan", practice / "bad.png", photo("R01-0001"), "--json", "--practice", practice, *DAY)
    bad, good = (json.loads(line) for line in done.out.splitlines())
    assert done.code == 2
    assert set(bad) == {"photo", "error"}
    assert word in bad["error"].lower()
    assert bad["error"].count(";") >= 2
    assert [code["record"]["serial"] for code in good["codes"]] == ["010000020"]


def test_a_photograph_from_standard_input(run, practice, photo):
    done = run("scan", "-", "--json", "--practice", practice, *DAY, stdin=photo("R01-0001").read_bytes())
    assert json.loads(done.out)["codes"][0]["record"]["serial"] == "010000020"


def test_no_practice_is_said_plainly(run, photo, tmp_path):
    file = photo("R01-0001")
    (tmp_path / "empty").mkdir()
    done = run("scan", file, "--practice", tmp_path / "empty")
    assert done.code == 2
    assert "make a practice with 'tracelabels new DIR', or name its folder with --practice DIR" in done.err


def test_the_rules_refuse_a_filling_with_every_reason(run, practice):
    at = ("--practice", practice, *DAY)
    run("product", "Driftwood", "--item", "D-31", "--maker", "Lantern Pigment", "--carrier", "oil_or_anhydrous", *at)
    bottle = json.loads(run("receive", "D-31", "--batch", "D310", "--json", *at).out)["bottle"]
    done = run(
        "prepare", "--tubes", "2", "--variant", "filled_before", "--fill", "0.8", "--from", bottle, "--json", *at
    )
    assert done.code == 1
    assert json.loads(done.out)["reasons"] == [
        "Driftwood, batch D310 states no expiry, and the practice has no rule for such a bottle",
        "Driftwood is oil-based or has no water: steam does not sterilise it",
        "no written statement of Lantern Pigment on re-sterilising Driftwood is on file",
    ]


WRONG_BENCH = {
    "a bottle that is not there": (
        ("prepare", "--tubes", "2", "--variant", "filled_before", "--fill", "0.8", "--from", "010000999"),
        "serial '010000999'; expected nine digits whose last one is their check digit; type it again from the label",
    ),
    "a batch with a space": (("receive", "R-12", "--batch", "55 01"), "(10)55 01"),
    "an unknown item": (
        ("receive", "R-99", "--batch", "1"),
        "item number 'R-99'; expected a pigment that is on record; enter it first with 'tracelabels product'",
    ),
    "opened twice": (("open", "010000012"), "bottle 010000012, which is recorded as opened already; "),
    "no tubes": (("prepare", "--tubes", "0"), "0 tubes; expected 1 to 100000; correct the count"),
    "a label twice": (
        ("print", "010000020", "--layout", "tube-1.5-side"),
        (
            "a tube label for 010000020, which has one from print run R01-0001; expected one valid label of a kind for "
            "each serial; print it again with --reprint R01-0001, which voids the first"
        ),
    ),
    "a serial mistyped": (
        ("print", "010000025", "--layout", "tube-1.5-side"),
        "serial '010000025'; expected nine digits",
    ),
    "a bad date": (("receive", "R-12", "--batch", "1", "--expiry", "30.11.2027"), "--expiry '30.11.2027'; expected "),
    "a day in the future": (("receive", "R-12", "--batch", "1", "--received", "2027-01-01"), "received on 2027-01-01"),
    "a tube that lies in a pouch": (("pack", "010000020", "010000020", "--material-lot", "PM"), "tube 010000020 twice"),
}


@pytest.mark.parametrize("name", WRONG_BENCH)
def test_wrong_input_at_the_bench_is_refused_in_one_sentence(run, practice, name):
    arguments, sentence = WRONG_BENCH[name]
    done = run(*arguments, "--practice", practice, *DAY)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(f"tracelabels: {sentence}"), done.err
    assert run("verify", "--practice", practice).code == 0


def test_a_gs1_practice_uses_its_own_gtins_only(run, practice):
    settings = practice / "practice.toml"
    text = (
        settings.read_text()
        .replace('mode = "in_house"', 'mode = "gs1"')
        .replace('company_prefix = ""', 'company_prefix = "9501101"')
    )
    settings.write_text(text)
    at = ("--practice", practice, *DAY)
    again = ("print", "--reprint", "R01-0001", "--layout", "tube-1.5-side", *at)
    refused = run(*again)
    assert "item R-12 in identifier mode 'gs1'; expected one item with a GTIN of the practice's own" in refused.err
    settings.write_text(text.replace("[identifiers.gtins]", '[identifiers.gtins]\n"R-12" = "09501101530003"'))
    done = run(*again)
    assert done.code == 0, done.err
    scanned = run("scan", practice / "printed" / "R01-0002.pdf", "--json", *at)
    codes = json.loads(scanned.out)["codes"]
    assert [code["symbology"] for code in codes] == ["]d2"] * 4
    assert codes[0]["text"] == "01095011015300031727052413261125105501\x1d21010000020"
    assert codes[0]["record"]["print_run"] == "R01-0002"


def test_help_lists_each_command_once_under_what_staff_do(run):
    from tracelabels.cli.root import COMMANDS

    listed: dict[str, list[str]] = {}
    for line in run("--help").out.partition("  -h, --help")[2].splitlines():
        if re.fullmatch(r"[A-Z][a-z ]+:", line):
            names = listed.setdefault(line.removesuffix(":"), [])
        elif listed and (found := re.match(r"  ([a-z][a-z-]*)  ", line)):
            names.append(found[1])
    assert list(listed) == [
        "To begin", "At the bench", "Labels and pictures", "At the steriliser", "At the chair", "Tracing and recalls",
        "The record and its keys",
    ]  # fmt: skip
    assert sorted(name for names in listed.values() for name in names) == sorted(COMMANDS)
    assert [heading for heading, names in listed.items() if {"prepare", "load", "use", "verify"} & set(names)] == [
        "At the bench", "At the steriliser", "At the chair", "The record and its keys",
    ]  # fmt: skip


def test_help_of_every_command_is_in_plain_words(run):
    from tracelabels.cli.root import COMMANDS

    for name in COMMANDS:
        done = run(name, "--help")
        assert (done.code, done.out.startswith("Usage: tracelabels " + name)) == (0, True)


def test_client_and_opening_are_taken_and_nothing_is_go_today(run, practice, photo):
    answers = ("--client", "C-14", "--opened", "indicator=ok,dry=yes,whole=no")
    done = run("scan", photo("R01-0001"), *answers, "--json", "--practice", practice, *DAY)
    (code,) = json.loads(done.out)["codes"]
    assert (done.code, code["verdict"]) == (1, "stop")
    assert code["reasons"] == [
        "no release of its steriliser load is recorded",
        "it lies in no pouch that is on record",
        "client 'C-14' is not on record",
        "the pouch is torn or open",
    ]


@pytest.mark.parametrize(
    "opened", ["", "indicator=ok", "indicator=ok,dry=yes,whole=maybe", "x", "dry=no,indicator=ok,dry=yes,whole=yes"]
)
def test_answers_at_opening_that_are_not_whole_are_refused(run, practice, photo, opened):
    done = run("scan", photo("R01-0001"), "--opened", opened or ",", "--practice", practice, *DAY)
    assert done.code == 2
    assert "expected indicator=, dry= and whole=, each once, each ok, yes or no; write for example" in done.err


def test_a_voided_label_that_says_otherwise_stops_at_the_chair(run, practice, photo):
    old = photo("R01-0001")
    settings = practice / "practice.toml"
    settings.write_text(settings.read_text().replace('"180 days"', '"90 days"'))
    done = run("print", "--reprint", "R01-0001", "--layout", "tube-1.5-side", "--practice", practice, *DAY)
    assert done.code == 0, done.err
    done = run("scan", old, photo("R01-0002"), "--json", "--practice", practice, *DAY)
    before, after = (json.loads(line)["codes"][0] for line in done.out.splitlines())
    assert before["reasons"][0] == "the label with serial 010000020 was voided: print run R01-0002"
    assert after["reasons"][0] == "no release of its steriliser load is recorded"


@pytest.mark.parametrize("command", ["labels", "align", "look", "verify", "scan"])
def test_a_date_that_is_none_is_refused_wherever_it_stands(run, practice, photo, command):
    rest = {
        "labels": ("--list",),
        "align": ("--sheet", "roll-28x13", "--out", practice / "a.pdf"),
        "look": ("5501",),
        "scan": (photo("R01-0001"),),
    }.get(command, ())
    for arguments in (
        ("--today", "tomorrow", command, *rest, "--practice", practice),
        (command, *rest, "--today", "tomorrow", "--practice", practice),
    ):
        done = run(*arguments)
        assert (done.code, done.err) == (
            2,
            "tracelabels: --today 'tomorrow'; expected a date such as 2026-11-25; write year, month and day\n",
        )


def test_serials_and_a_preparation_together_are_refused(run, practice):
    both = ("010000020", "--preparation", "P01-0001", "--practice", practice, *DAY)
    for command in (("print", "--layout", "tube-1.5-side"), ("pack", "--material-lot", "PM")):
        done = run(*command, *both)
        assert done.code == 2
        assert "serials and --preparation together; expected one of them; leave one out" in done.err


def test_what_was_made_from_a_withdrawn_bottle_stops(run, practice, photo):
    file = photo("R01-0001")
    done = run("withdraw", "010000012", "--reason", "the maker's notice", "--json", "--practice", practice, *DAY)
    assert (done.code, json.loads(done.out)["bottle"]) == (0, "010000012")
    (code,) = json.loads(run("scan", file, "--json", "--practice", practice, *DAY).out)["codes"]
    assert "Rosehip, batch 5501 was withdrawn on 2026-11-25" in code["reasons"]
    refused = run("print", "--reprint", "R01-0001", "--layout", "tube-1.5-side", "--practice", practice, *DAY)
    assert refused.code == 2
    assert "Rosehip, batch 5501 was withdrawn on 2026-11-25" in refused.err


def test_marking_never_writes_over_the_photograph(run, practice, photo):
    file = photo("R01-0001")
    before = file.read_bytes()
    done = run("scan", file, "--marked", file, "--practice", practice, *DAY)
    assert (done.code, file.read_bytes() == before) == (2, True)
    assert "where something else lies already" in done.err
    done = run("scan", file, "--marked", practice / "marked.png", "--practice", practice, *DAY)
    assert done.code == 1
    with Image.open(practice / "marked.png") as marked:
        assert marked.width >= 600


def test_labels_go_on_what_they_are_for(run, practice):
    at = ("--practice", practice, *DAY)
    pouch = json.loads(run("pack", "010000020", "--material-lot", "PM", "--json", *at).out)["pouch"]
    for serial, layout, sheet in (
        (pouch, "tube-1.5-side", "a4-5x13-38.1x21.2"),
        ("010000036", "pouch-90", "a4-3x8-63.5x33.9"),
    ):
        done = run("print", serial, "--layout", layout, "--sheet", sheet, *at)
        assert done.code == 2
        assert f"layout {layout} for " in done.err


def test_what_happened_follows_today_and_what_was_recorded_the_clock(practice):
    from datetime import UTC, datetime

    from tracelabels.workflows.practice import open_practice

    with open_practice(practice, today=None) as here, here.ledger.read() as ledger:
        bottle = ledger.find_bottle("010000012")
        (fact, *_) = ledger.history(bottle.thing)
    assert fact.happened_at.date().isoformat() == "2026-11-25"
    assert abs((datetime.now(UTC) - fact.recorded_at).total_seconds()) < 600


def test_a_preparation_does_not_come_before_its_bottle(run, practice):
    filled = ("--variant", "filled_before", "--fill", "0.8", "--from", "010000012")
    done = run("prepare", "--tubes", "2", *filled, "--practice", practice, "--today", "2026-11-01")
    assert done.code == 2
    assert (
        "a preparation on 2026-11-01 from bottle 010000012; expected a day on or after its receipt and opening"
        in done.err
    )


@pytest.mark.parametrize(
    "arguments",
    [
        ("receive", "R-12", "--batch", "x", "--expiry", "0000-05"),
        ("receive", "R-12", "--batch", "x", "--expiry", "2027-W10"),
        ("pack", "--material-lot", "P", "--instrument", " "),
        ("look", "x", "--today", ""),
    ],
)
def test_odd_input_is_refused_in_one_sentence(run, practice, arguments):
    done = run(*arguments, "--practice", practice)
    assert (done.code, done.out, done.err.count("\n")) == (2, "", 1)
