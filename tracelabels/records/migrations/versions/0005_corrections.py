"""Two small indexes of what corrects and what was corrected, so that a long recall need not fetch every fact.

Revision ID: 0005
Revises: 0004
"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

_CORRECTS = sa.text("version > 1")
_INDEXES = {
    "fact_correcting": (["site", "sequence"], True),
    "fact_corrected": (["thing_site", "thing_sequence", "version", "site", "sequence"], False),
}


def upgrade() -> None:
    for name, (columns, unique) in _INDEXES.items():
        op.create_index(name, "fact", columns, unique=unique, sqlite_where=_CORRECTS, postgresql_where=_CORRECTS)


def downgrade() -> None:
    for name in _INDEXES:
        op.drop_index(name, table_name="fact")
