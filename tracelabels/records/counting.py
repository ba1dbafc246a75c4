"""How much a recall reaches, counted by the database in one statement, apart from the walk that lists it.

This is the second of the two counts that must agree. It shares no code and no rule with ``custody.closure`` or
``records.tracing``: the joins are written out here once more, as nested sets. Keep it so.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from sqlalchemy import text

from tracelabels.custody import Kind
from tracelabels.records.fact_reading import FactReading
from tracelabels.records.facts import FactId

_ROOTS: Final = (
    Kind.PRODUCT,
    Kind.BOTTLE,
    Kind.PREPARATION,
    Kind.TUBE,
    Kind.POUCH,
    Kind.STERILISER,
    Kind.LOAD,
    Kind.SPORE_TEST,
    Kind.CONSUMABLE,
    Kind.PRINT_RUN,
    Kind.USE,
    Kind.CLIENT,
    Kind.INCIDENT,
)

# live: the facts that stand. x_root: what was given. The rest follow the goods, set by set.
_STATEMENT: Final = """
WITH live AS NOT MATERIALIZED (
  SELECT f.site, f.sequence, f.thing_site AS s, f.thing_sequence AS q FROM fact f WHERE NOT EXISTS (
    SELECT 1 FROM fact l WHERE l.thing_site = f.thing_site AND l.thing_sequence = f.thing_sequence
    AND (l.version, l.site, l.sequence) > (f.version, f.site, f.sequence))),
{roots},
lots(s, q, kind, lot) AS (
  SELECT r.s, r.q, c.kind, c.lot FROM consumable_root r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN consumable c ON c.site = v.site AND c.sequence = v.sequence),
bottles(s, q) AS (
  SELECT s, q FROM bottle_root UNION
  SELECT v.s, v.q FROM product_root r JOIN bottle b ON b.product_site = r.s AND b.product_sequence = r.q
  JOIN live v ON v.site = b.site AND v.sequence = b.sequence),
preparations(s, q) AS (
  SELECT s, q FROM preparation_root UNION
  SELECT v.s, v.q FROM bottles r JOIN component c ON c.bottle_site = r.s AND c.bottle_sequence = r.q
  JOIN live v ON v.site = c.site AND v.sequence = c.sequence),
runs(s, q) AS (
  SELECT s, q FROM print_run_root UNION
  SELECT v.s, v.q FROM lots r JOIN print_run p ON p.stock_lot = r.lot AND r.kind = 'label_stock'
  JOIN live v ON v.site = p.site AND v.sequence = p.sequence),
serials(serial) AS (
  SELECT l.serial FROM runs r JOIN printed_label l ON l.run_site = r.s AND l.run_sequence = r.q
  JOIN live v ON v.site = l.site AND v.sequence = l.sequence),
bad_tubes(s, q) AS (
  SELECT s, q FROM tube_root UNION
  SELECT v.s, v.q FROM preparations r JOIN tube t ON t.preparation_site = r.s AND t.preparation_sequence = r.q
  JOIN live v ON v.site = t.site AND v.sequence = t.sequence UNION
  SELECT f.tube_site, f.tube_sequence FROM preparations r
  JOIN fill f ON f.preparation_site = r.s AND f.preparation_sequence = r.q
  JOIN live v ON v.site = f.site AND v.sequence = f.sequence UNION
  SELECT v.s, v.q FROM lots r JOIN tube t ON t.lot = r.lot AND r.kind = 'tubes'
  JOIN live v ON v.site = t.site AND v.sequence = t.sequence UNION
  SELECT v.s, v.q FROM serials r JOIN tube t ON t.serial = r.serial
  JOIN live v ON v.site = t.site AND v.sequence = t.sequence),
loads(s, q) AS (
  SELECT s, q FROM load_root UNION
  SELECT v.s, v.q FROM steriliser_root r JOIN load l ON l.steriliser_site = r.s AND l.steriliser_sequence = r.q
  JOIN live v ON v.site = l.site AND v.sequence = l.sequence UNION
  SELECT t.load_site, t.load_sequence FROM spore_test_root r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN spore_test t ON t.site = v.site AND t.sequence = v.sequence UNION
  SELECT t.load_site, t.load_sequence FROM lots r JOIN spore_test t ON t.lot = r.lot AND r.kind = 'spore_tests'
  JOIN live v ON v.site = t.site AND v.sequence = t.sequence UNION
  SELECT i.load_site, i.load_sequence FROM lots r
  JOIN indicator_reading i ON i.lot = r.lot AND r.kind = 'indicators'
  JOIN live v ON v.site = i.site AND v.sequence = i.sequence),
bad_pouches(s, q) AS (
  SELECT s, q FROM pouch_root UNION
  SELECT i.item_site, i.item_sequence FROM loads r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN load_pouches i ON i.site = v.site AND i.sequence = v.sequence UNION
  SELECT v.s, v.q FROM lots r JOIN pouch p ON p.material_lot = r.lot AND r.kind = 'pouch_material'
  JOIN live v ON v.site = p.site AND v.sequence = p.sequence UNION
  SELECT i.pouch_site, i.pouch_sequence FROM lots r
  JOIN indicator_reading i ON i.lot = r.lot AND r.kind = 'indicators' AND i.pouch_site IS NOT NULL
  JOIN live v ON v.site = i.site AND v.sequence = i.sequence UNION
  SELECT v.s, v.q FROM serials r JOIN pouch p ON p.serial = r.serial
  JOIN live v ON v.site = p.site AND v.sequence = p.sequence),
tubes(s, q) AS (
  SELECT s, q FROM bad_tubes UNION
  SELECT c.tube_site, c.tube_sequence FROM bad_pouches r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN pouch_content c ON c.site = v.site AND c.sequence = v.sequence AND c.tube_site IS NOT NULL),
pouches(s, q) AS (
  SELECT s, q FROM bad_pouches UNION
  SELECT v.s, v.q FROM tubes r JOIN pouch_content c ON c.tube_site = r.s AND c.tube_sequence = r.q
  JOIN live v ON v.site = c.site AND v.sequence = c.sequence),
items(s, q) AS (SELECT s, q FROM bottles UNION SELECT s, q FROM tubes UNION SELECT s, q FROM pouches),
used(s, q) AS (SELECT s, q FROM items UNION SELECT s, q FROM lots),
met(s, q) AS (
  SELECT s, q FROM used UNION SELECT s, q FROM preparations UNION SELECT s, q FROM loads UNION
  SELECT s, q FROM runs),
first_uses(s, q) AS (
  SELECT s, q FROM use_root UNION
  SELECT v.s, v.q FROM used r JOIN client_use_items i ON i.item_site = r.s AND i.item_sequence = r.q
  JOIN live v ON v.site = i.site AND v.sequence = i.sequence),
item_incidents(s, q) AS (
  SELECT s, q FROM incident_root UNION
  SELECT v.s, v.q FROM met r JOIN incident_items i ON i.item_site = r.s AND i.item_sequence = r.q
  JOIN live v ON v.site = i.site AND v.sequence = i.sequence),
uses(s, q) AS (
  SELECT s, q FROM first_uses UNION
  SELECT i.use_site, i.use_sequence FROM item_incidents r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN incident i ON i.site = v.site AND i.sequence = v.sequence AND i.use_site IS NOT NULL),
incidents(s, q) AS (
  SELECT s, q FROM item_incidents UNION
  SELECT v.s, v.q FROM uses r JOIN incident i ON i.use_site = r.s AND i.use_sequence = r.q
  JOIN live v ON v.site = i.site AND v.sequence = i.sequence),
clients(s, q) AS (
  SELECT s, q FROM client_root UNION
  SELECT u.client_site, u.client_sequence FROM uses r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN client_use u ON u.site = v.site AND u.sequence = v.sequence UNION
  SELECT i.client_site, i.client_sequence FROM incidents r JOIN live v ON v.s = r.s AND v.q = r.q
  JOIN incident i ON i.site = v.site AND i.sequence = v.sequence AND i.client_site IS NOT NULL)
SELECT (SELECT count(*) FROM bottles), (SELECT count(*) FROM tubes), (SELECT count(*) FROM pouches),
       (SELECT count(*) FROM clients), (SELECT count(*) FROM incidents)
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReachedCount:
    """How much is reached."""

    bottles: int
    """Bottles."""
    tubes: int
    """Tubes."""
    pouches: int
    """Pouches."""
    clients: int
    """Clients."""
    incidents: int
    """Incidents about any of it."""

    @property
    def items(self) -> int:
        """Return bottles, tubes and pouches together."""
        return self.bottles + self.tubes + self.pouches


class CountReading(FactReading):
    """Counts what causes reach."""

    def count_reached(self, roots: Mapping[FactId, Kind]) -> ReachedCount:
        """Count what some causes reach, towards the client, apart from the walk that lists it.

        Args:
            roots: the causes, each with its kind.
        """
        given = ", ".join(
            f"{kind.value}_root(s, q) AS ({_values([thing for thing, one in roots.items() if one is kind])})"
            for kind in _ROOTS
        )
        self._settle()
        row = self._connection.execute(text(_STATEMENT.format(roots=given))).one()
        return ReachedCount(bottles=row[0], tubes=row[1], pouches=row[2], clients=row[3], incidents=row[4])


def _values(things: list[FactId]) -> str:
    """Return a set of things as a query; they are whole numbers, so nothing has to be escaped."""
    if not things:
        return "SELECT 0, 0 WHERE 1 = 0"
    return "VALUES " + ", ".join(f"({int(one.site)}, {int(one.sequence)})" for one in things)
