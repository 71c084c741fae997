"""Alembic's entry: the connection comes from `service.migrate`."""

from alembic import context
from sqlmodel import SQLModel

from service.store import records

assert records  # the tables must be known before their metadata is read

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=SQLModel.metadata, render_as_batch=True, compare_type=True)
with context.begin_transaction():
    context.run_migrations()
