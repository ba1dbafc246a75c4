"""``tracelabels scan``: what a photograph of labels says, and what the ledger knows of them."""

import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from tracelabels.cli.answers import FINDING, WRONG_INPUT, answer, say
from tracelabels.cli.chair_options import opening_from
from tracelabels.cli.options import Asked, practice_options
from tracelabels.errors import PictureError

if TYPE_CHECKING:
    from collections.abc import Callable

    from tracelabels.workflows.chair_record import KnownThing
    from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer

    Asking = Callable[[Path | bytes, str], Iterator[PhotoAnswer]]

_LONGEST_INPUT = 256_000_000


@click.command()
@click.argument("photos", metavar="PHOTO...", nargs=-1, required=True)
@click.option("--no-record", is_flag=True, help="Read any code, ask no ledger, give no verdict.")
@click.option("--client", metavar="CODE", help="The client's code.")
@click.option("--opened", metavar="ANSWERS", help="What was seen at opening: indicator=ok,dry=yes,whole=yes (or no).")
@click.option(
    "--marked",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Leave a PNG of the last photograph with what was read.",
)
@practice_options
def scan(
    asked: Asked, photos: tuple[str, ...], no_record: bool, client: str | None, opened: str | None, marked: Path | None
) -> int:
    """Read photographs of labels: JPEG, PNG, WebP, TIFF, GIF, BMP, HEIC, a PDF, a clip, or '-' for standard input.

    For each label it says what the code says, what the ledger knows of it, and STOP with every reason, or that the
    answer is preliminary until client and opening are checked. It never says that anything is sterile. Of a clip (MP4,
    MOV, MKV, WebM, AVI) the sharpest frames are read.
    Exit 0: read, nothing speaks against it so far. 1: stop, or nothing read. 2: a file is no picture.
    """
    from tracelabels.workflows.check_at_chair import check_photograph, read_photograph

    if no_record:
        when = asked.day()
        return _scan_all(
            photos, lambda source, name: read_photograph(source, name=name, today=when), marked, asked.as_json
        )
    opening = opening_from(opened)
    with asked.opened() as here:

        def ask(source: Path | bytes, name: str) -> "Iterator[PhotoAnswer]":
            return check_photograph(here, source, name=name, client=client, opening=opening)

        return _scan_all(photos, ask, marked, asked.as_json)


def _scan_all(photos: tuple[str, ...], ask: "Asking", marked: Path | None, as_json: bool) -> int:
    code = 0
    for photo in photos:
        source = _source(photo) if marked is not None else Path(photo)
        pages: list[PhotoAnswer] = []
        problem = _ask_page_by_page(ask(source, "standard input" if photo == "-" else photo), pages)
        if problem:
            code = WRONG_INPUT
            say(f"{photo}: {problem}")
        elif code == 0 and _must_stop(pages):
            code = FINDING
        if as_json:
            answer(_as_record(photo, pages, problem))
        else:
            _show(photo, pages)
        if marked is not None and pages:
            _mark(source, pages[0], marked)
    return code


def _ask_page_by_page(asked: "Iterator[PhotoAnswer]", pages: "list[PhotoAnswer]") -> str | None:
    """Take the pages as they come, keeping the picture of the first only; return what stopped them, if anything did."""
    try:
        for page in asked:
            pages.append(replace(page, picture=None) if pages else page)
    except PictureError as problem:
        return str(problem)
    return None


def _must_stop(pages: "list[PhotoAnswer]") -> bool:
    """A code says stop, or there is none in any page."""
    return any(page.answers and page.stops for page in pages) or not any(page.answers for page in pages)


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
