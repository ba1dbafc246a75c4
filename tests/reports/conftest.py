"""What the tests of pages share: what must hold of every page."""

import sys
from pathlib import Path

import pytest

from tracelabels.reports.marks import Box, Page

sys.path.insert(0, str(Path(__file__).parent))  # the cycles and loads that the tests of this folder share


def faults_of(page: Page) -> list[str]:
    """Name texts that overlap, and whatever leaves the page; empty if a page is sound."""
    whole = Box(left=0.0, top=0.0, right=page.width, bottom=page.height)
    texts = sorted(((one.box, one.text) for one in page.words if one.text.strip()), key=lambda pair: pair[0].top)
    faults = [f"leaves the page: {text!r}" for box, text in texts if not whole.holds(box)]
    for place, (box, text) in enumerate(texts):
        for other, beside in texts[place + 1 :]:
            if other.top >= box.bottom:
                break
            if box.overlaps(other):
                faults.append(f"overlap: {text!r} and {beside!r}")
    for mark in page.marks:
        clip = getattr(mark, "clip", None)
        points = getattr(mark, "points", ()) if clip is None else clip.corners
        faults += [f"leaves the page: {point}" for point in points if not _is_on(page, point)]
    return faults


def _is_on(page: Page, point: tuple[float, float]) -> bool:
    return 0 <= point[0] <= page.width and 0 <= point[1] <= page.height


@pytest.fixture
def faults():
    return faults_of
