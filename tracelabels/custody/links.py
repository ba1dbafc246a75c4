"""What hangs together with what, from cause to effect: the links of the chain from the product to the client."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from tracelabels.custody.names import Kind


class Direction(StrEnum):
    """Which way a link is walked."""

    FORWARD = "forward"
    """From cause to effect: towards the client."""
    BACKWARD = "backward"
    """From effect to cause: towards the maker."""


class Link(StrEnum):
    """One kind of link."""

    PRODUCT_BOTTLE = "product_bottle"
    BOTTLE_PREPARATION = "bottle_preparation"
    PREPARATION_TUBE = "preparation_tube"
    PREPARATION_FILLED = "preparation_filled"
    TUBE_POUCH = "tube_pouch"
    POUCH_TUBE = "pouch_tube"
    STERILISER_LOAD = "steriliser_load"
    TEST_LOAD = "test_load"
    LOAD_POUCH = "load_pouch"
    LOT_TUBE = "lot_tube"
    LOT_POUCH = "lot_pouch"
    LOT_INDICATED_POUCH = "lot_indicated_pouch"
    LOT_INDICATED_LOAD = "lot_indicated_load"
    LOT_TEST = "lot_test"
    LOT_RUN = "lot_run"
    RUN_TUBE = "run_tube"
    RUN_POUCH = "run_pouch"
    BOTTLE_USE = "bottle_use"
    TUBE_USE = "tube_use"
    POUCH_USE = "pouch_use"
    LOT_USE = "lot_use"
    USE_CLIENT = "use_client"
    BOTTLE_INCIDENT = "bottle_incident"
    TUBE_INCIDENT = "tube_incident"
    POUCH_INCIDENT = "pouch_incident"
    LOT_INCIDENT = "lot_incident"
    ITEM_INCIDENT = "item_incident"
    """Things of any other kind."""
    USE_INCIDENT = "use_incident"
    INCIDENT_USE = "incident_use"
    INCIDENT_CLIENT = "incident_client"
    USE_EVENT = "use_event"
    EVENT_CLIENT = "event_client"


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """What a link joins."""

    cause: Kind | None
    """Kind of the thing on the maker's side; None if it may be of several kinds."""
    effect: Kind
    """Kind of the thing on the client's side."""
    words: str
    """How it is read from the cause to the effect: the tube was *packed in* the pouch."""
    back: str
    """How it is read from the effect to the cause: the pouch *holds* the tube."""


JOINTS: Final[Mapping[Link, Joint]] = {
    Link.PRODUCT_BOTTLE: Joint(cause=Kind.PRODUCT, effect=Kind.BOTTLE, words="came in", back="of"),
    Link.BOTTLE_PREPARATION: Joint(cause=Kind.BOTTLE, effect=Kind.PREPARATION, words="went into", back="made from"),
    Link.PREPARATION_TUBE: Joint(cause=Kind.PREPARATION, effect=Kind.TUBE, words="made", back="from"),
    Link.PREPARATION_FILLED: Joint(
        cause=Kind.PREPARATION, effect=Kind.TUBE, words="filled at the chair into", back="filled at the chair from"
    ),
    Link.TUBE_POUCH: Joint(cause=Kind.TUBE, effect=Kind.POUCH, words="packed in", back="holds"),
    Link.POUCH_TUBE: Joint(cause=Kind.POUCH, effect=Kind.TUBE, words="holds", back="packed in"),
    Link.STERILISER_LOAD: Joint(cause=Kind.STERILISER, effect=Kind.LOAD, words="ran", back="run in"),
    Link.TEST_LOAD: Joint(cause=Kind.SPORE_TEST, effect=Kind.LOAD, words="rode along in", back="with"),
    Link.LOAD_POUCH: Joint(cause=Kind.LOAD, effect=Kind.POUCH, words="processed", back="processed in"),
    Link.LOT_TUBE: Joint(cause=Kind.CONSUMABLE, effect=Kind.TUBE, words="is the lot of", back="of lot"),
    Link.LOT_POUCH: Joint(cause=Kind.CONSUMABLE, effect=Kind.POUCH, words="is the material of", back="made of"),
    Link.LOT_INDICATED_POUCH: Joint(cause=Kind.CONSUMABLE, effect=Kind.POUCH, words="indicated", back="indicated by"),
    Link.LOT_INDICATED_LOAD: Joint(cause=Kind.CONSUMABLE, effect=Kind.LOAD, words="indicated", back="indicated by"),
    Link.LOT_TEST: Joint(cause=Kind.CONSUMABLE, effect=Kind.SPORE_TEST, words="is the lot of", back="of lot"),
    Link.LOT_RUN: Joint(
        cause=Kind.CONSUMABLE, effect=Kind.PRINT_RUN, words="is the label stock of", back="on label stock"
    ),
    Link.RUN_TUBE: Joint(cause=Kind.PRINT_RUN, effect=Kind.TUBE, words="labelled", back="labelled in"),
    Link.RUN_POUCH: Joint(cause=Kind.PRINT_RUN, effect=Kind.POUCH, words="labelled", back="labelled in"),
    Link.BOTTLE_USE: Joint(cause=Kind.BOTTLE, effect=Kind.USE, words="used in", back="with"),
    Link.TUBE_USE: Joint(cause=Kind.TUBE, effect=Kind.USE, words="used in", back="with"),
    Link.POUCH_USE: Joint(cause=Kind.POUCH, effect=Kind.USE, words="used in", back="with"),
    Link.LOT_USE: Joint(cause=Kind.CONSUMABLE, effect=Kind.USE, words="used in", back="with"),
    Link.USE_CLIENT: Joint(cause=Kind.USE, effect=Kind.CLIENT, words="on", back="treated in"),
    Link.BOTTLE_INCIDENT: Joint(cause=Kind.BOTTLE, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.TUBE_INCIDENT: Joint(cause=Kind.TUBE, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.POUCH_INCIDENT: Joint(cause=Kind.POUCH, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.LOT_INCIDENT: Joint(cause=Kind.CONSUMABLE, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.ITEM_INCIDENT: Joint(cause=None, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.USE_INCIDENT: Joint(cause=Kind.USE, effect=Kind.INCIDENT, words="met in", back="about"),
    Link.INCIDENT_USE: Joint(cause=Kind.INCIDENT, effect=Kind.USE, words="is about", back="met in"),
    Link.INCIDENT_CLIENT: Joint(cause=Kind.INCIDENT, effect=Kind.CLIENT, words="touched", back="touched by"),
    Link.USE_EVENT: Joint(cause=Kind.USE, effect=Kind.ADVERSE_EVENT, words="linked with", back="linked with"),
    Link.EVENT_CLIENT: Joint(cause=Kind.ADVERSE_EVENT, effect=Kind.CLIENT, words="befell", back="befallen by"),
}
