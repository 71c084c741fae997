"""A PostgreSQL cluster of the tests' own: started once a process, reached through a socket in its folder, gone afterwards."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg

FAST = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c listen_addresses=''"


def find_binaries() -> Path | None:
    """The folder of the newest server installed as Debian lays it out, else of the `initdb` on the PATH."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    on_path = shutil.which("initdb")
    return found[-1].parent if found else Path(on_path).resolve().parent if on_path else None


@contextmanager
def running_cluster(binaries: Path) -> Iterator[str]:
    """Yields the folder of the socket, which is the host that psycopg wants."""
    # Not in pytest's tmp_path: the server refuses to run as root, and another user cannot enter root's folders.
    folder = tempfile.mkdtemp(prefix="pg-")  # the name of a socket must be short
    user: dict[str, Any] = {}
    if os.geteuid() == 0:
        who = pwd.getpwnam("postgres")
        user = {"user": who.pw_uid, "group": who.pw_gid, "extra_groups": []}
        os.chown(folder, who.pw_uid, who.pw_gid)

    def run(program: str, *arguments: str) -> None:
        # Output goes to a file: a pipe would stay open in the server and never end.
        with Path(folder, "log").open("a+") as log:
            if subprocess.run([binaries / program, "-D", f"{folder}/data", *arguments], cwd=folder, stdout=log, stderr=log, check=False, **user).returncode:
                log.seek(0)
                raise RuntimeError(f"{program} failed:\n{log.read()}")

    try:
        run("initdb", "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync")
        run("pg_ctl", "start", "-w", "-o", f"-k {folder} {FAST}")
        try:
            yield folder
        finally:
            run("pg_ctl", "stop", "-m", "immediate")
    finally:
        shutil.rmtree(folder)


@contextmanager
def new_database(host: str, name: str, template: str = "template0") -> Iterator[str]:
    """Yields the SQLAlchemy address of a database copied from `template`, and drops it."""
    with psycopg.connect(host=host, user="postgres", dbname="postgres", autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        yield f"postgresql+psycopg://postgres@/{name}?host={host}"
        connection.execute(f"DROP DATABASE {name} WITH (FORCE)")
