"""Senders that are killed at any point: nothing is lost, and nothing is sent twice but what had been handed over and not yet marked."""

import multiprocessing
import random
import time
from collections import Counter
from datetime import timedelta
from multiprocessing.connection import wait
from pathlib import Path

import pytest
from sqlalchemy import Engine
from sqlmodel import select

from schedules.feed_style import FeedStyle
from service.actions import links, reminders
from service.db import reading, writing
from service.facts import Role
from service.facts_of_messages import ChannelName
from service.settings import Settings
from service.store import contacts
from service.store.records import OutboxRow
from tests.people import NOW, TODAY, TestClinic, register, schoolchild
from tests.postgres import find_binaries
from tests.service.crashing import RunningClock, work
from tests.service.signing import sign_two_hours

REMINDERS, LINKS, WORKERS, SEED = 2000, 20, 2, 20260310
STEPS_A_MESSAGE = 25  # statements and commits, counted before and after
DUE = NOW.replace(hour=8)


@pytest.mark.parametrize("database_url", ["postgresql" if find_binaries() else "sqlite"], indirect=True)
@pytest.mark.parametrize("kills", [20, pytest.param(300, marks=pytest.mark.long)])
def test_killed_senders_lose_nothing_and_repeat_only_what_was_not_marked(
    engine: Engine, clinic: TestClinic, settings: Settings, tmp_path: Path, kills: int, record_property
) -> None:
    give_addresses(engine, clinic)
    engine.dispose()
    handed = tmp_path / "handed"
    killed = run_and_kill(settings, handed, kills)
    lines = [tuple(line.split()) for line in handed.read_text().splitlines()]
    with reading(engine) as session:
        rows = session.exec(select(OutboxRow).where(OutboxRow.kind == "session", OutboxRow.due_at == DUE)).all()
    assert len(rows) == REMINDERS and {row.state for row in rows} == {"sent"}, "none is lost"
    assert len({address for _, _, address in lines}) == REMINDERS and len({key for _, key, _ in lines}) == REMINDERS, "and a repeated one is known by its key"
    last_of_killed = {pid: key for pid, key, _ in lines if int(pid) in killed}  # the later line of a process takes the place of the earlier
    again = {key for key, times in Counter(key for _, key, _ in lines).items() if times > 1}
    assert again <= set(last_of_killed.values()), "only what a kill cut off between handing over and marking"
    assert len(lines) - REMINDERS <= len(killed) == kills
    record_property("says", f"{len(lines) - REMINDERS} sent again after {kills} kills")


def give_addresses(engine: Engine, clinic: TestClinic) -> None:
    child = register(engine, clinic, schoolchild(), NOW - timedelta(days=20))
    sign_two_hours(engine, clinic, child, TODAY - timedelta(days=14), TODAY + timedelta(days=14))
    for n in range(LINKS):
        with writing(engine) as session:
            link = links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver=f"{n}", style=FeedStyle("time"), now=NOW - timedelta(days=1))
            for m in range(REMINDERS // LINKS):
                contacts.save(session, link.subscription, ChannelName.EMAIL, f"{n}.{m}@family.example", {}, NOW)
            reminders.plan(session, link.subscription, child, DUE - timedelta(hours=1))


def run_and_kill(settings: Settings, handed: Path, kills: int) -> set[int]:
    """The ids of the processes that were killed. The last workers live, and end when nothing is left."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["tests.service.crashing"])
    chance, clock = random.Random(SEED), RunningClock(DUE, time.monotonic())
    started, killed, running = 0, set(), []
    # Far enough apart that some reminders are left for the last ones to send.
    furthest = 2 * (REMINDERS // 2) * STEPS_A_MESSAGE // kills
    while started < kills or running:
        while started < kills + WORKERS and len(running) < WORKERS:
            dies_after = chance.randint(1, furthest) if started < kills else None
            process = context.Process(target=work, args=(settings, clock, handed, dies_after))
            process.start()
            running.append(process)
            started += 1
        wait([process.sentinel for process in running])
        for process in [p for p in running if not p.is_alive()]:
            process.join()
            running.remove(process)
            assert process.exitcode in (0, -9)
            if process.exitcode:
                assert process.pid
                killed.add(process.pid)
            process.close()
    return killed
