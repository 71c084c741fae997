"""A date's signed minutes in the household's day of that date."""

from datetime import date

from schedules.planner import PlannedDay, plan_day
from schedules.regimen import prescribed_minutes
from service.views.case import Case


def planned_day(c: Case, on: date) -> PlannedDay:
    return plan_day(prescribed_minutes(c.revisions, on), c.household.resolve(on))
