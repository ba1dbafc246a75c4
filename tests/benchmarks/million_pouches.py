"""A ledger of any size, written straight into the tables: lots, tubes, pouches, loads, uses, clients, corrections.

For questions only: digests and links are filled with zeros, so that the chain does not verify, and the triggers are
taken off while it is written. Everything is invented. Of every ten pouches with a tube nine were used; one tube of a
hundred was corrected to another preparation, and one use of two hundred was taken back, so that *standing* has work.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path
from random import Random

from tracelabels.identifiers import format_serial
from tracelabels.records.engine import sqlite_driver

NOTHING = bytes(32)
AT = "2026-01-05T08:00:00.000000Z"
POUCHES_IN_A_LOAD = 50
USES_OF_A_CLIENT = 20


@dataclass(kw_only=True)
class Built:
    """What was written, as plain lists: the brute force counts from these."""

    lots: int
    tubes_of_lot: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    """Pouches (which hold one tube each) by the lot that stands today; a mix stands under both of its lots."""
    lots_of_pouch: dict[int, list[int]] = field(default_factory=dict)
    client_of_pouch: dict[int, int] = field(default_factory=dict)
    """Only uses that stand."""
    pouches_of_load: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    pouches_of_client: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    serials: list[str] = field(default_factory=list)

    def clients_of_lot(self, lot: int) -> set[int]:
        return {self.client_of_pouch[one] for one in self.tubes_of_lot[lot] if one in self.client_of_pouch}

    def clients_of_load(self, load: int) -> set[int]:
        return {self.client_of_pouch[one] for one in self.pouches_of_load[load] if one in self.client_of_pouch}

    def lots_of_client(self, client: int) -> set[int]:
        return {lot for pouch in self.pouches_of_client[client] for lot in self.lots_of_pouch[pouch]}


class Writer:
    """Puts rows in batches, so that a million needs no memory of a million."""

    def __init__(self, path: Path) -> None:
        self.connection = sqlite_driver().connect(str(path), isolation_level=None)
        for setting in ("synchronous = OFF", "foreign_keys = OFF", "cache_size = -400000"):
            self.connection.execute(f"PRAGMA {setting}")
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        for (name,) in self.connection.execute(query).fetchall():
            self.connection.execute(f"DROP TRIGGER {name}")
        self.connection.execute("BEGIN")
        self.waiting: dict[str, list[tuple]] = defaultdict(list)
        self.sequence = count(1)

    def put(self, table: str, *values: object) -> None:
        rows = self.waiting[table]
        rows.append(values)
        if len(rows) >= 20_000:
            self.flush(table)

    def flush(self, table: str) -> None:
        rows = self.waiting.pop(table, [])
        if rows:
            names = COLUMNS[table]
            marks = ", ".join("?" * len(names.split()))
            self.connection.executemany(
                f"INSERT INTO {table} ({', '.join(names.split())}) VALUES ({marks})",  # noqa: S608  own names only
                rows,
            )

    def fact(self, kind: str, thing: int | None = None, version: int = 1) -> int:
        at = next(self.sequence)
        self.put("fact", 1, at, kind, 1, thing or at, version, AT, AT, "bench", NOTHING, NOTHING, NOTHING)
        return at

    def finish(self) -> None:
        for table in tuple(self.waiting):
            self.flush(table)
        self.connection.execute("COMMIT")
        self.connection.close()


COLUMNS = {
    "fact": "site sequence kind thing_site thing_sequence version recorded_at happened_at recorded_by rows_digest "
    "previous link",
    "product": "site sequence maker item_number name carrier",
    "bottle": "site sequence serial product_site product_sequence batch received_on",
    "preparation": "site sequence number prepared_on prepared_by variant tubes_made",
    "component": "site sequence position bottle_site bottle_sequence",
    "tube": "site sequence serial preparation_site preparation_sequence",
    "pouch": "site sequence serial kind material_lot sealed_by sealed_on",
    "pouch_content": "site sequence position tube_site tube_sequence",
    "steriliser": "site sequence code name serial_number",
    "load": "site sequence number steriliser_site steriliser_sequence cycle_kind programme temperature_c hold_minutes "
    "goods operator started_at counted",
    "load_pouches": "site sequence position item_site item_sequence",
    "client": "site sequence code",
    "client_use": "site sequence number client_site client_sequence practitioner at",
    "client_use_items": "site sequence position item_site item_sequence",
}


def build(path: Path, pouches: int, *, lots: int, seed: int = 7) -> Built:
    """Write so many pouches, each with one tube, into an empty ledger."""
    chance = Random(seed)  # noqa: S311  a history, no secret
    built, writer = Built(lots=lots), Writer(path)
    preparations = list(_lots(writer, lots, chance))
    tubes = _tubes(writer, built, preparations, pouches, chance)
    packed = _packed(writer, built, tubes)
    _loads(writer, built, packed)
    _uses(writer, built, packed, chance)
    writer.finish()
    return built


def _lots(writer: Writer, lots: int, chance: Random) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Give each preparation with its lots: one in ten is a mix of two."""
    product = writer.fact("product")
    writer.put("product", 1, product, "Saltmarsh Colour", "R-12", "Rosehip", "water_based")
    bottles = []
    for lot in range(lots):
        at = writer.fact("bottle")
        bottles.append(at)
        writer.put("bottle", 1, at, f"b{lot}", 1, product, f"LOT-{lot}", "2026-01-05")
    for lot in range(lots):
        mixed = (lot, chance.randrange(lots)) if chance.random() < 0.1 else (lot,)
        at = writer.fact("preparation")
        writer.put("preparation", 1, at, f"P01-{lot:06d}", "2026-01-05", "bench", "filled_before", 0)
        for place, one in enumerate(mixed):
            writer.put("component", 1, at, place, 1, bottles[one])
        yield at, tuple(dict.fromkeys(mixed))


def _tubes(writer: Writer, built: Built, preparations: list, pouches: int, chance: Random) -> list[int]:
    tubes = []
    for number in range(pouches):
        preparation, lots = preparations[chance.randrange(len(preparations))]
        at = writer.fact("tube")
        writer.put("tube", 1, at, f"t{number}", 1, preparation)
        tubes.append(at)
        if chance.random() < 0.01:
            preparation, lots = preparations[chance.randrange(len(preparations))]
            again = writer.fact("tube", at, 2)
            writer.put("tube", 1, again, f"t{number}", 1, preparation)
        built.lots_of_pouch[number] = list(lots)
        for lot in lots:
            built.tubes_of_lot[lot].append(number)
    return tubes


def _packed(writer: Writer, built: Built, tubes: list[int]) -> list[int]:
    packed = []
    for number, tube in enumerate(tubes):
        at = writer.fact("pouch")
        serial = format_serial(number // 1_000_000 + 1, number % 1_000_000) if number % 1_000_000 else f"p{number}"
        built.serials.append(serial)
        writer.put("pouch", 1, at, serial, "paper_film", "PF-1", "bench", "2026-01-05")
        writer.put("pouch_content", 1, at, 0, 1, tube)
        packed.append(at)
    return packed


def _loads(writer: Writer, built: Built, packed: list[int]) -> None:
    steriliser = writer.fact("steriliser")
    writer.put("steriliser", 1, steriliser, "S1", "one", "7")
    for number in range(-(-len(packed) // POUCHES_IN_A_LOAD)):
        at = writer.fact("load")
        held = range(number * POUCHES_IN_A_LOAD, min((number + 1) * POUCHES_IN_A_LOAD, len(packed)))
        process = ("air_removal", "wrapped 134", "134", "4", "wrapped", "bench")
        writer.put("load", 1, at, f"L01-{number:06d}", 1, steriliser, *process, AT, len(held))
        for place, pouch in enumerate(held):
            writer.put("load_pouches", 1, at, place, 1, packed[pouch])
        built.pouches_of_load[number] = list(held)


def _uses(writer: Writer, built: Built, packed: list[int], chance: Random) -> None:
    clients = []
    for number in range(max(1, len(packed) // USES_OF_A_CLIENT)):
        clients.append(writer.fact("client"))
        writer.put("client", 1, clients[-1], f"C-{number}")
    for pouch, thing in enumerate(packed):
        if chance.random() < 0.1:
            continue
        client = chance.randrange(len(clients))
        at = writer.fact("client_use")
        writer.put("client_use", 1, at, f"U01-{pouch:07d}", 1, clients[client], "bench", AT)
        writer.put("client_use_items", 1, at, 0, 1, thing)
        if chance.random() < 0.005:
            writer.fact("retraction", at, 2)
            continue
        built.client_of_pouch[pouch] = client
        built.pouches_of_client[client].append(pouch)
