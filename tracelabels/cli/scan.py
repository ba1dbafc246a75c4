"""``tracelabels scan``: what a photograph of labels says, and what the ledger knows of them."""

import sys
from collections.abc import Iterator
from contextlib import nullcontext
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, WRONG_INPUT, answer, progress, say
from tracelabels.cli.chair_options import opening_from
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import PictureError

if TYPE_CHECKING:
    from collections.abc import Callable
    from contextlib import AbstractContextManager

    from tracelabels.cli.answers import Advance
    from tracelabels.workflows.chair_record import KnownThing
    from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer
    from tracelabels.workflows.leave_scan_table import ScannedPhoto

    Asking = Callable[[Path | bytes, str], Iterator[PhotoAnswer]]

_LONGEST_INPUT = 256_000_000


@click.command()
@click.argument("photos", metavar="PHOTO|FOLDER...", nargs=-1, required=True)
@click.option("--no-record", is_flag=True, help="Read any code, ask no ledger, give no verdict.")
@click.option("--client", metavar="CODE", help="The client's code.")
@click.option("--opened", metavar="ANSWERS", help="What was seen at opening: indicator=ok,dry=yes,whole=yes (or no).")
@click.option(
    "--marked",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Leave a PNG of the last photograph with what was read.",
)
@click.option(
    "--csv",
    "table",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Leave a table: a row for each code, and one for each picture in which nothing was read.",
)
@click.option("--recursive", is_flag=True, help="Look into the folders inside a folder, too.")
@practice_options
def scan(
    asked: Asked,
    photos: tuple[str, ...],
    no_record: bool,
    client: str | None,
    opened: str | None,
    marked: Path | None,
    table: Path | None,
    recursive: bool,
) -> int:
    """Read photographs of labels: JPEG, PNG, WebP, TIFF, GIF, BMP, HEIC, a PDF, a clip, or '-' for standard input.

    For each label it says what the code says, what the ledger knows of it, and STOP with every reason, or that the
    answer is preliminary until client and opening are checked. It never says that anything is sterile. Of a clip (MP4,
    MOV, MKV, WebM, AVI) the sharpest frames are read, of a folder all pictures in it.
    Exit 0: read, nothing speaks against it so far. 1: stop, or nothing read. 2: a file is no picture.
    """
    from tracelabels.workflows.check_at_chair import check_photograph, read_photograph

    wanted = _Wanted(marked=marked, table=table, as_json=asked.as_json)
    named = list(_named(photos, recursive=recursive))
    if no_record:
        when = asked.day()
        return _scan_all(named, lambda source, name: read_photograph(source, name=name, today=when), wanted)
    opening = opening_from(opened)
    with asked.opened() as here:

        def ask(source: Path | bytes, name: str) -> "Iterator[PhotoAnswer]":
            return check_photograph(here, source, name=name, client=client, opening=opening)

        return _scan_all(named, ask, wanted)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """What is left and shown of a scan."""

    marked: Path | None
    """Where a PNG of what was read is left."""
    table: Path | None
    """Where a table is left."""
    as_json: bool
    """Whether objects are printed in place of words."""


def _named(photos: tuple[str, ...], *, recursive: bool) -> Iterator[tuple[str, str | None]]:
    """Give each file's name, folders as what lies in them, and why it cannot be scanned if that is known already."""
    from tracelabels.workflows.find_photographs import find_photographs

    for photo in photos:
        if photo == "-" or not Path(photo).is_dir():
            yield photo, None
            continue
        try:
            found = find_photographs(Path(photo), with_folders_inside=recursive)
        except PictureError as problem:
            yield photo, str(problem)
            continue
        if found.others:
            what = "1 file that is no picture" if found.others == 1 else f"{found.others} files that are no pictures"
            say(f"{photo}: {what}, left alone")
        yield from ((str(file), None) for file in found.photographs)


def _scan_all(named: list[tuple[str, str | None]], ask: "Asking", wanted: _Wanted) -> int:
    from tracelabels.workflows.leave_scan_table import leave_scan_table, require_table

    if wanted.table is not None:
        require_table(wanted.table, not_over=[Path(photo) for photo, _ in named if photo != "-"])
    scanned: list[ScannedPhoto] = []
    with _bar(wanted) as advance:
        for photo, problem in named:
            scanned.append(_scan_one(photo, problem, ask, wanted))
            advance(len(scanned), len(named))
    if wanted.table is not None:
        leave_scan_table(wanted.table, scanned)
        say(_sum(scanned, wanted.table))
    if any(one.problem for one in scanned):
        return WRONG_INPUT
    return FINDING if any(_must_stop(one) for one in scanned) else 0


def _bar(wanted: _Wanted) -> "AbstractContextManager[Advance]":
    """Show how far it has come, unless the answers themselves appear on the terminal one by one."""
    if sys.stdout.isatty() and (wanted.table is None or wanted.as_json):
        return nullcontext(lambda _done, _total=None: None)
    return progress("scanning")


def _scan_one(photo: str, problem: str | None, ask: "Asking", wanted: _Wanted) -> "ScannedPhoto":
    """Scan one file and show what it says; the pictures themselves are let go."""
    from tracelabels.workflows.leave_scan_table import ScannedPhoto

    pages: list[PhotoAnswer] = []
    if problem is None:
        source = _source(photo) if wanted.marked is not None else Path(photo)
        problem = _ask_page_by_page(ask(source, "standard input" if photo == "-" else photo), pages)
    if problem:
        say(problem)
    if wanted.as_json:
        answer(_as_record(photo, pages, problem))
    elif wanted.table is None:
        _show(photo, pages)
    if wanted.marked is not None and pages:
        _mark(source, pages[0], wanted.marked)
    return ScannedPhoto(name=photo, pages=tuple(replace(page, picture=None) for page in pages), problem=problem)


def _ask_page_by_page(asked: "Iterator[PhotoAnswer]", pages: "list[PhotoAnswer]") -> str | None:
    """Take the pages as they come, keeping the picture of the first only; return what stopped them, if anything did."""
    try:
        for page in asked:
            pages.append(replace(page, picture=None) if pages else page)
    except PictureError as problem:
        return str(problem)
    return None


def _must_stop(one: "ScannedPhoto") -> bool:
    """A code says stop, or there is none in any page."""
    return one.is_empty or any(page.answers and page.stops for page in one.pages)


def _sum(scanned: "list[ScannedPhoto]", table: Path) -> str:
    codes = sum(len(page.answers) for one in scanned for page in one.pages)
    bad = sum(1 for one in scanned if one.problem)
    empty = sum(1 for one in scanned if one.is_empty and not one.problem)
    files = "1 file" if len(scanned) == 1 else f"{len(scanned)} files"
    read = "1 code" if codes == 1 else f"{codes} codes"
    return f"{table}: {files}, {read} read; nothing was read in {empty}, {bad} could not be opened"


def _source(photo: str) -> Path | bytes:
    """Return a photograph that is looked at twice: standard input can be read only once."""
    return sys.stdin.buffer.read(_LONGEST_INPUT + 1) if photo == "-" else Path(photo)


def _mark(source: Path | bytes, page: "PhotoAnswer", marked: Path) -> None:
    from tracelabels.workflows.mark_photograph import write_marked

    write_marked(source, page, marked)
    say(f"{marked}: what was read, marked on the photograph")


def _as_record(photo: str, pages: "list[PhotoAnswer]", problem: str | None) -> dict[str, object]:
    if problem and not pages:
        return {"photo": photo, "error": problem}
    return {
        "photo": photo,
        "codes": [
            _code_record(one) | ({"page": page.page} if _is_part(page, pages) else {})
            for page in pages
            for one in page.answers
        ],
        "unread": [
            {"position": [list(corner) for corner in place.corners], "reason": place.reason}
            for page in pages
            for place in page.scan.unread
        ],
        "advice": [sentence for page in pages for sentence in page.scan.advice],
        "ms": round(sum(page.scan.elapsed_ms for page in pages), 1),
    } | ({"error": problem} if problem else {})


def _is_part(page: "PhotoAnswer", pages: "list[PhotoAnswer]") -> bool:
    """Say whether the file holds more than this page: of a clip more was seen than is told."""
    return page.is_frame or len(pages) > 1


def _code_record(one: "Answer") -> dict[str, object]:
    reading, says = one.reading, one.reading.identification
    return {
        "symbology": reading.symbology_identifier,
        "text": reading.text,
        "hri": reading.human_readable,
        "elements": [[element.ai, element.value] for element in says.elements] if says else [],
        "position": [list(corner) for corner in reading.corners],
        "record": _record(one.known) if one.known else None,
        "verdict": one.verdict.value if one.verdict else None,
        "reasons": [reason.sentence for reason in one.reasons],
        "how": reading.how,
    }


def _record(known: "KnownThing") -> dict[str, object]:
    label = next((one for one in reversed(known.labels) if one.voided_by is None), known.labels[-1])
    return {
        "serial": known.serial,
        "kind": "tube" if known.tube else "pouch",
        "products": list(dict.fromkeys(bottle.product.name for bottle in known.bottles)),
        "item": label.item_number,
        "lot": label.lot,
        "use_by": label.use_by,
        "prepared": label.prepared,
        "preparations": [one.number for one in known.contents],
        "bottles": [bottle.serial for bottle in known.bottles],
        "pouch": known.pouch.serial if known.pouch else None,
        "tubes": list(known.pouch.tubes) if known.pouch and known.tube is None else None,
        "use_by_today": known.use_by_today,
        "print_run": label.run,
        "voided_by": label.voided_by,
    }


def _show(photo: str, pages: "list[PhotoAnswer]") -> None:
    for page in pages:
        click.echo(f"{photo}, {'frame' if page.is_frame else 'page'} {page.page}" if _is_part(page, pages) else photo)
        for one in page.answers:
            _show_code(one)
        for place in page.scan.unread:
            click.echo(f"  a label is here, unread: {place.reason}")
        if not page.answers:
            click.echo("  STOP: nothing was read")
        for sentence in page.scan.advice:
            click.echo(f"  advice: {sentence}")


def _show_code(one: "Answer") -> None:
    shown = one.reading.human_readable or one.reading.text.encode("unicode_escape").decode()
    click.echo(f"  {(one.verdict.value.upper() + '  ') if one.verdict else ''}{shown}")
    if one.known:
        for line in _record_lines(one.known):
            click.echo(f"    {line}")
    for reason in one.reasons:
        click.echo(f"    - {reason.sentence}")


def _record_lines(known: "KnownThing") -> Iterator[str]:
    record = _record(known)
    products = ", ".join(dict.fromkeys(bottle.product.name for bottle in known.bottles))
    named = f"{known.serial}, {products}" if products else known.serial
    yield f"record: {record['kind']} {named}, print run {record['print_run']}"
    dated = {"batch": record["lot"], "prepared": record["prepared"], "use by": record["use_by"]}
    said = ", ".join(f"{name} {value}" for name, value in dated.items() if value)
    yield f"  printed: {said}; as known today it may be used until {record['use_by_today'] or 'no date'}"
    come = [f"preparation {one.number}" for one in known.contents]
    come += [f"bottle {bottle.serial}" for bottle in known.bottles]
    if known.pouch and known.tube:
        come.append(f"pouch {known.pouch.serial}")
    elif known.pouch and known.pouch.tubes:
        come.append(f"holds tubes {', '.join(known.pouch.tubes)}")
    if come:
        yield f"  {', '.join(come)}"
