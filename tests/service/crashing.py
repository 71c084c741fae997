"""A sender that kills itself with SIGKILL at a chosen point: after so many statements, commits and hand-overs. Forked from a server that has everything loaded.

Each hand-over is a line in a file, written before the call returns: what left the house is known whatever happens to whoever sent it.
"""

import os
import signal
import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlalchemy import event

from service.actions.delivery import Post, deliver_due
from service.db import open_engine, reading
from service.facts_of_messages import ChannelName, Contact
from service.messages.channel import Outgoing
from service.rendering import Renderer
from service.settings import Settings
from service.store import outbox

LEASE = timedelta(seconds=12)


@dataclass(frozen=True)
class RunningClock:
    """From `at` on, as time runs; all processes of a machine agree on it."""

    at: datetime
    began: float

    def now(self) -> datetime:
        return self.at + timedelta(seconds=int(time.monotonic() - self.began))


class _Dying:
    def __init__(self, after: int | None) -> None:
        self._left = after

    def step(self, *_: object) -> None:
        if self._left is not None:
            self._left -= 1
            if self._left <= 0:
                os.kill(os.getpid(), signal.SIGKILL)


@dataclass(frozen=True)
class _File:
    path: Path
    dying: _Dying
    name = ChannelName.EMAIL

    def reaches(self, contact: Contact) -> bool:
        return contact.reaches

    async def send(self, message: Outgoing) -> None:
        self.dying.step()
        with self.path.open("a") as lines:
            lines.write(f"{os.getpid()} {message.key} {message.to.address}\n")
        self.dying.step()


def work(settings: Settings, clock: RunningClock, handed: Path, dies_after: int | None) -> None:
    """Sends until nothing is left to send, or until it dies."""
    engine, dying = open_engine(settings.database_url), _Dying(dies_after)
    for name in ("before_cursor_execute", "after_cursor_execute", "commit"):
        event.listen(engine, name, dying.step)
    post = Post(engine, settings, clock, Renderer(settings), {ChannelName.EMAIL: _File(handed, dying)}, lambda: 0.5, LEASE)
    while True:
        deliver_due(post)
        with reading(engine) as session:
            if outbox.late_since(session, 1, clock.now() + timedelta(seconds=1)) is None:
                return
        time.sleep(0.1)  # what is left waits for the lease of somebody who died
