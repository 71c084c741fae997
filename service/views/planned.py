"""A date's signed minutes in the child's day: one answer for the feed, the pages and the paper."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from schedules.household import Household
from schedules.planner import PlannedDay, plan_day
from schedules.regimen import Regimen, prescribed_minutes
from service.facts import Child
from service.views.case import Case


def planned_day(c: Case, on: date) -> PlannedDay:
    return plan_for(c.child, c.revisions, c.household, on)


def plan_for(child: Child, revisions: Sequence[Regimen], household: Household, on: date) -> PlannedDay:
    """The same in another household: one that is tried. A past date keeps the zone the child lived in then."""
    there = replace(household, time_zone=child.zone_on(on))
    return plan_day(prescribed_minutes(revisions, on), there.resolve(on))
