"""The review of one child today, and what the family noted."""

from datetime import date, datetime, timedelta

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from schedules.adherence import WearEntry, counted
from service.access import child_of
from service.api.answers import FindingAnswer, finding_answer
from service.api.bearer import ApiStaff
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.store import wear
from service.views import case
from service.views.review_facts import review_facts
from service.wiring import wiring
from shared.review import findings, settle

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


class ReviewAnswer(BaseModel):
    today: date
    since: date | None = Field(description="the first day of the course that is looked back on")
    adherence: AdherenceAnswer = Field(description="from `since` up to yesterday")
    findings: list[FindingAnswer] = Field(description="what asks for attention, the weightiest first")
    suggestion: FindingAnswer | None = Field(description="a proposal; a licensed person decides. null before anything was signed")


class EntryAnswer(Listed):
    """One thing a caregiver said about one day; never changed, only replaced or withdrawn by a later one."""

    on: date
    minutes: int
    reason: str | None = Field(description="why nothing was worn")
    correction_worn: bool | None = Field(description="whether the glasses or the lens were on; null where nobody was asked")
    replaces: str | None = Field(description="the id of the entry that this one corrects or takes back")
    withdrawn: bool = Field(description="takes `replaces` back and puts nothing in its place")
    counts: bool = Field(description="false for what was corrected, taken back, or only takes back")
    recorded_at: datetime


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
    )
