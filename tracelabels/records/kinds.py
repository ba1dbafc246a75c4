"""Every kind of value that is recorded by its shape, and every kind of thing that has a name."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, TypeVar, cast

from sqlalchemy import Table

from tracelabels.custody import (
    AdverseEvent,
    Client,
    Consumable,
    ConsumablePeriod,
    Destruction,
    Evidence,
    Fill,
    Hold,
    HoldLifted,
    Incident,
    IndicatorReading,
    Kind,
    LabelOutcome,
    Load,
    LoadEnd,
    LoadReadings,
    Move,
    PouchOpening,
    Recall,
    RecallAction,
    Release,
    SporeReading,
    SporeTest,
    Steriliser,
    SteriliserEvent,
    Unloaded,
    Use,
)
from tracelabels.records.facts import FactKind, StaffMember
from tracelabels.records.schema import bottle, pouch, preparation, print_run, product, staff, tube
from tracelabels.records.shapes import Shape

V = TypeVar("V")

_OF_CLIENT: Final = frozenset(
    {
        "care_level",
        "care_set_by",
        "name",
        "birth_date",
        "identity_check",
        "hospital_number",
        "surgeon",
        "allergies",
        "consent",
        "contact",
    }
)

SHAPES: Final[tuple[Shape[Any], ...]] = (
    Shape(value=Consumable, kind=FactKind.CONSUMABLE, thing=Kind.CONSUMABLE, named_by=("kind", "lot")),
    Shape(value=ConsumablePeriod, kind=FactKind.CONSUMABLE_PERIOD),
    Shape(value=Steriliser, kind=FactKind.STERILISER, thing=Kind.STERILISER, named_by=("code",)),
    Shape(value=SteriliserEvent, kind=FactKind.STERILISER_EVENT),
    Shape(value=Load, kind=FactKind.LOAD, thing=Kind.LOAD, named_by=("number",)),
    Shape(value=LoadEnd, kind=FactKind.LOAD_END),
    Shape(value=LoadReadings, kind=FactKind.LOAD_READINGS),
    Shape(value=Unloaded, kind=FactKind.UNLOADED),
    Shape(value=IndicatorReading, kind=FactKind.INDICATOR_READING),
    Shape(value=SporeTest, kind=FactKind.SPORE_TEST, thing=Kind.SPORE_TEST, named_by=("number",)),
    Shape(value=SporeReading, kind=FactKind.SPORE_READING),
    Shape(value=Release, kind=FactKind.LOAD_RELEASE),
    Shape(value=Hold, kind=FactKind.HOLD, thing=Kind.HOLD, named_by=("number",)),
    Shape(value=HoldLifted, kind=FactKind.HOLD_LIFTED),
    Shape(value=Client, kind=FactKind.CLIENT, thing=Kind.CLIENT, named_by=("code",), sealed=_OF_CLIENT, owner=""),
    Shape(value=PouchOpening, kind=FactKind.OPENING),
    Shape(value=Fill, kind=FactKind.FILL),
    Shape(
        value=Use,
        kind=FactKind.CLIENT_USE,
        thing=Kind.USE,
        named_by=("number",),
        sealed=frozenset({"procedure", "body_site", "side"}),
        owner="client",
    ),
    Shape(value=Destruction, kind=FactKind.DESTRUCTION),
    Shape(value=Move, kind=FactKind.MOVE),
    Shape(value=LabelOutcome, kind=FactKind.LABEL_OUTCOME),
    Shape(
        value=Incident,
        kind=FactKind.INCIDENT,
        thing=Kind.INCIDENT,
        named_by=("number",),
        sealed=frozenset({"account"}),
        owner="client",
    ),
    Shape(
        value=AdverseEvent,
        kind=FactKind.ADVERSE_EVENT,
        thing=Kind.ADVERSE_EVENT,
        named_by=("number",),
        sealed=frozenset({"what", "culture", "physician"}),
        owner="client",
    ),
    Shape(value=Recall, kind=FactKind.RECALL, thing=Kind.RECALL, named_by=("number",)),
    Shape(value=RecallAction, kind=FactKind.RECALL_ACTION),
    Shape(value=Evidence, kind=FactKind.EVIDENCE),
)

SHAPE_OF_KIND: Final[Mapping[FactKind, Shape[Any]]] = {shape.kind: shape for shape in SHAPES}
_BY_VALUE: Final = {shape.value: shape for shape in SHAPES}


@dataclass(frozen=True, slots=True, kw_only=True)
class Naming:
    """Where the names of one kind of thing stand."""

    kind: FactKind
    """The kind of fact that makes such a thing."""
    table: Table
    """Its table."""
    columns: tuple[str, ...]
    """The columns that name it; joined by a slash where there are several."""


NAMINGS: Final[Mapping[Kind, Naming]] = {
    Kind.PRODUCT: Naming(kind=FactKind.PRODUCT, table=product, columns=("maker", "item_number")),
    Kind.BOTTLE: Naming(kind=FactKind.BOTTLE, table=bottle, columns=("serial",)),
    Kind.PREPARATION: Naming(kind=FactKind.PREPARATION, table=preparation, columns=("number",)),
    Kind.TUBE: Naming(kind=FactKind.TUBE, table=tube, columns=("serial",)),
    Kind.POUCH: Naming(kind=FactKind.POUCH, table=pouch, columns=("serial",)),
    Kind.PRINT_RUN: Naming(kind=FactKind.PRINT_RUN, table=print_run, columns=("number",)),
    Kind.STAFF: Naming(kind=FactKind.STAFF, table=staff, columns=("code",)),
    **{
        shape.thing: Naming(kind=shape.kind, table=shape.table, columns=shape.named_by)
        for shape in SHAPES
        if shape.thing is not None
    },
}

KIND_OF: Final[Mapping[FactKind, Kind]] = {naming.kind: kind for kind, naming in NAMINGS.items()}


def shape_of(value: type[V]) -> Shape[V]:
    """Return the shape of a class of values."""
    return cast("Shape[V]", _BY_VALUE[value])


def is_shaped(value: object) -> bool:
    """Say whether a value is recorded by its shape."""
    return type(value) in _BY_VALUE


def personal_fields(value: object) -> frozenset[str]:
    """Return the fields of a value that are personal: those that are sealed."""
    if isinstance(value, StaffMember):
        return frozenset({"name", "initials"})
    return _BY_VALUE[type(value)].sealed if is_shaped(value) else frozenset()
