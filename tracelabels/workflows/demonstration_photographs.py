"""The demonstration's photographs: taken by the simulated camera from the printed files, then read like any other.

Each scene is set up so that something else has to be said about it; what is said comes from the reader, the ledger
and the gate. The pictures say on themselves that they are simulated.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tracelabels.custody import OpeningCheck
from tracelabels.errors import LabelError
from tracelabels.identifiers import format_serial
from tracelabels.labels import LabelContent, Sheet
from tracelabels.legibility.camera import Camera, Piece, photograph, save_photograph
from tracelabels.lengths import MM_PER_INCH
from tracelabels.paper import rasterise_page
from tracelabels.symbols import TubeAxis
from tracelabels.workflows.check_at_chair import Answer, PhotoAnswer, check_photograph
from tracelabels.workflows.demonstration_step import Step
from tracelabels.workflows.label_contents import ContentWriter
from tracelabels.workflows.mark_photograph import write_marked
from tracelabels.workflows.practice import Practice
from tracelabels.workflows.print_labels import prove_labels
from tracelabels.workflows.print_run import PrintDone
from tracelabels.workflows.templates import label_job, require_sheet

FILE_DPI: Final = 600
"""Resolution at which the printed files are turned into prints for the camera."""
_PX_PER_MM: Final = FILE_DPI / MM_PER_INCH
_SEED: Final = 20261125
_TUBE: Final = 10.8
TUBE_LAYOUT: Final = "tube-1.5-side"
TUBE_SHEET: Final = "a4-5x13-38.1x21.2"
POUCH_SHEET: Final = "a4-3x8-63.5x33.9"
PHOTOGRAPHS: Final = "photographs"
"""Where the demonstration leaves its pictures, apart from what is kept as evidence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """One photograph to take."""

    name: str
    """Name of its file, without ending."""
    heading: str
    """What is in it."""
    pieces: tuple[Piece, ...]
    """What lies on the bench."""
    camera: Camera
    """How it is taken."""


def photograph_all(practice: Practice, runs: dict[str, PrintDone]) -> Iterator[Step]:
    """Take each scene, read it, mark what was said on it, and yield a step."""
    for number, scene in enumerate(_scenes(practice, runs), 1):
        yield _photographed(practice, replace(scene, name=f"{number}-{scene.name}"), seed=_SEED + number)


def photograph_pouch(
    practice: Practice,
    run: PrintDone,
    slot: int,
    *,
    name: str,
    heading: str,
    client: str | None,
    opening: OpeningCheck | None,
) -> Step:
    """Take a photograph of one pouch's label, read it, and yield what the gate says.

    Args:
        practice: whose.
        run: the run of pouch labels, on its usual sheet.
        slot: which of the labels, counted from 0.
        name: of the picture's file, without ending.
        heading: what is in it.
        client: code of the client; None before one is entered.
        opening: what was seen at opening; None before it is answered.
    """
    label = _label(_sheet_raster(run.file), require_sheet(POUCH_SHEET, None), slot)
    lying = Piece(print=label, px_per_mm=_PX_PER_MM, turn=-4.0)
    scene = _close(name, heading, lying, tilt=9.0, px_per_mm=15.0)
    return _photographed(practice, scene, seed=_SEED + slot, client=client, opening=opening)


def _photographed(
    practice: Practice, scene: Scene, *, seed: int, client: str | None = None, opening: OpeningCheck | None = None
) -> Step:
    folder = practice.folder / PHOTOGRAPHS
    folder.mkdir(exist_ok=True)
    photo = photograph(scene.pieces, camera=scene.camera, rng=np.random.default_rng(seed))
    file, marked = folder / f"{scene.name}.jpg", folder / f"{scene.name}-read.png"
    save_photograph(file, photo, note=scene.heading)
    pages = list(check_photograph(practice, file, client=client, opening=opening))
    write_marked(file, pages[0], marked, caption=scene.heading)
    return Step(heading=f"Photographed (simulated): {scene.heading}", outcome=_told(pages[0]), files=(file, marked))


def _told(page: PhotoAnswer) -> tuple[str, ...]:
    """Return what is said about a photograph, line by line."""
    lines = [line for answer in _each_once(page.answers) for line in _lines(answer)]
    lines += [f"unread: {place.reason}" for place in page.scan.unread]
    if not page.answers:
        lines.append("STOP: nothing was read")
    return (*lines, *(f"advice: {sentence}" for sentence in page.scan.advice if not page.answers))


def _each_once(answers: Sequence[Answer]) -> Iterator[Answer]:
    """Many labels with the same reasons are told once."""
    seen: set[tuple[str, ...]] = set()
    for answer in answers:
        kinds = tuple(reason.kind.value for reason in answer.reasons)
        if kinds not in seen or len(answers) < 4:  # noqa: PLR2004  a few are told one by one
            seen.add(kinds)
            yield answer


def _lines(answer: Answer) -> Iterator[str]:
    code = answer.reading.human_readable or answer.reading.text
    yield f"{answer.verdict.value.upper() if answer.verdict else 'READ'}: {code}"
    for reason in answer.reasons:
        yield f"  - {reason.sentence}"


def _scenes(practice: Practice, runs: dict[str, PrintDone]) -> Iterator[Scene]:
    tubes, sheet = _sheet_raster(runs["tubes"].file), require_sheet(TUBE_SHEET, None)
    good, first = _label(tubes, sheet, 7), _label(tubes, sheet, 0)
    again = _label(_sheet_raster(runs["reprint"].file), sheet, 0)
    held = (_tube(good, turn=8.0, off_axis=6.0),)
    yield _close("tube", "a tube with its label, held at an angle", *held, tilt=14.0)
    yield Scene(
        name="pouches",
        heading="a tray with twelve pouch labels",
        pieces=tuple(_tray(_sheet_raster(runs["pouches"].file))),
        camera=Camera(px_per_mm=12.0, width=2900, height=2100, distance=420.0, tilt=12.0, swing=-5.0, defocus=0.9),
    )
    yield _close(
        "voided-and-reprinted",
        "a tube whose label was voided, beside its reprint with the earlier use-by",
        _tube(first, x=-14.0, turn=4.0),
        _tube(again, x=14.0, turn=-3.0),
    )
    yield _close(
        "mixed-up",
        "a label with a recorded serial, and another batch and use-by than its prints recorded",
        _tube(_mixed_up(practice, runs["tubes"]), turn=-6.0),
    )
    yield _close(
        "stranger", "a label with a serial that was never recorded", _tube(_stranger(practice, runs["tubes"]), turn=3.0)
    )
    far = Camera(px_per_mm=4.0, width=800, height=600, distance=900.0, defocus=1.1, noise=5.0)
    yield Scene(name="too-far", heading="the tube again, from too far away", pieces=held, camera=far)


def _close(name: str, heading: str, *pieces: Piece, tilt: float = 0.0, px_per_mm: float = 26.0) -> Scene:
    camera = Camera(px_per_mm=px_per_mm, width=1400, height=1050, distance=160.0, defocus=1.6, noise=4.0, tilt=tilt)
    return Scene(name=name, heading=heading, pieces=pieces, camera=camera)


def _sheet_raster(file: Path) -> NDArray[np.uint8]:
    return rasterise_page(file.read_bytes(), index=0, dpi=FILE_DPI)


def _label(page: NDArray[np.uint8], sheet: Sheet, slot: int) -> NDArray[np.uint8]:
    """Cut one label out of a rasterised page."""
    left, top = sheet.corner(slot)
    rows, columns = slice(_px(top), _px(top + sheet.label_height)), slice(_px(left), _px(left + sheet.label_width))
    return page[rows, columns]


def _px(millimetres: float) -> int:
    return round(millimetres * _PX_PER_MM)


def _tube(label: NDArray[np.uint8], *, x: float = 0.0, turn: float = 0.0, off_axis: float = 0.0) -> Piece:
    return Piece(
        print=label,
        px_per_mm=_PX_PER_MM,
        x=x,
        turn=turn,
        tube_diameter=_TUBE,
        tube_axis=TubeAxis.HEIGHT,
        off_axis=off_axis,
    )


def _tray(page: NDArray[np.uint8]) -> Iterator[Piece]:
    sheet = require_sheet(POUCH_SHEET, None)
    places = np.random.default_rng(_SEED)
    for slot in range(12):
        across, down = slot % 3 - 1, slot // 3 - 1.5
        lean = float(places.uniform(-9.0, 9.0))
        yield Piece(print=_label(page, sheet, slot), px_per_mm=_PX_PER_MM, x=across * 72.0, y=down * 42.0, turn=lean)


def _changed(practice: Practice, run: PrintDone, serial: str | None) -> LabelContent:
    with practice.ledger.read() as ledger:
        known = next(iter(ledger.labels_of_run(run.run.number))).value.serial
        content = ContentWriter(practice, ledger).content_of(known)
    return replace(content, identity=replace(content.identity, serial=serial or known))


def _mixed_up(practice: Practice, run: PrintDone) -> NDArray[np.uint8]:
    content = _changed(practice, run, None)
    use_by: date = (content.identity.use_by or practice.today) + timedelta(days=90)
    return _loose_label(practice, replace(content, identity=replace(content.identity, lot="5510", use_by=use_by)))


def _stranger(practice: Practice, run: PrintDone) -> NDArray[np.uint8]:
    return _loose_label(practice, _changed(practice, run, format_serial(97, 4242)))


def _loose_label(practice: Practice, content: LabelContent) -> NDArray[np.uint8]:
    """Set one label that no print run records, as a forger or an old sheet would have it."""
    job = label_job(practice, layout=TUBE_LAYOUT, sheet=TUBE_SHEET)
    proved = prove_labels([content], job)
    if proved.labels != 1:
        raise LabelError(given=f"{proved.labels} labels", expected="1", remedy="try another layout")
    return _label(rasterise_page(proved.pdf, index=0, dpi=FILE_DPI), job.sheet, 0)
