"""APScheduler is a clock and nothing more: what is due is decided from rows, and no plan's end depends on a job having run."""

import logging
from datetime import timedelta

from apscheduler.schedulers.background import BackgroundScheduler
from sqlalchemy import Engine

from service.actions.feed import refresh_all
from service.clock import Clock
from service.settings import Settings

log = logging.getLogger("occlusion_dose.jobs")
TICK = timedelta(minutes=5)


def tick(engine: Engine, settings: Settings, clock: Clock) -> None:
    """Rolls every open feed's window on to the new day. Missing it costs the first fetch a moment, never a wrong plan."""
    log.info("tick: %s feeds", refresh_all(engine, settings, clock.now()))


def start(engine: Engine, settings: Settings, clock: Clock) -> BackgroundScheduler:
    scheduler = BackgroundScheduler(timezone="UTC")
    scheduler.add_job(
        tick,
        "interval",
        seconds=TICK.total_seconds(),
        args=(engine, settings, clock),
        coalesce=True,
        max_instances=1,
        misfire_grace_time=None,  # the default of one second would skip a late run
    )
    scheduler.start()
    return scheduler
