"""APScheduler is a clock and nothing more: what is due is decided from rows, and no plan's end depends on a job having run."""

import logging
from datetime import timedelta

from apscheduler.schedulers.background import BackgroundScheduler
from sqlalchemy import Engine

from service.actions.delivery import Post, deliver_due
from service.actions.feed import refresh_all
from service.clock import Clock
from service.db import writing
from service.messages.configured import channels
from service.rendering import Renderer
from service.settings import Settings
from service.store import people, trail

log = logging.getLogger("occlusion_dose.jobs")
TICK = timedelta(minutes=5)
MESSAGES_TICK = timedelta(seconds=30)
ATTEMPTS_LAST, SESSIONS_LAST, CLAIMS_LAST = timedelta(days=1), timedelta(days=30), timedelta(days=90)


def tick(engine: Engine, settings: Settings, clock: Clock) -> None:
    """Rolls every open feed's window on to the new day and forgets what is of no use any more. Missing it costs a moment, never a wrong plan."""
    now = clock.now()
    log.info("tick: %s feeds", refresh_all(engine, settings, now))
    with writing(engine) as session:
        people.forget_old(session, now - ATTEMPTS_LAST, now - SESSIONS_LAST)
        trail.forget_claims(session, now - CLAIMS_LAST)


def send_messages(post: Post) -> None:
    if handed := deliver_due(post):
        log.info("messages: %s handed over", handed)


def start(engine: Engine, settings: Settings, clock: Clock) -> BackgroundScheduler:
    """A run that comes late is one run, and is never skipped."""
    scheduler = BackgroundScheduler(timezone="UTC", job_defaults={"coalesce": True, "max_instances": 1, "misfire_grace_time": None})
    post = Post(engine, settings, clock, Renderer(settings), channels(settings))
    scheduler.add_job(tick, "interval", seconds=TICK.total_seconds(), args=(engine, settings, clock))
    scheduler.add_job(send_messages, "interval", seconds=MESSAGES_TICK.total_seconds(), args=(post,))
    scheduler.start()
    return scheduler
