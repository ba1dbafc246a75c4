"""``check`` as people and programs call it: rules, trials, photographs, reports, wrong input."""

import json

import numpy as np
import pytest
from PIL import Image

from tracelabels.paper import page_count, rasterise_page

DAY = ("--today", "2026-11-25")
KEYS = {"rule", "verdict", "measured", "required", "source", "fix"}
LAYOUT = ("--layout", "tube-2.0-side", "--sheet", "a4-5x13-38.1x21.2")


def test_a_layout_is_judged_by_rules_and_trials_and_leaves_both_reports(run, practice):
    outs = set()
    for name in ("check.html", "check.pdf"):
        done = run("check", *LAYOUT, "--quick", "--json", "--report", practice / name, "--practice", practice)
        (label,) = (json.loads(line) for line in done.out.splitlines())
        assert done.code == 0, done.err
        assert label["verdict"] in {"pass", "warn"}
        assert label["basis"] == "simulated"
        assert "nobody entered whether the label stock withstands steam" in done.err
        assert all(set(finding) == KEYS and finding["source"] for finding in label["findings"])
        assert {finding["rule"] for finding in label["findings"]} >= {
            "x_dimension", "whole_dots", "quiet_zone", "one_sixth", "axial_nonuniformity", "grid_nonuniformity",
            "orientation", "registration", "type_size", "text_whole", "contrast", "simulated_envelope",
        }  # fmt: skip
        factors = {margin["factor"]: margin for margin in label["margins"]}
        assert {"px_per_mm", "off_axis", "tilt", "defocus", "glare", "dot_gain"} <= set(factors)
        assert factors["px_per_mm"]["reads_to"] < factors["px_per_mm"]["limit"] < factors["px_per_mm"]["nominal"]
        outs.add(done.out)
    assert len(outs) == 1  # the same seed gives the same answer
    page = (practice / "check.html").read_text(encoding="utf-8")
    assert page.startswith("<!doctype html>")
    assert "simulated" in page
    assert "http" not in page.replace("http://www.w3.org", "")
    assert page.count("data:image/png;base64,") == 2
    assert page_count((practice / "check.pdf").read_bytes()) >= 1


def test_every_label_of_a_pdf_gets_an_answer(run, practice):
    file = practice / "printed" / "R01-0001.pdf"
    done = run("check", "--pdf", file, "--tube-diameter", "10.8", "--quick", "--json", "--practice", practice)
    labels = [json.loads(line) for line in done.out.splitlines()]
    assert (done.code, len(labels)) == (0, 4)
    assert len({json.dumps(label["margins"]) for label in labels}) == 1
    words = run("check", "--pdf", file, "--tube-diameter", "10.8", "--quick", "--practice", practice).out
    assert "and 3 more like it" in words
    assert "simulated: reads to" in words


def test_a_tube_that_is_too_thin_fails(run, practice):
    done = run("check", *LAYOUT, "--tube-diameter", "5", "--quick", "--json", "--practice", practice)
    label = json.loads(done.out)
    assert (done.code, label["verdict"]) == (1, "fail")
    (sixth,) = (finding for finding in label["findings"] if finding["rule"] == "one_sixth")
    assert sixth["verdict"] in {"warn", "fail"}
    assert sixth["fix"]


def test_direct_thermal_stock_fails_and_the_envelope_of_the_practice_counts(run, practice):
    settings = practice / "practice.toml"
    text = settings.read_text()
    settings.write_text(text.replace('method = "unknown"', 'method = "direct_thermal"'))
    done = run("check", *LAYOUT, "--quick", "--json", "--practice", practice)
    assert (done.code, {one["rule"] for one in json.loads(done.out)["findings"] if one["verdict"] == "fail"}) == (
        1,
        {"steam"},
    )
    settings.write_text(text + "\n[envelope.px_per_mm]\nnominal = 6.0\nlimit = 4.0\n")
    label = json.loads(run("check", *LAYOUT, "--quick", "--json", "--practice", practice).out)
    assert label["verdict"] == "fail"


@pytest.fixture
def scanned(practice):
    """The first printed sheet as a clean flatbed would see it at 600 dpi, light stock a little grey."""
    page = rasterise_page((practice / "printed" / "R01-0001.pdf").read_bytes(), index=0, dpi=600)
    return np.clip(page.astype(float) * 0.86 + 14, 0, 255).astype(np.uint8)


def _saved(practice, pixels, name="sheet.png"):
    Image.fromarray(pixels).save(practice / name)
    return practice / name


def test_a_first_sheet_is_graded_and_compared_with_its_run(run, practice, scanned):
    report = practice / "sheet.pdf"
    done = run(
        "check", "--photo", _saved(practice, scanned), "--json", "--report", report, "--practice", practice, *DAY
    )
    labels = [json.loads(line) for line in done.out.splitlines()]
    assert done.code == 0, done.out
    assert sorted(label["label"] for label in labels) == ["010000020", "010000036", "010000048", "010000057"]
    for label in labels:
        rules = {finding["rule"]: finding for finding in label["findings"]}
        assert (rules["print_quality"]["verdict"], rules["content"]["verdict"]) == ("pass", "pass")
        assert "indicative, not a verifier" in rules["print_quality"]["measured"]
    assert page_count(report.read_bytes()) >= 1


def test_people_see_labels_that_stand_alike_together_each_named(run, practice, scanned):
    done = run("check", "--photo", _saved(practice, scanned), "--practice", practice, *DAY)
    lines = done.out.splitlines()
    assert (lines[0][:6], sorted(lines[0][6:].split(", "))) == (
        "ok    ",
        ["010000020", "010000036", "010000048", "010000057"],
    )
    assert [line.split()[:2] for line in lines[1:]] == [["ok", "print_quality"], ["ok", "content"]]


def test_half_of_a_sheet_is_said(run, practice, scanned):
    half = _saved(practice, scanned[:, : round(82 * 600 / 25.4)])
    done = run("check", "--photo", half, "--json", "--practice", practice, *DAY)
    whole = next(json.loads(line) for line in done.out.splitlines() if "the picture" in line)
    assert whole["findings"][0]["rule"] == "whole_sheet"
    assert whole["findings"][0]["measured"].startswith("2 of 4 labels of print run R01-0001; missing: 010000048")


def test_a_label_of_another_run_fails(run, practice, scanned, tmp_path):
    row = "Rosehip,R-12,5501,2027-05-24,2026-11-25,970042426"
    (tmp_path / "l.csv").write_text(f"product,item,lot,use_by,prepared,serial\n{row}\n")
    names = ("--layout", "tube-1.5-side", "--sheet", "a4-5x13-38.1x21.2", "--out", tmp_path / "l.pdf")
    assert run("labels", "--from", tmp_path / "l.csv", *names).code == 0
    other = rasterise_page((tmp_path / "l.pdf").read_bytes(), index=0, dpi=600)
    mixed = scanned.copy()
    left = round(45 * 600 / 25.4)
    mixed[:, : left - 40] = np.clip(other[:, : left - 40] * 0.86 + 14, 0, 255)
    done = run("check", "--photo", _saved(practice, mixed), "--json", "--practice", practice, *DAY)
    stranger = next(label for label in map(json.loads, done.out.splitlines()) if label["label"] == "970042426")
    assert (done.code, stranger["verdict"]) == (1, "fail")
    (content,) = (finding for finding in stranger["findings"] if finding["rule"] == "content")
    assert content["measured"] == "serial 970042426: no print run"


@pytest.mark.parametrize("kind", ["blank", "blurred"])
def test_a_picture_that_shows_no_code_gets_a_finding_and_no_grade(run, practice, scanned, kind):
    import cv2

    pixels = np.full((600, 800), 220, np.uint8) if kind == "blank" else cv2.GaussianBlur(scanned, (0, 0), 40)
    done = run("check", "--photo", _saved(practice, pixels), "--json", "--practice", practice, *DAY)
    (label,) = (json.loads(line) for line in done.out.splitlines())
    assert (done.code, label["verdict"], label["findings"][0]["measured"]) == (
        1,
        "fail",
        "no code is read in the picture",
    )


WRONG = {
    "nothing": ((), "not exactly one thing to check"),
    "two things": (("--pdf", "a.pdf", "--photo", "b.png"), "not exactly one thing to check"),
    "a layout without a sheet": (("--layout", "tube-1.5-side"), "not exactly one thing to check"),
    "no such layout": (("--layout", "x", "--sheet", "roll-28x13"), "layout 'x'; expected one of "),
    "no such file": (
        ("--pdf", "nowhere.pdf"),
        "nowhere.pdf: No such file or directory; expected a PDF ",
    ),
    "no tube": ((*LAYOUT, "--tube-diameter", "0"), "a tube of 0 mm; expected 1 to 100 mm"),
    "no dots": ((*LAYOUT, "--dpi", "0"), "a printer resolution of 0 dpi"),
}


@pytest.mark.parametrize("name", WRONG)
def test_wrong_input_is_one_sentence(run, practice, name):
    arguments, sentence = WRONG[name]
    done = run("check", *arguments, "--practice", practice)
    assert (done.code, done.out) == (2, "")
    assert done.err.startswith(f"tracelabels: {sentence}")


def test_a_report_goes_only_where_a_report_may(run, practice):
    for name, words in (("practice.toml", "ending in .pdf or .html"), ("report.txt", "ending in .pdf or .html")):
        done = run("check", *LAYOUT, "--quick", "--report", practice / name, "--practice", practice)
        assert done.code == 2
        assert words in done.err


@pytest.mark.slow
def test_advice_names_what_would_mend_a_label(run, practice):
    where = ("--layout", "tube-1.5-side", "--sheet", "a4-5x13-38.1x21.2", "--dpi", "203", "--quick", "--json")
    done = run("check", *where, "--advise", "--practice", practice)
    (_, advice) = (json.loads(line) for line in done.out.splitlines())
    layouts = advice["advice"]["layouts"]
    assert {"layout", "sheet", "verdict", "x_mm"} == set(layouts[0])
    order = ["pass", "warn", "fail"]
    assert [order.index(one["verdict"]) for one in layouts] == sorted(order.index(one["verdict"]) for one in layouts)
    assert advice["advice"]["change"] is None or "mm" in advice["advice"]["change"]
