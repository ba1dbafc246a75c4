"""``labels``: from a list to a proved file, and every wrong input with its sentence and exit 2."""

import json
from pathlib import Path

import numpy as np
import pytest

from tracelabels.paper import page_count, rasterise
from tracelabels.symbols import read_symbols

HEADER = "product,item,lot,use_by,prepared,serial"
ROW = "Rosehip,R-12,5501,2027-11-30,2026-11-25,010000012"
GOOD = (HEADER, ROW, "Oat Milk,O-04,OM-7712,2027-06-15,2026-11-25,010000020")
NAMES = ("--layout", "tube-1.5-side", "--sheet", "a4-5x13-38.1x21.2")


@pytest.fixture
def listed(tmp_path):
    def write(*lines: str) -> str:
        file = tmp_path / "list.csv"
        file.write_text("\n".join(lines) + "\n", encoding="utf-8")
        return str(file)

    return write


def test_a_list_becomes_a_file_whose_codes_say_what_the_list_says(run, listed, tmp_path):
    out = tmp_path / "labels.pdf"
    done = run("labels", "--from", listed(*GOOD), *NAMES, "--out", out, "--json")
    record = json.loads(done.out)
    assert (done.code, record["labels"], record["sheets"]) == (0, 2, 1)
    (page,) = rasterise(out.read_bytes(), dpi=300)
    assert {one.text for one in read_symbols(page)} == {
        "1727113013261125105501\x1d21010000012",
        "17270615132611251" + "0OM-7712\x1d21010000020",
    }


def test_a_row_with_a_gtin_becomes_a_gs1_code(run, listed, tmp_path):
    out = tmp_path / "labels.pdf"
    row = "Rosehip,5501,2027-11-30,2026-11-25,010000012,09501101530003"  # GTIN of the GenSpecs figures
    done = run("labels", "--from", listed("product,lot,use_by,prepared,serial,gtin", row), *NAMES, "--out", out)
    assert done.code == 0, done.err
    (page,) = rasterise(out.read_bytes(), dpi=300)
    (code,) = read_symbols(page)
    assert code.symbology_identifier == "]d2"
    assert code.text == "0109501101530003" + "1727113013261125105501\x1d21010000012"


def test_semicolons_a_byte_order_mark_and_standard_input(run, tmp_path):
    text = "\ufeff" + "\n".join(line.replace(",", ";") for line in GOOD)
    done = run("labels", "--from", "-", *NAMES, "--out", tmp_path / "l.pdf", stdin=text.encode())
    assert done.code == 0, done.err
    assert page_count((tmp_path / "l.pdf").read_bytes()) == 1


WRONG_LISTS = {
    "a column is missing": (
        ("product,lot,use_by,prepared", "Rosehip,5501,2027-11-30,2026-11-25"),
        (
            "no column 'serial'; expected the columns product, lot, use_by, prepared, serial; "
            "add 'serial' to the first line (its cells may be empty where a label has none)"
        ),
    ),
    "a column is misspelt": (
        ("product,lott,use_by,prepared,serial", ROW),
        (
            "unknown column 'lott'; expected columns from product, lot, use_by, prepared, serial, item, gtin, "
            "lot_kind, volume, contents, steriliser, load_number, processed_on, operator, notes; did you mean 'lot'?"
        ),
    ),
    "a date is bad": (
        (HEADER, "Rosehip,R-12,5501,30.11.2027,2026-11-25,010000012"),
        "line 2: use_by '30.11.2027'; expected a date such as 2027-11-30; write year, month and day",
    ),
    "a lot is too long": (
        (HEADER, "Rosehip,R-12,123456789012345678901,2027-11-30,2026-11-25,010000012"),
        "line 2: (10)123456789012345678901, 21 characters long; expected 1 to 20 characters in (10) BATCH/LOT; ",
    ),
    "a character is outside the set": (
        (HEADER, ROW, "Rosehip,R-12,55é1,2027-11-30,2026-11-25,010000020"),
        "line 3: (10)55é1, with 'é'; expected only characters of GS1's set 82",
    ),
    "a serial comes twice": (
        (HEADER, ROW, ROW),
        (
            "line 3: serial '010000012', which line 2 has too; expected each serial once; "
            "give one of them another serial; for two labels of one tube use --copies"
        ),
    ),
    "a row is short": ((HEADER, "Rosehip,R-12"), "line 2: 2 cells; expected 6, one for each column; mend the row"),
    "a serial is empty": (
        (HEADER, "Rosehip,R-12,5501,2027-11-30,2026-11-25,"),
        "line 2: an empty serial; expected a serial in every row; fill it in",
    ),
    "a GTIN has a wrong check digit": (
        (f"{HEADER},gtin", f"{ROW},09501101530004"),
        "line 2: (01)09501101530004, ",
    ),
    "no row at all": ((HEADER,), "no labels; expected at least one; add a row to the list"),
    "a name has a character that the face lacks": (
        (HEADER, "Rosehip 薔薇,R-12,5501,2027-11-30,2026-11-25,010000012"),
        "CJK UNIFIED IDEOGRAPH-8594",
    ),
}


@pytest.mark.parametrize("name", WRONG_LISTS)
def test_a_wrong_list_is_refused_by_line_and_leaves_no_file(run, listed, tmp_path, name):
    lines, sentence = WRONG_LISTS[name]
    done = run("labels", "--from", listed(*lines), *NAMES, "--out", tmp_path / "out.pdf")
    assert (done.code, done.out) == (2, "")
    assert sentence in done.err
    assert [file.name for file in tmp_path.iterdir()] == ["list.csv"]


def test_every_bad_row_is_named_also_for_programs(run, listed, tmp_path):
    lines = (HEADER, "Rosehip,R-12,5501,x,2026-11-25,1", ROW, "Rosehip,R-12,5501,2027-11-30,y,2")
    done = run("labels", "--from", listed(*lines), *NAMES, "--out", tmp_path / "out.pdf", "--json")
    assert [json.loads(line)["line"] for line in done.out.splitlines()] == [2, 4]
    assert "2 bad of 3 rows; expected every row good; mend them and print again; no file was left" in done.err


WRONG_OPTIONS = {
    "an unknown layout": (
        ("--layout", "tube-1.5-sid", "--sheet", "a4-5x13-38.1x21.2"),
        "layout 'tube-1.5-sid'; expected one of ",
    ),
    "an unknown sheet": (("--layout", "tube-1.5-side", "--sheet", "a4-5x13"), "sheet 'a4-5x13'; expected one of "),
    "dpi 0": ((*NAMES, "--dpi", "0"), "a printer resolution of 0 dpi; expected a number from 72 to 4800; "),
    "a layout that does not go on the sheet": (
        ("--layout", "pouch-90", "--sheet", "a4-5x13-38.1x21.2"),
        "layout pouch-90 on sheet a4-5x13-38.1x21.2: ",
    ),
    "more to skip than the sheet has": ((*NAMES, "--skip", "65"), "65 labels to skip on a4-5x13-38.1x21.2; "),
    "no copies": ((*NAMES, "--copies", "0"), "0 copies; expected a number from 1 to "),
}


@pytest.mark.parametrize("name", WRONG_OPTIONS)
def test_a_wrong_option_is_refused_and_leaves_no_file(run, listed, tmp_path, name):
    options, sentence = WRONG_OPTIONS[name]
    done = run("labels", "--from", listed(*GOOD), *options, "--out", tmp_path / "out.pdf")
    assert (done.code, done.out) == (2, "")
    assert sentence in done.err
    assert not (tmp_path / "out.pdf").exists()


def test_a_missing_option_names_itself(run, listed):
    done = run("labels", "--from", listed(*GOOD), *NAMES)
    assert (done.code, done.err) == (
        2,
        (
            "tracelabels: no --out; expected --from LIST.csv --layout NAME --sheet NAME --out FILE.pdf; "
            "add it, or see 'tracelabels labels --list' for names\n"
        ),
    )


def test_a_file_that_was_there_stays_if_the_new_one_is_refused(run, listed, tmp_path):
    out = tmp_path / "out.pdf"
    out.write_bytes(b"the old one")
    assert run("labels", "--from", listed(HEADER, "x"), *NAMES, "--out", out).code == 2
    assert out.read_bytes() == b"the old one"


def test_a_misspelt_key_of_a_practices_own_sheet_is_named(run, practice, listed):
    shipped = """title = "own"
[page]
width = 210.0
heigth = 297.0
[grid]
left = 5.0
top = 5.0
pitch_x = 40.0
pitch_y = 25.0
columns = 5
rows = 10
[label]
width = 38.0
height = 21.0
"""
    (practice / "templates" / "sheets" / "own.toml").write_text(shipped)
    done = run(
        "labels", "--practice", practice, "--from", listed(*GOOD), "--layout", "tube-1.5-side", "--sheet", "own",
        "--out", practice / "out.pdf",
    )  # fmt: skip
    assert done.code == 2
    assert done.err == (
        "tracelabels: own.toml: key 'heigth' of page is not a key that is known here; expected one of width, height; "
        "write 'height'\n"
    )


def test_the_list_of_templates_names_what_goes_together(run):
    done = run("labels", "--list", "--json")
    records = [json.loads(line) for line in done.out.splitlines()]
    layouts = {one["layout"]: one for one in records if "layout" in one}
    sheets = {one["sheet"] for one in records if "sheet" in one}
    assert (done.code, len(sheets) >= 10, len(layouts) >= 13) == (0, True, True)
    assert "a4-5x13-38.1x21.2" in layouts["tube-1.5-side"]["sheets"]
    for layout in layouts.values():
        assert layout["sheets"], layout["layout"]
        assert set(layout["sheets"]) <= sheets
    words = run("labels", "--list").out
    assert all(name in words for name in (*layouts, *sheets))


def test_a_picture_for_each_label_at_the_printers_dots(run, listed, tmp_path):
    from PIL import Image

    done = run(
        "labels", "--from", listed(*GOOD), "--layout", "tube-1.5-side", "--sheet", "roll-2x38x21", "--dpi", "203",
        "--out", tmp_path / "label.png",
    )  # fmt: skip
    assert done.code == 0, done.err
    files = sorted(tmp_path.glob("*.png"))
    assert [file.name for file in files] == ["label-0001.png", "label-0002.png"]
    for file, serial in zip(files, ("010000012", "010000020"), strict=True):
        with Image.open(file) as picture:
            assert round(picture.info["dpi"][0]) == 203
            (code,) = read_symbols(np.asarray(picture.convert("L")))
        assert code.text.endswith(f"\x1d21{serial}")


def test_the_alignment_page_can_be_printed_for_every_sheet(run, tmp_path):
    from tracelabels.workflows.templates import list_sheets

    for sheet in list_sheets(None):
        out = tmp_path / f"{sheet.name}.pdf"
        assert run("align", "--sheet", sheet.name, "--out", out).code == 0
        assert page_count(out.read_bytes()) == 1


@pytest.mark.parametrize("source", ["file", "-"])
def test_a_byte_that_is_no_text_is_named_with_its_line(run, tmp_path, source):
    content = f"{HEADER}\n{ROW}\n".encode() + "Röte,R-13,5502,2027-11-30,2026-11-25,010000020\n".encode("latin-1")
    (tmp_path / "list.csv").write_bytes(content)
    given = tmp_path / "list.csv" if source == "file" else "-"
    done = run("labels", "--from", given, *NAMES, "--out", tmp_path / "o.pdf", stdin=content)
    assert done.code == 2
    assert (
        "line 3: byte 0xf6, which is not UTF-8; expected a CSV file in UTF-8; save the list as CSV (UTF-8)" in done.err
    )


@pytest.mark.parametrize(
    "row", ['"Rosehip,R-12', f"{'x' * 140_000},R-12,5501,2027-11-30,2026-11-25,010000012", "Rose\0hip,a"]
)
def test_a_row_that_is_no_row_is_refused_without_a_traceback(run, listed, tmp_path, row):
    done = run("labels", "--from", listed(HEADER, ROW, row), *NAMES, "--out", tmp_path / "o.pdf")
    assert done.code == 2
    assert "line 3" in done.err
    assert not (tmp_path / "o.pdf").exists()


def test_nothing_of_another_kind_is_ever_written_over(run, practice, listed, tmp_path):
    """The ledger, its key, the settings, the list itself, a folder: each stays, and the exit says why."""
    given = listed(*GOOD)
    (tmp_path / "folder.pdf").mkdir()
    kept = [practice / name for name in ("ledger.sqlite", "ledger.sqlite.key", "practice.toml")] + [Path(given)]
    before = [file.read_bytes() for file in kept]
    for out in (*kept, tmp_path / "folder.pdf", practice / "printed" / "R01-0001.pdf"):
        done = run("labels", "--from", given, *NAMES, "--out", out)
        assert (done.code, done.out) == (2, "")
        said = ("where something else lies already", "the file of a recorded print run", "is a directory")
        assert any(words in done.err for words in said), done.err
    assert [file.read_bytes() for file in kept] == before
    assert run("verify", "--practice", practice).code == 0


def test_pictures_of_an_earlier_run_are_not_mixed_with_new_ones(run, listed, tmp_path):
    names = ("--layout", "tube-1.5-side", "--sheet", "roll-2x38x21", "--out", tmp_path / "pic.png")
    assert run("labels", "--from", listed(*GOOD), *names).code == 0
    before = {file.name: file.read_bytes() for file in tmp_path.glob("*.png")}
    done = run("labels", "--from", listed(HEADER, ROW), *names)
    assert done.code == 2
    assert "pic-0001.png and others of an earlier run; expected a name that no pictures bear yet" in done.err
    assert {file.name: file.read_bytes() for file in tmp_path.glob("*.png")} == before


WRONG_ROWS = {
    "use-by before prepared": (
        "Rosehip,R-12,1,2026-01-01,2026-11-25,S1",
        "use_by 2026-01-01, before prepared 2026",
    ),
    "another century": (
        "Rosehip,R-12,1,2099-01-01,2026-11-25,S1",
        "use-by 2099-01-01, whose two-digit year",
    ),
    "a week": ("Rosehip,R-12,1,2027-W48,2026-11-25,S1", "use_by '2027-W48'; expected a date such as 2027-11-30"),
    "no product": (",R-12,1,2027-11-30,2026-11-25,S1", "a label without product"),
}


@pytest.mark.parametrize("name", WRONG_ROWS)
def test_a_row_that_contradicts_itself_is_named_by_its_line(run, listed, tmp_path, name):
    row, words = WRONG_ROWS[name]
    rest = ("--out", tmp_path / "o.pdf", "--json", "--today", "2026-11-25")
    done = run("labels", "--from", listed(HEADER, ROW, row), *NAMES, *rest)
    assert done.code == 2
    (bad,) = (json.loads(line) for line in done.out.splitlines())
    assert (bad["line"], words in bad["error"]) == (3, True), bad
    assert not (tmp_path / "o.pdf").exists()


def test_what_looks_odd_is_said_and_printed(run, listed, tmp_path):
    row = "Rosehip,R-12,1,2026-11-01,2026-10-01,010000013"
    done = run("labels", "--from", listed(HEADER, row), *NAMES, "--out", tmp_path / "o.pdf", "--today", "2026-11-25")
    assert done.code == 0
    assert "line 2: use_by 2026-11-01 is past" in done.err
    assert "line 2: serial 010000013 looks like one of this program's, but its check digit is wrong" in done.err


def test_a_practice_prints_only_gtins_of_its_own(run, practice, listed):
    lines = (f"{HEADER},gtin", f"{ROW},09501101530003")
    arguments = ("labels", "--practice", practice, "--from", listed(*lines), *NAMES, "--out", practice / "o.pdf")
    done = run(*arguments)
    assert done.code == 2
    assert "GTIN 09501101530003, which is not under this practice's company prefix" in done.err
    settings = practice / "practice.toml"
    text = settings.read_text().replace('mode = "in_house"', 'mode = "gs1"')
    settings.write_text(text.replace('company_prefix = ""', 'company_prefix = "9501101"'))
    assert run(*arguments).code == 0


def test_one_bad_template_never_hides_the_rest(run, practice):
    (practice / "templates" / "layouts" / "mine.toml").write_text('titel = "x"')
    done = run("labels", "--list", "--json", "--practice", practice)
    records = [json.loads(line) for line in done.out.splitlines()]
    assert done.code == 2
    assert [one["error"] for one in records if "error" in one] == [
        (
            "mine.toml: key 'titel' is not a key that is known here; expected one of title, purpose, set, surface, "
            "label, tube, symbol, field, text, rule; write 'title'"
        )
    ]
    assert "left out: mine.toml" in done.err
    assert len(records) > 30
