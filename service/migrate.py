"""The schema, brought up to date by Alembic; tests build theirs the same way."""

from pathlib import Path

from sqlalchemy import Engine, inspect

from service.db import writing
from service.store import people

MIGRATIONS = Path(__file__).parent / "migrations"


def migrate(engine: Engine) -> None:
    """To the newest revision; also gives the installation its name space, once."""
    from alembic import command  # imported here: it costs a tenth of a second that a web process does not need
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
    with writing(engine) as session:
        people.add_installation(session)


def is_current(engine: Engine) -> bool:
    """Whether the database stands at the newest revision."""
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS))
    head = ScriptDirectory.from_config(config).get_current_head()
    if not inspect(engine).has_table("alembic_version"):
        return False
    with engine.connect() as connection:
        return connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar() == head
