"""A print run that was let through although its check failed: by whom, and why.

Revision ID: 0002
Revises: 0001

The columns may be empty, so that the digests of earlier runs stay true.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("print_run", sa.Column("override_by", sa.String(), nullable=True))
    op.add_column("print_run", sa.Column("override_reason", sa.String(), nullable=True))


def downgrade() -> None:
    op.drop_column("print_run", "override_reason")
    op.drop_column("print_run", "override_by")
