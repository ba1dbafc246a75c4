"""The README says what the code does: commands, layouts, sheets, the refused scan, its pictures."""

import re
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tracelabels.cli.root import GROUPS
from tracelabels.labels import list_layouts, list_sheets
from tracelabels.paper import rasterise_page
from tracelabels.workflows.demonstrate import demonstrate

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "README.md"
SNAPSHOTS = ROOT / "tests" / "snapshots"


def _size(width: float, height: float, *, is_round: bool) -> str:
    return f"disc of {width:g}" if is_round else f"{width:g} x {height:g}"


def _tables() -> dict[str, list[str]]:
    return {
        "commands": [
            row
            for heading, group in GROUPS.items()
            for row in (f"| **{heading}** | |", *(f"| `{name}` | {line} |" for name, (_, _, line) in group.items()))
        ],
        "layouts": [
            f"| `{one.name}` | {_size(one.width, one.height, is_round=one.is_round)} | {one.purpose} |"
            for one in list_layouts()
        ],
        "sheets": [
            f"| `{one.name}` | {_size(one.label_width, one.label_height, is_round=one.is_round)} "
            f"| {one.columns} x {one.rows}, page {one.page_width:g} x {one.page_height:g} |"
            for one in list_sheets()
        ],
    }


@pytest.mark.parametrize("table", ["commands", "layouts", "sheets"])
def test_a_table_of_the_readme_is_what_the_code_holds(table, request):
    rows = _tables()[table]
    text = README.read_text(encoding="utf-8")
    whole = re.compile(rf"(<!-- {table} -->\n\|.*\n\|[-|]+\n)((?:\|.*\n)*)(<!-- /{table} -->)")
    if request.config.getoption("--rewrite-snapshots"):
        text = whole.sub(lambda found: found[1] + "".join(f"{row}\n" for row in rows) + found[3], text)
        README.write_text(text, encoding="utf-8")
    found = whole.search(text)
    assert found is not None
    assert found[2].splitlines() == rows


@pytest.fixture(scope="module")
def demo(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("demo") / "tracelabels-demo"
    steps = list(demonstrate(folder, today=date(2026, 11, 25)))
    assert all(file.exists() for step in steps for file in step.files)
    return folder


def _sheet_picture(demo: Path) -> Image.Image:
    page = rasterise_page((demo / "printed" / "R01-0001.pdf").read_bytes(), index=0, dpi=200)
    mm = 200 / 25.4
    return Image.fromarray(page[: round(140 * mm), : round(86 * mm)]).rotate(-90, expand=True)  # as the tube is read


def _scan_picture(demo: Path) -> Image.Image:
    with Image.open(demo / "photographs" / "3-voided-and-reprinted-read.png") as image:
        image.thumbnail((900, 2000))
        return image.convert("RGB")


@pytest.mark.parametrize(("name", "draw"), [("readme-sheet.png", _sheet_picture), ("readme-scan.png", _scan_picture)])
def test_a_picture_of_the_readme_is_what_the_demonstration_leaves(demo, request, name, draw):
    picture = draw(demo)
    if request.config.getoption("--rewrite-snapshots"):
        picture.quantize(96).save(SNAPSHOTS / name, "PNG", optimize=True)
    assert f"tests/snapshots/{name}" in README.read_text(encoding="utf-8")
    with Image.open(SNAPSHOTS / name) as kept:
        assert kept.size == picture.size
        ours = np.asarray(picture.convert("L"), dtype=float)
        theirs = np.asarray(kept.convert("L"), dtype=float)
    # The kept picture has 96 colours; another machine's rounding moves a few grey levels, a moved label moves many.
    assert np.abs(ours - theirs).mean() < 3


def test_the_refused_scan_in_the_readme_is_what_is_said(demo, capfd, monkeypatch, request):
    from tracelabels.cli.root import main

    block = re.compile(r"(<!-- refusal -->\n```console\n\$ tracelabels (.*)\n)((?:.*\n)*?)(```)")
    text = README.read_text(encoding="utf-8")
    shown = block.search(text)
    assert shown is not None
    monkeypatch.chdir(demo / "photographs")
    with pytest.raises(SystemExit) as left:
        main([*shown[2].split(), "--practice", str(demo), "--today", "2026-11-25"])
    said = capfd.readouterr().out
    if request.config.getoption("--rewrite-snapshots"):
        README.write_text(block.sub(lambda found: found[1] + said + found[4], text), encoding="utf-8")
        shown = block.search(README.read_text(encoding="utf-8"))
    assert shown is not None
    assert (left.value.code, said) == (1, shown[3])


def _lines_under(heading: str) -> list[str]:
    text = README.read_text(encoding="utf-8")
    block = re.search(rf"## {heading}\n\n(?:.*\n)*?```sh\n((?:.*\n)*?)```", text)
    assert block is not None
    return block[1].splitlines()


def test_the_lines_of_the_readme_work_one_after_the_other(capfd, monkeypatch, tmp_path):
    """From the bench to the client; a comment ``# day N`` moves the clock on."""
    import shlex

    from tracelabels.cli.root import main

    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("TRACELABELS_PRACTICE", raising=False)
    first, done, today = date(2027, 1, 11), [], date(2027, 1, 11)
    for line in _lines_under("At the bench") + _lines_under("From the steriliser to the client"):
        words = shlex.split(line, comments=True)
        if line.startswith("# day "):
            today = first + timedelta(days=int(re.match(r"# day (\d+)", line)[1]))
        if not words:
            continue
        if words[0] == "cd":
            monkeypatch.chdir(words[1])
            continue
        if "photo.jpg" in words:  # what a person photographs: here the sheet itself
            page = rasterise_page(next(Path("printed").glob("*.pdf")).read_bytes(), index=0, dpi=600)
            Image.fromarray(np.pad(page, 80, constant_values=200)).save("photo.jpg")
        with pytest.raises(SystemExit) as left:
            main(["--today", today.isoformat(), *words[1:]])
        done.append((words[1], left.value.code))
    assert "Traceback" not in capfd.readouterr().err
    assert done == [
        ("new", 0), ("product", 0), ("receive", 0), ("open", 0), ("prepare", 0), ("check", 0),
        ("print", 0), ("pack", 0), ("scan", 1), ("look", 0), ("verify", 0),
        ("print", 0), ("steriliser", 0), ("steriliser-day", 0), ("load", 0), ("load-end", 0),
        ("spore-read", 0), ("steriliser-day", 0), ("load", 0), ("load-end", 0), ("unload", 1), ("readings", 0),
        ("indicators", 0), ("spore-read", 0), ("release", 0), ("load-report", 0), ("client", 0),
        ("open-pouch", 0), ("fill", 0),
        ("use", 0), ("due", 0), ("trace", 0), ("recall", 0),
    ]  # fmt: skip


def test_the_journey_in_the_packages_docstring_uses_every_public_name():
    import tracelabels

    told = tracelabels.__doc__
    assert told.count(">>>") >= 10
    assert [name for name in tracelabels.__all__ if not re.search(rf"\b{name}\b", told)] == []
    assert {name for names in tracelabels._HOMES.values() for name in names} == set(tracelabels.__all__)
