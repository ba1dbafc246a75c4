"""What readings were judged by and how a log was read; what is known of lots, laboratories, probes and clocks.

Revision ID: 0004
Revises: 0003

The columns may be empty, so that the digests of earlier facts stay true.
"""

import sqlalchemy as sa
from alembic import op

from tracelabels.records.append_only import refusing

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

COLUMNS: dict[str, dict[str, type[sa.String | sa.Integer | sa.Boolean]]] = {
    "consumable": {
        "turned_picture": sa.String,
        "unturned_picture": sa.String,
        "type_number": sa.Integer,
        "population": sa.String,
        "d_value_minutes": sa.String,
    },
    "steriliser_event": {"error_k": sa.String, "offset_s": sa.String},
    "load": {"programme_file": sa.String},
    "load_readings": {"computed": sa.String, "probe_error_k": sa.String},
    "indicator_reading": {"compared": sa.String},
    "spore_test": {"laboratory": sa.String, "sent_at": sa.String},
    "spore_reading": {"control_grew": sa.Boolean},
}
PARTS = "load_readings_read_as"


def upgrade() -> None:
    for table, columns in COLUMNS.items():
        for name, kind in columns.items():
            op.add_column(table, sa.Column(name, kind(), nullable=True))
    key = ("site", "sequence", "position")
    op.create_table(
        PARTS,
        *(sa.Column(name, sa.Integer, nullable=False) for name in key),
        sa.Column("option", sa.String, nullable=False),
        sa.Column("value", sa.String, nullable=False),
        sa.PrimaryKeyConstraint(*key),
        sa.ForeignKeyConstraint(
            ["site", "sequence"], ["fact.site", "fact.sequence"], deferrable=True, initially="DEFERRED"
        ),
        sqlite_with_rowid=False,
    )
    for statement in refusing(op.get_bind().dialect.name, PARTS, key=list(key), unique=()):
        op.execute(sa.text(statement))


def downgrade() -> None:
    op.drop_table(PARTS)
    for table, columns in COLUMNS.items():
        for name in columns:
            op.drop_column(table, name)
