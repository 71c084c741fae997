"""A family's days, whole: read them, tell the next version, and see the dates that follow."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from schedules.day import AwakeDay, ClockDay, NamedWindow, Place, Stay, Weekday, Window
from schedules.household import Home, Household, Rotation, Swap
from schedules.household_changes import MOST_KEPT
from schedules.regimen import prescribed_minutes
from schedules.routine import DayOff, Holiday, Journey, Routine, Week
from service.access import child_of
from service.actions import households as actions
from service.api.answers import FindingAnswer, finding_answer
from service.api.bearer import ApiRegistrar, ApiStaff
from service.api.body import LONGEST_ID, Filled, Strict, Truth, Whole
from service.api.body import Day as DateBody
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.facts_of_households import EnteredHousehold
from service.store import households as store
from service.times_typed import MOST_LETTERS
from service.views import case
from service.views.planned import planned_day
from service.wiring import wiring
from shared.dates import DAYS_A_WEEK
from shared.errors import ClinicalInputError
from shared.findings import msg

router = APIRouter(prefix="/children/{child_id}", tags=["households"], responses=problems(404))
MOST_WINDOWS = 50
MOST_HOMES = 20
WHICH_DAY = "0 (Monday) to 6 (Sunday); the first date, where one day stands for a whole holiday"
Words = Annotated[Filled, Field(max_length=MOST_LETTERS)]
Key = Annotated[str, Field(max_length=LONGEST_ID, description="`id` of a caregiver's link")]


class WindowBody(Strict):
    """Minutes after local midnight, in steps of five, half-open."""

    start_minutes: Whole
    end_minutes: Whole


class StayBody(WindowBody):
    patches: Truth = Field(description="whether the place puts the patch on")


class NamedBody(WindowBody):
    words: Words = Field(description="the family's own")


class ClockDayBody(Strict):
    """A day by the clock."""

    day: Whole | DateBody = Field(description=WHICH_DAY)
    wake_minutes: Whole
    sleep_minutes: Whole
    most_sessions: Whole
    shortest_session_minutes: Whole
    gap_before_bed_minutes: Whole = Field(0, description="no session in the last minutes before bed")
    naps: list[WindowBody] = Field([], max_length=MOST_WINDOWS)
    nursery: list[StayBody] = Field([], max_length=MOST_WINDOWS)
    activities: list[NamedBody] = Field([], max_length=MOST_WINDOWS)
    unwelcome: list[NamedBody] = Field([], max_length=MOST_WINDOWS)
    preferred: list[WindowBody] = Field([], max_length=MOST_WINDOWS)
    near_work: list[WindowBody] = Field([], max_length=MOST_WINDOWS)
    screen_free: list[WindowBody] = Field([], max_length=MOST_WINDOWS)

    def day_told(self) -> ClockDay:
        windows = {name: tuple(Window(**dict(w)) for w in getattr(self, name)) for name in ("naps", "preferred", "near_work", "screen_free")}
        named = {name: tuple(NamedWindow(**dict(w)) for w in getattr(self, name)) for name in ("activities", "unwelcome")}
        stays = {"nursery": tuple(Stay(**dict(stay)) for stay in self.nursery)}
        return ClockDay(**dict(self) | windows | named | stays | {"day": _which(self.day)})


class AwakeDayBody(Strict):
    """A day without clock times."""

    day: Whole | DateBody = Field(description=WHICH_DAY)
    awake_stretches: list[Whole] = Field(max_length=MOST_WINDOWS, description="lengths awake, in minutes")

    def day_told(self) -> AwakeDay:
        return AwakeDay(_which(self.day), tuple(self.awake_stretches))


DayBody = ClockDayBody | AwakeDayBody


def _which(day: int | date) -> Weekday | date:
    if isinstance(day, date):
        return day
    if day not in list(Weekday):
        raise ClinicalInputError("day", msg("%(day)s is no weekday: 0 is Monday, 6 is Sunday.", day=str(day)))
    return Weekday(day)


class WeekBody(Strict):
    from_on: DateBody = Field(description="holds until the next week begins")
    days: list[DayBody] = Field(max_length=DAYS_A_WEEK, description="Monday to Sunday")
    clock_for_infant: Truth = Field(False, description="by the clock under nine completed months too")

    def told(self) -> Week:
        return Week(self.from_on, tuple(day.day_told() for day in self.days), self.clock_for_infant)


class DatesBody(Strict):
    first_on: DateBody
    last_on: DateBody = Field(description="included")


class HolidayBody(DatesBody):
    days: list[DayBody] = Field(max_length=DAYS_A_WEEK, description="one for the whole range, or some weekdays")

    def told(self) -> Holiday:
        return Holiday(self.first_on, self.last_on, tuple(day.day_told() for day in self.days))


class DayOffBody(DatesBody):
    words: Words


class JourneyBody(DatesBody):
    time_zone: Filled = Field(max_length=LONGEST_ID)


class RoutineBody(Strict):
    weeks: list[WeekBody] = Field([], max_length=MOST_KEPT)
    holidays: list[HolidayBody] = Field([], max_length=MOST_KEPT)

    def told(self) -> Routine:
        return Routine(tuple(w.told() for w in self.weeks), tuple(h.told() for h in self.holidays))


class HomeBody(Strict):
    caregiver: Key
    routine: RoutineBody | None = Field(None, description="null: the common one holds here")


class RotationBody(Strict):
    anchor_on: DateBody
    caregivers: list[Key] = Field(max_length=2 * DAYS_A_WEEK, description="of 7 or 14 days, again and again")


class SwapBody(Strict):
    on: DateBody
    caregiver: Key


class HouseholdFields(Strict):
    routine: RoutineBody = Field(description="of every home that has none of its own")
    homes: list[HomeBody] = Field([], max_length=MOST_HOMES)
    rotations: list[RotationBody] = Field([], max_length=MOST_KEPT)
    swaps: list[SwapBody] = Field([], max_length=MOST_KEPT)
    days_off: list[DayOffBody] = Field([], max_length=MOST_KEPT)
    journeys: list[JourneyBody] = Field([], max_length=MOST_KEPT)


class HouseholdBody(HouseholdFields):
    """The whole household as it is to be. What it says of dates before today must be what was said already."""

    seen: Whole = Field(ge=0, description="`number` of the newest version that was read, 0 where there was none; 409 where there is a newer one")

    def told(self, before: Household) -> Household:
        """Raises `ClinicalInputError` naming the field."""
        return replace(
            before,
            routine=self.routine.told(),
            homes=tuple(Home(h.caregiver, h.routine.told() if h.routine else None) for h in self.homes),
            rotations=tuple(Rotation(r.anchor_on, tuple(r.caregivers)) for r in self.rotations),
            swaps=tuple(Swap(**dict(s)) for s in self.swaps),
            days_off=tuple(DayOff(**dict(d)) for d in self.days_off),
            journeys=tuple(Journey(**dict(j)) for j in self.journeys),
        )


class HouseholdAnswer(HouseholdFields, Listed):
    number: int = Field(description="of the version, from 1; the newest holds")
    entered_by: str
    by_family: bool
    entered_at: datetime


class SessionAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    start_at: datetime
    end_at: datetime
    minutes: int
    where: Place
    near_work_minutes: int
    screen_free_minutes: int


class PlannedDayAnswer(BaseModel):
    on: date
    time_zone: str
    off: bool
    prescribed_minutes: int
    minutes: int = Field(description="of them in the day")
    all_day_minutes: int = Field(description="of them at any time awake")
    sessions: list[SessionAnswer]
    finding: FindingAnswer | None = Field(description="what does not fit; null also where the clinic has switched that rule off")


def household_answer(e: EnteredHousehold) -> HouseholdAnswer:
    fields = dict(HouseholdFields.model_validate(e.household))
    return HouseholdAnswer(id=e.public_id, number=e.number, entered_by=e.entered_by, by_family=e.by_family, entered_at=e.entered_at, **fields)


@router.get("/households", summary="Every version of what was told of the family's days, in the order in which they were entered")
def list_households(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[HouseholdAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(household_answer, store.versions_behind(session, child, after, limit)))


@router.post("/households", status_code=201, summary="Tell the next version", response_model=HouseholdAnswer, responses=problems(400, 403, 409))
def tell_household(staff: ApiRegistrar, once: DoneOnce, child_id: str, body: HouseholdBody) -> Response:
    def deed(session: Session, now: datetime) -> HouseholdAnswer:
        child = child_of(session, staff, child_id)
        return household_answer(store.one(session, child, actions.enter(session, staff, child, body.seen, body.told, now)))

    return once.make("tell-household", body, deed, at=f"/api/children/{child_id}/households")


@router.get("/households/{household_id}", summary="One version of the household")
def read_household(request: Request, staff: ApiStaff, child_id: str, household_id: str) -> HouseholdAnswer:
    with reading(wiring(request).engine) as session:
        return household_answer(store.one(session, child_of(session, staff, child_id), household_id))


@router.get("/planned-days", summary="Seven dates as signed dose and household make them")
def list_planned_days(
    request: Request, staff: ApiStaff, child_id: str, from_on: Annotated[DateBody | None, Query(description="null: today")] = None
) -> list[PlannedDayAnswer]:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    first_on = max(from_on or c.today, c.child.born_on)
    return [_planned(c, first_on + timedelta(days=n)) for n in range(DAYS_A_WEEK)]


def _planned(c: case.Case, on: date) -> PlannedDayAnswer:
    planned, resolved = planned_day(c, on), c.household.resolve(on)
    said = planned.finding if planned.finding and planned.finding.rule not in c.rules.limits.rules_off else None
    return PlannedDayAnswer(
        on=on,
        time_zone=resolved.zone.key,
        off=resolved.off,
        prescribed_minutes=prescribed_minutes(c.revisions, on),
        minutes=planned.minutes,
        all_day_minutes=planned.all_day_minutes,
        sessions=[SessionAnswer.model_validate(s) for s in planned.sessions],
        finding=finding_answer(said) if said else None,
    )
