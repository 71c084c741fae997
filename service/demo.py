"""`python -m service demo`: the invented clinic on the embedded database, ready to be tried."""

import sys
from datetime import date
from pathlib import Path
from secrets import token_urlsafe

from sqlalchemy import Engine, inspect
from sqlalchemy.engine import make_url
from sqlmodel import SQLModel

from demo_data.build import SHOWN, DemoTokens, build
from demo_data.clinic import PASSWORD, TIME_ZONE, sign_in_name
from service.actions.feed import feed_addresses
from service.clock import Clock, SystemClock, local_today
from service.db import open_engine, reading
from service.facts import Role
from service.migrate import migrate
from service.settings import ROOT, Settings
from service.store import people


class NotADemoDatabaseError(Exception):
    """The database holds a real clinic; the demo never touches it."""


def prepare(settings: Settings, today: date | None, keep: bool, folder: Path = ROOT / ".demo") -> tuple[Engine, Clock, DemoTokens]:
    """An engine on a database with the demo in it: built anew unless `keep` and one is there. `folder` holds its key."""
    clock = SystemClock.on(today) if today else SystemClock()
    secret = folder / "secret"
    if not (keep and secret.exists()):
        secret.parent.mkdir(exist_ok=True)
        secret.write_text(token_urlsafe(32))
    tokens = DemoTokens(secret.read_text())
    engine = open_engine(settings.database_url)
    if inspect(engine).has_table("clinic"):
        _refuse_real_clinics(engine)
        if not keep:
            _empty(engine)
    migrate(engine)
    with reading(engine) as session:
        built = people.any_clinic(session)
    if not built:
        now = clock.now()
        build(engine, local_today(now, TIME_ZONE), now, tokens, lambda name: print(f"building: {name}", file=sys.stderr, flush=True))
    return engine, clock, tokens


def _refuse_real_clinics(engine: Engine) -> None:
    with reading(engine) as session:
        real = not people.holds_only_demo_data(session)
    if real:
        engine.dispose()
        raise NotADemoDatabaseError("DATABASE_URL points to a database that holds a real clinic; the demo leaves it alone")


def _empty(engine: Engine) -> None:
    url = make_url(engine.url)
    if url.get_backend_name() == "sqlite" and url.database:
        engine.dispose()
        for suffix in ("", "-wal", "-shm"):
            Path(url.database + suffix).unlink(missing_ok=True)
        return
    with engine.begin() as connection:
        SQLModel.metadata.drop_all(connection)
        connection.exec_driver_sql("DROP TABLE IF EXISTS alembic_version")


def print_addresses(settings: Settings, tokens: DemoTokens) -> None:
    """Lines a script can read."""
    feed_token, page_token = tokens.link(SHOWN)
    print(f"address: {settings.public_url}")
    for role in Role:
        print(f"sign-in: {role} {sign_in_name(role)} {PASSWORD}")
    print(f"api-token: {tokens.api()}")
    print(f"feed: {feed_addresses(settings, feed_token)[0]}")
    print(f"caregiver: {settings.public_url}/family/{page_token}")
    print(f"outbox: {settings.public_url}/outbox", flush=True)
