"""Engine and transactions: one request or job is one transaction, committed before the answer leaves."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlmodel import Session

POOL_SIZE = 40  # at least the number of request threads, so that none waits for a connection


def open_engine(database_url: str) -> Engine:
    """An engine for SQLite (default) or PostgreSQL (`postgresql://` means psycopg 3)."""
    url = make_url(database_url)
    if url.get_backend_name() == "postgresql":
        return create_engine(url.set(drivername="postgresql+psycopg"), pool_size=POOL_SIZE, pool_pre_ping=True, hide_parameters=True)
    if url.database and url.database != ":memory:":
        Path(url.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(url, pool_size=POOL_SIZE, connect_args={"check_same_thread": False, "timeout": 15}, hide_parameters=True)
    event.listen(engine, "connect", _prepare_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: Any, _: object) -> None:
    connection.isolation_level = None  # the driver's own implicit BEGIN would make savepoints and IMMEDIATE unreliable
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "busy_timeout=15000"):
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Any) -> None:
    # A writer takes the lock at once: upgrading a read transaction later can fail with SQLITE_BUSY and lose what was entered.
    connection.exec_driver_sql("BEGIN IMMEDIATE" if connection.get_execution_options().get("writes") else "BEGIN")


@contextmanager
def reading(engine: Engine) -> Iterator[Session]:
    """A session whose changes are never kept."""
    with Session(engine) as session:
        yield session


@contextmanager
def writing(engine: Engine) -> Iterator[Session]:
    """A session that commits when the block ends and rolls back when it raises."""
    with Session(engine.execution_options(writes=True), expire_on_commit=False) as session, session.begin():
        yield session
