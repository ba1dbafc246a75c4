"""The picture of a chain: what stands where, that every line meets its boxes, that many siblings are one box."""

import xml.etree.ElementTree as ET
from itertools import pairwise

import bad_batch as story
import pytest

from tracelabels.custody import Direction, Kind, Link, Name
from tracelabels.errors import InputError
from tracelabels.paper import page_count
from tracelabels.workflows.chain_drawing import chain_pdf, chain_svg
from tracelabels.workflows.chain_graph import ChainEdge, ChainGraph, ChainNode
from tracelabels.workflows.chain_groups import group_chain
from tracelabels.workflows.chain_picture import BOX, course, lay_out
from tracelabels.workflows.leave_picture import leave_picture, picture_of
from tracelabels.workflows.trace import trace

ROOT = Name(Kind.PREPARATION, "P01-0002")


@pytest.fixture
def told(opened):
    practice = opened()
    with practice.write(by="bench") as unit:
        story.tell(unit)
    return practice


def many(tubes: int) -> ChainGraph:
    names = [Name(Kind.TUBE, f"{number:09d}") for number in range(tubes)]
    nodes = {ROOT: ChainNode(name=ROOT, depth=0)}
    nodes |= {one: ChainNode(name=one, depth=1, fate="used" if one.text < "000000004" else "in stock") for one in names}
    edges = tuple(ChainEdge(cause=ROOT, link=Link.PREPARATION_TUBE, effect=one) for one in names)
    return ChainGraph(direction=Direction.FORWARD, roots=(ROOT,), nodes=nodes, edges=edges)


def _titles(graph):
    return sorted({group.title for group in group_chain(graph).values()})


def test_many_equal_siblings_are_one_box():
    assert _titles(many(42)) == ["38 tubes", "4 tubes", "preparation P01-0002"]


def test_few_things_are_shown_one_by_one():
    assert len(_titles(many(20))) == 21


def test_columns_go_from_the_maker_to_the_client_and_no_box_overlaps(told):
    picture = picture_of(trace(told, "lot:5501"))
    columns = {}
    for box in picture.boxes:
        columns.setdefault(box.left, []).append(box)
    kinds = [{box.group.kind for box in columns[left]} for left in sorted(columns)]
    assert kinds == [
        {Kind.PRODUCT}, {Kind.BOTTLE}, {Kind.PREPARATION}, {Kind.TUBE}, {Kind.POUCH}, {Kind.USE}, {Kind.INCIDENT},
        {Kind.CLIENT},
    ]  # fmt: skip
    for column in columns.values():
        tops = sorted(box.top for box in column)
        assert all(lower - upper >= BOX[1] for upper, lower in pairwise(tops))
    assert all(0 < box.left < picture.width - BOX[0] and box.top + BOX[1] < picture.height for box in picture.boxes)


def test_no_line_runs_through_a_box(told):
    picture = picture_of(trace(told, "lot:5501"))
    assert len(picture.lines) > 20
    for line in picture.lines:
        for x, y in course(line):
            inside = [
                box.group.title
                for box in picture.boxes
                if box.left + 0.01 < x < box.left + BOX[0] - 0.01 and box.top < y < box.top + BOX[1]
            ]
            assert inside == []


def test_both_files_hold_every_name(told, tmp_path):
    found = trace(told, "lot:5501")
    text = chain_svg(picture_of(found))
    words = "".join(ET.fromstring(text).itertext())  # noqa: S314  our own text
    assert all(name.text in words for name in found.forward.nodes)
    assert page_count(chain_pdf(lay_out("x", (found.forward,)))) == 1
    for name in ("chain.svg", "chain.pdf"):
        leave_picture(found, tmp_path / name)
        leave_picture(found, tmp_path / name)  # an old one is replaced
    with pytest.raises(InputError, match=r"\.svg or \.pdf"):
        leave_picture(found, tmp_path / "chain.png")
