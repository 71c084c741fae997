"""The calendar feed: stored bytes while the facts and the day are the same, else planned, reconciled and rendered anew."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from urllib.parse import quote

from sqlalchemy import Engine
from sqlmodel import Session

from schedules.feed import PlannedItem, closed_items, next_changed_at, planned_items, reconcile, render
from service.clock import local_today
from service.db import reading, writing
from service.facts import Child, FeedState, Subscription
from service.i18n import Words, words
from service.settings import Settings
from service.store import children, links, people, signed
from service.tokens import day_signature
from shared.findings import msg

CLOSED_FOR = timedelta(days=14)
NOTE_FETCH_EVERY = timedelta(minutes=15)


OTHER_CALENDAR = msg("another calendar")
CALENDARS = (
    ("google", msg("Google calendar")),
    ("dataaccessd", msg("iPhone or iPad calendar")),
    ("macos", msg("Mac calendar")),
    ("icsx5", msg("Android calendar")),
    ("thunderbird", msg("Thunderbird")),
    ("outlook", msg("Outlook")),
    ("microsoft", msg("Outlook")),
    ("nextcloud", msg("Nextcloud")),
)


class FeedGoneError(Exception):
    """Revoked, and the time in which it said so has passed."""


@dataclass(frozen=True)
class Feed:
    subscription: Subscription
    state: FeedState


def day_address(settings: Settings, subscription: Subscription, on: date) -> str:
    """The link in a calendar entry: good for that day only, and for seven days after it."""
    return f"{settings.public_url}/day/{subscription.public_id}/{on.isoformat()}/{day_signature(settings.secret_key, subscription.public_id, on)}"


def feed_addresses(settings: Settings, feed_token: str) -> tuple[str, str]:
    """(https, webcal): some phones want the one, some the other."""
    https = f"{settings.public_url}/feed/{quote(feed_token)}/plan.ics"
    return https, "webcal://" + https.split("://", 1)[1]


def current_feed(engine: Engine, settings: Settings, token: str, now: datetime) -> Feed | None:
    """None for an unknown token; raises `FeedGoneError` for one revoked long ago."""
    with reading(engine) as session:
        subscription = links.subscription_of_feed(session, token)
        if subscription is None:
            return None
        if subscription.revoked_at is not None and now - subscription.revoked_at >= CLOSED_FOR:
            raise FeedGoneError
        state = links.feed_state(session, subscription.id)
        if state.made_from == _made_from(subscription, children.child_by_id(session, subscription.child_id), now):
            return Feed(subscription, state)
    return Feed(subscription, refresh(engine, settings, subscription.id, now))


def refresh(engine: Engine, settings: Settings, subscription_id: int, now: datetime) -> FeedState:
    """Renders one feed if its facts or its day have moved on; one transaction, so that two fetches cannot promise different things."""
    with writing(engine) as session:
        before = links.feed_state(session, subscription_id, for_update=True)
        subscription = links.subscription_by_id(session, subscription_id)
        child = children.child_by_id(session, subscription.child_id)
        made_from = _made_from(subscription, child, now)
        if before.made_from == made_from:
            return before
        speak = words(people.clinic(session, subscription.clinic_id).locale)
        planned = _planned(session, settings, subscription, child, speak, now)
        promises, _ = reconcile(
            planned,
            links.published(session, subscription_id),
            now=now,
            namespace=people.installation_namespace(session),
            subscription=subscription.public_id,
        )
        body = render(planned, promises, name=subscription.label)
        changed_at = before.changed_at if body == before.body else next_changed_at(before.changed_at, now)
        links.save_published(session, subscription, promises)
        state = FeedState(made_from, body, changed_at)
        links.save_feed(session, subscription_id, state)
        return state


def refresh_all(engine: Engine, settings: Settings, now: datetime) -> int:
    """The worker's tick: every open feed's window, so that the first fetch of a day is as quick as the others. Gives the count."""
    with reading(engine) as session:
        ids = links.open_subscription_ids(session)
    for subscription_id in ids:
        refresh(engine, settings, subscription_id, now)
    return len(ids)


def note_fetch(engine: Engine, subscription: Subscription, agent: str, now: datetime) -> None:
    """Remembers what fetched last and when, not each time: a polled feed should not be a stream of writes."""
    by = friendly_agent(agent)
    if subscription.fetched_at is None or subscription.fetched_by != by or now - subscription.fetched_at >= NOTE_FETCH_EVERY:
        with writing(engine) as session:
            links.note_fetch(session, subscription.id, by, now)


def friendly_agent(agent: str) -> str:
    """A calendar program's general kind, as a message id; the header itself is not kept."""
    return next((name.text for part, name in CALENDARS if part in agent.casefold()), OTHER_CALENDAR.text)


def _made_from(subscription: Subscription, child: Child, now: datetime) -> str:
    return f"{child.facts_version}|{local_today(now, child.time_zone)}|{'closed' if subscription.revoked_at else 'open'}"


def _planned(session: Session, settings: Settings, subscription: Subscription, child: Child, speak: Words, now: datetime) -> tuple[PlannedItem, ...]:
    if subscription.revoked_at is not None:
        return closed_items(local_today(subscription.revoked_at, child.time_zone), speak.gettext("Calendar closed"))
    return planned_items(
        signed.revisions(signed.regimens(session, child)),
        local_today(now, child.time_zone),
        label=subscription.label,
        plan_ends_label=speak.gettext("%(label)s: plan ends") % {"label": subscription.label},
        care_label=speak.gettext("care"),
        summary_for=lambda label, minutes: f"{label} {speak.hours(minutes)}",
        description_for=lambda minutes: speak.gettext("%(time)s today. Note what was done:") % {"time": speak.hours(minutes)},
        link_for=lambda on: day_address(settings, subscription, on),
        alarm_minutes=subscription.alarm_minutes,
    )
