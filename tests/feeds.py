"""Feeds for the tests: a child's revisions around a fixed day, planned, promised and read back."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from uuid import UUID

import recurring_ical_events  # type: ignore[import-untyped]
from icalendar import Calendar

from schedules.adherence import WearEntry
from schedules.care_words import CareItem
from schedules.feed import Published, reconcile
from schedules.feed_items import FeedFacts, FeedWords, PlannedItem, planned_items
from schedules.feed_style import FeedStyle
from schedules.household import Household
from schedules.planner import PlannedDay, plan_day
from schedules.regimen import Regimen, prescribed_minutes
from shared.treatment.dose import DatedDose
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

NAMESPACE = UUID("6f1e2c8a-52a5-4d0a-9a2e-0f5f5f0c7a11")
TODAY = date(2026, 3, 25)
NOW = datetime(2026, 3, 25, 7, 30, 12, 345678, tzinfo=UTC)
SECOND = timedelta(seconds=1)


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


def occlusion(number: int, start: int, review: int, *steps: tuple[int, int]) -> Regimen:
    """An occlusion revision; all days count from `TODAY`, `steps` are (day, minutes a day from then)."""
    doses = tuple(DatedDose(day(on), minutes) for on, minutes in steps)
    return Regimen(number, Phase.OCCLUSION, day(start), day(review), Laterality.LEFT, doses, MissingCorrectionRule.GO_ON)


# a rising dose with one free day, over the spring change of European clocks (29 March 2026)
RISING = occlusion(1, -3, 8, (-3, 60), (0, 90), (5, 0), (6, 120))
STOPPED = Regimen(2, Phase.STOP, day(2), None, None, (), MissingCorrectionRule.GO_ON)


WORDS = FeedWords(
    time=lambda minutes: f"Blue time: {minutes // 60} h {minutes % 60:02}",
    done=lambda title: f"{title}, done",
    note=lambda minutes: f"{minutes} minutes today.",
    short=lambda minutes: f"{minutes} minutes found no place.",
    care="care",
    visit="visit",
    plan_ends="Plan ends",
)


def all_day(revisions: Sequence[Regimen]) -> Callable[[date], PlannedDay]:
    """The days of a family that has described none."""
    return lambda on: PlannedDay(on, all_day_minutes=prescribed_minutes(revisions, on))


def in_household(revisions: Sequence[Regimen], household: Household) -> Callable[[date], PlannedDay]:
    return lambda on: plan_day(prescribed_minutes(revisions, on), household.resolve(on))


def plan(
    revisions: Sequence[Regimen],
    today: date = TODAY,
    label: str = "Blue time",
    alarm_minutes: int | None = None,
    *,
    style: FeedStyle | None = None,
    household: Household | None = None,
    care: Sequence[CareItem] = (),
    entries: Sequence[WearEntry] = (),
) -> tuple[PlannedItem, ...]:
    planned_day = in_household(revisions, household) if household else all_day(revisions)
    return planned_items(
        FeedFacts(revisions, planned_day, care, entries),
        today,
        style=style or FeedStyle("time", alarm_minutes=alarm_minutes),
        words=replace(WORDS, time=lambda minutes: f"{label}: {minutes // 60} h {minutes % 60:02}"),
        link_for=lambda on: f"https://plan.example/day/Q7v1/{on}/0f3a",
    )


def publish(items: Sequence[PlannedItem], before: Sequence[Published] = (), now: datetime = NOW) -> tuple[Published, ...]:
    return reconcile(items, before, now=now, namespace=NAMESPACE, subscription="Q7v1")[0]


def unfolded(body: bytes) -> list[str]:
    """Content lines put back together as RFC 5545 section 3.1 says, without the library that wrote them."""
    return body.decode().replace("\r\n ", "").split("\r\n")


def days_shown(body: bytes) -> list[date]:
    """The days another reader of calendars finds in the feed."""
    return sorted(event["DTSTART"].dt for event in recurring_ical_events.of(Calendar.from_ical(body)).all())
