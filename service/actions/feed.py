"""The calendar feed: stored bytes while the facts and the day are the same, else planned, reconciled and rendered anew."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from urllib.parse import quote

from sqlalchemy import Engine
from sqlmodel import Session

from schedules.feed import as_promised, next_changed_at, reconcile, render
from schedules.feed_items import FeedFacts, FeedWords, PlannedItem, closed_items, moved_items, planned_items, window
from schedules.feed_style import FeedStyle
from service.actions.wear import caregiver
from service.clock import local_today, zone_rules
from service.db import reading, writing
from service.facts import Child, FeedState, RetiredAddress, Subscription
from service.i18n import Words
from service.settings import Settings
from service.store import children, links, people
from service.tokens import day_signature
from service.views import case
from service.views.care import care_items_of
from service.views.languages import words_of
from service.views.planned import planned_day
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
    """Revoked or given up for another address, and the time in which it said so has passed."""


@dataclass(frozen=True)
class Feed:
    """`subscription` is whose fetches are noted: nobody's at an address that was given up."""

    subscription: Subscription | None
    state: FeedState


def day_address(settings: Settings, subscription: Subscription, on: date) -> str:
    """The link in a calendar entry: good for that day only, and for seven days after it."""
    return f"{settings.public_url}/day/{subscription.public_id}/{on.isoformat()}/{day_signature(settings.secret_key, subscription.public_id, on)}"


def feed_addresses(settings: Settings, feed_token: str) -> tuple[str, str]:
    """(https, webcal): some phones want the one, some the other."""
    https = f"{settings.public_url}/feed/{quote(feed_token)}/plan.ics"
    return https, "webcal://" + https.split("://", 1)[1]


def current_feed(engine: Engine, settings: Settings, token: str, now: datetime) -> Feed | None:
    """None for an unknown token; raises `FeedGoneError` for one revoked or given up long ago."""
    with reading(engine) as session:
        subscription = links.subscription_of_feed(session, token)
        if subscription is None:
            retired = links.retired_address(session, token)
            return Feed(None, _moved(session, retired, now)) if retired else None
        if subscription.revoked_at is not None and now - subscription.revoked_at >= CLOSED_FOR:
            raise FeedGoneError
        state = links.feed_state(session, subscription.id)
        if state.made_from == _made_from(session, subscription, children.child_by_id(session, subscription.child_id), now):
            return Feed(subscription, state)
    return Feed(subscription, refresh(engine, settings, subscription.id, now))


def refresh(engine: Engine, settings: Settings, subscription_id: int, now: datetime) -> FeedState:
    """Renders one feed if its facts or its day have moved on; one transaction, so that two fetches cannot promise different things."""
    with writing(engine) as session:
        before = links.feed_state(session, subscription_id, for_update=True)
        subscription = links.subscription_by_id(session, subscription_id)
        child = children.child_by_id(session, subscription.child_id)
        made_from = _made_from(session, subscription, child, now)
        if before.made_from == made_from:
            return before
        published = links.published(session, subscription_id)
        planned = as_promised(_planned(session, settings, subscription, child, now), published, local_today(now, child.time_zone))
        promises, _ = reconcile(
            planned,
            published,
            now=now,
            namespace=people.installation_namespace(session),
            subscription=subscription.public_id,
        )
        body = render(planned, promises, name=subscription.style.name, colour=subscription.style.colour)
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


def _made_from(session: Session, subscription: Subscription, child: Child, now: datetime) -> str:
    state = "closed" if subscription.revoked_at else "open"
    return f"{child.facts_version}|{local_today(now, child.time_zone)}|{state}|{zone_rules()}|{words_of(session, subscription).edition}"


def _planned(session: Session, settings: Settings, subscription: Subscription, child: Child, now: datetime) -> tuple[PlannedItem, ...]:
    if subscription.revoked_at is not None:
        return closed_items(local_today(subscription.revoked_at, child.time_zone), words_of(session, subscription).gettext("Calendar closed"))
    return shown_to(settings, subscription, case.load(session, child, now), words_of(session, subscription))


def shown_to(settings: Settings, subscription: Subscription, c: case.Case, speak: Words) -> tuple[PlannedItem, ...]:
    """What stands in an open calendar."""
    care = care_items_of(c, window(c.today)) if subscription.style.care else ()
    return planned_items(
        FeedFacts(c.revisions, lambda on: planned_day(c, on), care, caregiver(subscription).mine(c.entries)),
        c.today,
        style=subscription.style,
        words=feed_words(subscription.style, speak),
        link_for=lambda on: day_address(settings, subscription, on),
    )


def feed_words(style: FeedStyle, speak: Words) -> FeedWords:
    """Neutral for every kind: others read a calendar too."""
    return FeedWords(
        time=lambda minutes: f"{style.label} {speak.hours(minutes)}",
        done=lambda title: speak.gettext("%(title)s, done") % {"title": title},
        note=lambda minutes: speak.gettext("%(time)s today. Note what was done:") % {"time": speak.hours(minutes)},
        short=lambda minutes: speak.gettext("%(time)s of it found no place in the day.") % {"time": speak.hours(minutes)},
        care=speak.gettext("care"),
        visit=speak.gettext("visit"),
        plan_ends=speak.gettext("%(label)s: plan ends") % {"label": style.word or style.label},
    )


def _moved(session: Session, retired: RetiredAddress, now: datetime) -> FeedState:
    """What an address says that was given up: one day, always the same."""
    if now - retired.retired_at >= CLOSED_FOR:
        raise FeedGoneError
    subscription = retired.subscription
    child = children.child_by_id(session, subscription.child_id)
    items = moved_items(local_today(retired.retired_at, child.time_zone), words_of(session, subscription).gettext("Please subscribe again"))
    namespace = people.installation_namespace(session)
    promises, _ = reconcile(items, (), now=retired.changed_at, namespace=namespace, subscription=subscription.public_id)
    return FeedState("", render(items, promises, name=subscription.style.name, colour=subscription.style.colour), retired.changed_at)
