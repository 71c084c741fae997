"""A date's signed minutes in the child's day: one answer for the feed, the pages and the paper."""

from dataclasses import replace
from datetime import date

from schedules.household import Household
from schedules.planner import PlannedDay, plan_day
from schedules.regimen import prescribed_minutes
from service.facts import Child
from service.views.case import Case


def planned_day(c: Case, on: date) -> PlannedDay:
    return plan_for(c.child, prescribed_minutes(c.revisions, on), c.household, on)


def plan_for(child: Child, minutes: int, household: Household, on: date) -> PlannedDay:
    """The same for any minutes and any household, also ones that are only tried. A past date keeps the zone the child lived in then."""
    return plan_day(minutes, replace(household, time_zone=child.zone_on(on)).resolve(on))
