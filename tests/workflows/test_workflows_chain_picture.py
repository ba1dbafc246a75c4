"""The picture of a chain: what stands where, that every line meets its boxes, that many siblings are one box."""

import xml.etree.ElementTree as ET
from dataclasses import replace
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

_SVG_TEXT = "{http://www.w3.org/2000/svg}text"
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
        stacked = sorted(column, key=lambda box: box.top)
        assert all(lower.top >= upper.top + upper.height for upper, lower in pairwise(stacked))
    assert all(0 < box.left < picture.width - BOX[0] for box in picture.boxes)
    assert all(box.top + box.height < picture.height for box in picture.boxes)


def test_no_line_runs_through_a_box(told):
    picture = picture_of(trace(told, "lot:5501"))
    assert len(picture.lines) > 20
    for line in picture.lines:
        for x, y in course(line):
            inside = [
                box.group.title
                for box in picture.boxes
                if box.left + 0.01 < x < box.left + BOX[0] - 0.01 and box.top < y < box.top + box.height
            ]
            assert inside == []


def test_both_files_hold_every_name(told, tmp_path):
    found = trace(told, "lot:5501")
    text = chain_svg(picture_of(found))
    words = "".join(ET.fromstring(text).itertext())  # noqa: S314  our own text
    assert all(name.text in words for name in found.forward.nodes)
    assert [one for one in ET.fromstring(text).iter(_SVG_TEXT) if "textLength" not in one.attrib] == []  # noqa: S314
    assert page_count(chain_pdf(lay_out("x", (found.forward,)))) == 1
    for name in ("chain.svg", "chain.pdf"):
        leave_picture(found, tmp_path / name)
        leave_picture(found, tmp_path / name)  # an old one is replaced
    with pytest.raises(InputError, match=r"\.svg or \.pdf"):
        leave_picture(found, tmp_path / "chain.png")


def test_a_name_without_a_space_is_broken_over_lines_and_not_cut():
    long = Name(Kind.CONSUMABLE, "pouch_material/" + "ABCDEFGH" * 12)
    graph = ChainGraph(
        direction=Direction.FORWARD, roots=(long,), nodes={long: ChainNode(name=long, depth=0)}, edges=()
    )
    (box,) = lay_out("x", [graph]).boxes
    assert "".join(one.text for one in box.words).replace("consumable", "") == long.text
    assert len(box.words) > 4
    assert all(one.left + one.width <= box.left + BOX[0] for one in box.words)
    assert box.words[-1].baseline < box.top + box.height


def test_what_differs_in_a_mark_never_stands_together():
    graph = many(42)
    held = Name(Kind.TUBE, "000000041")
    nodes = {**graph.nodes, held: ChainNode(name=held, depth=1, fate="in stock", marks=("kept back",))}
    assert _titles(replace(graph, nodes=nodes)) == ["37 tubes", "4 tubes", "preparation P01-0002", f"tube {held.text}"]
