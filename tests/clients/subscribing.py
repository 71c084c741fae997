"""A subscriber over HTTP, and calendars for it to fetch."""

import os
import subprocess
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tests.clients.expected import CLIENTS

VDIRSYNCER = CLIENTS / "bin" / "vdirsyncer"
PAIR = """
[pair {name}]
a = "{name}_feed"
b = "{name}_local"
collections = null
conflict_resolution = "a wins"
[storage {name}_feed]
type = "http"
url = "{url}"
[storage {name}_local]
type = "filesystem"
path = "{folder}/{name}-calendar"
fileext = ".ics"
"""


@contextmanager
def served(bodies: Mapping[str, bytes]) -> Iterator[str]:
    """Each body at /its name/plan.ics, as it is at the time of the request."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            body = bodies[self.path.split("/")[1]]
            self.send_response(200)
            self.send_header("Content-Type", "text/calendar; charset=utf-8")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@dataclass(frozen=True)
class Subscriber:
    """vdirsyncer, subscribed to feeds by name."""

    folder: Path
    feeds: Mapping[str, str]

    def __post_init__(self) -> None:
        if not VDIRSYNCER.exists():
            pytest.skip("the calendar clients are not installed")
        pairs = "".join(PAIR.format(name=name, url=url, folder=self.folder) for name, url in self.feeds.items())
        (self.folder / "config").write_text(f'[general]\nstatus_path = "{self.folder}/status"\n{pairs}')
        for name in self.feeds:
            self.calendar(name).mkdir()
        self._run("discover")

    def calendar(self, name: str) -> Path:
        return self.folder / f"{name}-calendar"

    def sync(self) -> str:
        return self._run("-vinfo", "sync")

    def stored(self) -> dict[str, bytes]:
        return {f"{path.parent.name}/{path.name}": path.read_bytes() for name in self.feeds for path in self.calendar(name).glob("*.ics")}

    def _run(self, *arguments: str) -> str:
        environment = os.environ | {"VDIRSYNCER_CONFIG": str(self.folder / "config")}
        done = subprocess.run(
            [VDIRSYNCER, *arguments], env=environment, input="y\n" * len(self.feeds), capture_output=True, text=True, timeout=120, check=False
        )
        assert done.returncode == 0, done.stderr
        return done.stdout + done.stderr
