"""The review of one child today, and what the family noted."""

from datetime import date, datetime, timedelta
from math import isfinite

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from schedules.adherence import WearEntry, counted
from service.access import child_of
from service.actions.wear import RecorderKind, recorder_of
from service.api.answers import FindingAnswer, finding_answer
from service.api.bearer import ApiStaff
from service.api.body import SPEAK
from service.api.calc import TableAnswer, table_answer
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.calculations.response_tables import SHOWN_SHARE, outlook_grid
from service.db import reading
from service.store import wear
from service.views import case, expected_view
from service.views.review_facts import review_facts
from service.wiring import wiring
from shared.course.review import findings, settle
from shared.findings import Message
from shared.rounding import round_half_up

router = APIRouter(prefix="/children/{child_id}", tags=["review"], responses=problems(404))


class AdherenceAnswer(BaseModel):
    """Whole minutes and days; unknown days are apart from days without wear. `low` takes unknown days as none, `high` leaves them out."""

    model_config = ConfigDict(from_attributes=True)
    prescribed_minutes: int
    received_minutes: int
    without_correction_minutes: int
    days_prescribed: int
    days_known: int
    days_zero: int
    days_unknown: int
    low: float | None
    high: float | None


class HoursToNextLine(BaseModel):
    """Hours to 0.1 logMAR more; null where the ceiling comes first."""

    low: float | None
    median: float | None
    high: float | None


class ObservedAnswer(BaseModel):
    """A visit since the start: hours received up to it as reported, and with unknown days worn like known ones; gain in logMAR, positive is better."""

    on: date
    least_hours: float
    most_hours: float
    gain_logmar: float


class ExpectedAnswer(BaseModel):
    """This project's own model on published points, partly from memory: a range for children like this one, no promise and no dose."""

    refusal: str | None = Field(description="why there is no forecast; everything else is then null or empty")
    counted_from: date | None = Field(default=None, description="the day of the last visit, from which further gain is counted")
    slow_probability: float | None = Field(default=None, description="of a response slower than that of 90 % of children of this age; 0.1 before any visit")
    hours_to_next_line: HoursToNextLine | None = None
    observed: list[ObservedAnswer] = []
    outlook: TableAnswer | None = Field(default=None, description="further gain in logMAR under each dose, with its 80 % band")
    findings: list[FindingAnswer] = []


class ReviewAnswer(BaseModel):
    today: date
    since: date | None = Field(description="the first day of the course that is looked back on")
    adherence: AdherenceAnswer = Field(description="from `since` up to yesterday")
    findings: list[FindingAnswer] = Field(description="what asks for attention, the weightiest first")
    suggestion: FindingAnswer | None = Field(description="a proposal; a licensed person decides. null before anything was signed")
    expected_response: ExpectedAnswer


class EntryAnswer(Listed):
    """One thing that was said about one day; never changed, only replaced or withdrawn by a later one."""

    on: date
    minutes: int
    reason: str | None = Field(description="why nothing was worn")
    correction_worn: bool | None = Field(description="whether the glasses or the lens were on; null where nobody was asked")
    replaces: str | None = Field(description="the id of the entry that this one corrects or takes back")
    withdrawn: bool = Field(description="takes `replaces` back and puts nothing in its place")
    counts: bool = Field(description="false for what was corrected, taken back, or only takes back")
    recorded_at: datetime
    recorded_by: RecorderKind = Field(description="a caregiver's link, a nursery's, or staff who typed in a sheet of paper")
    recorder_id: str = Field(description="the id of that link or member of staff")


@router.get("/review", summary="Findings, suggestion and adherence today, each with its status and sources")
def read_review(request: Request, staff: ApiStaff, child_id: str) -> ReviewAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    facts = review_facts(c)
    return ReviewAnswer(
        today=c.today,
        since=c.course_from,
        adherence=AdherenceAnswer.model_validate(c.adherence(c.course_from or c.today, c.today)),
        findings=[finding_answer(f) for f in findings(facts)],
        suggestion=finding_answer(settle(facts)) if c.revisions else None,
        expected_response=_expected(expected_view.worked(c)),
    )


def _expected(found: expected_view.Worked | Message) -> ExpectedAnswer:
    if isinstance(found, Message):
        return ExpectedAnswer(refusal=SPEAK.text(found))
    now = found.expected.now
    line = {edge: round_half_up(hours) if isfinite(hours) else None for edge, hours in vars(now.hours_to_next_line()).items()}
    return ExpectedAnswer(
        refusal=None,
        counted_from=found.counted_from,
        slow_probability=round_half_up(now.slow(), SHOWN_SHARE),
        hours_to_next_line=HoursToNextLine(**line),
        observed=[ObservedAnswer(on=on, **vars(seen)) for on, seen in zip(found.gathered.observed_on, found.gathered.course.observed, strict=True)],
        outlook=table_answer(outlook_grid(found.expected)),
        findings=[finding_answer(f) for f in found.expected.findings],
    )


@router.get("/wear", summary="What the family noted, in the order in which it was noted")
def list_wear(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[EntryAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)

        def entries(after: str | None, limit: int) -> list[EntryAnswer]:
            found = wear.entries_behind(session, child, after, limit)
            days = {e.local_on for e in found}
            said = wear.entries(session, child.id, min(days), max(days) + timedelta(days=1)) if days else []
            counting = {e.key for e in counted(said)}
            return [_entry(e, e.key in counting) for e in found]

        return wanted.page(entries)


def _entry(e: WearEntry, counts: bool) -> EntryAnswer:
    kind, recorder_id = recorder_of(e.recorded_by)
    return EntryAnswer(
        id=e.key,
        on=e.local_on,
        minutes=e.minutes,
        reason=e.reason,
        correction_worn=e.correction_worn,
        replaces=e.replaces,
        withdrawn=e.withdrawn,
        counts=counts,
        recorded_at=e.recorded_at,
        recorded_by=kind,
        recorder_id=recorder_id,
    )
