"""Drops of atropine: the published schedules for a child, the plan in dates, its signature."""

from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field
from sqlmodel import Session

from service.access import child_of, require_signature
from service.actions import atropine as actions
from service.api.bearer import ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Day, Filled, Line, Strict, Truth, Whole
from service.api.once import DoneOnce
from service.api.problems import problems
from service.api.regimens import RegimenAnswer, RegimenFields, regimen_answer
from service.db import reading
from service.facts import SignedKind
from service.store import signed
from service.views import atropine_page, case
from service.wiring import wiring
from shared.sources import source
from shared.treatment.atropine import finding, second_look
from shared.treatment.dose import NoPublishedDose
from shared.treatment.grace import DROPS_DAYS
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, Status

router = APIRouter(prefix="/children/{child_id}", tags=["regimens"], responses=problems(404))


class DropOrder(Strict):
    """The eye that has the drop is said in full; where `asked` of the schedules says something, a reason and a confirmation answer it."""

    rule: Filled = Field(max_length=LONGEST_ID, description="of one of the schedules")
    start_on: Day
    review_on: Day = Field(description="the plan ends on it; no later than the trial itself ran")
    drop_eye: Laterality
    reason: Line = Field("", max_length=300)
    confirmed: Truth = False
    grace_days: Whole = Field(0, ge=0, le=DROPS_DAYS, description="the drops go on so long past a review that slips; no longer than the trial ran")

    def draft(self, *, cautions_read: bool = False) -> actions.DropDraft:
        return actions.DropDraft(self.rule, self.start_on, self.review_on, self.drop_eye, self.reason, self.confirmed, self.grace_days, cautions_read)


class SignedDropOrder(DropOrder):
    """The order again, with the digest of the preview that the prescriber has looked at."""

    cautions_read: Truth
    seen: Filled = Field(max_length=LONGEST_ID, description="`digest` of the preview")


class ScheduleAnswer(BaseModel):
    rule: str
    message: str
    pattern: Pattern
    review_in_weeks: int
    source: str
    status: Status


class SchedulesAnswer(BaseModel):
    schedules: list[ScheduleAnswer]
    reason: str = Field(description="why none is published for this child; empty where one is")
    asked: str = Field(description="what wants a reason and a second confirmation; empty where nothing does")


class DropPreview(BaseModel):
    regimen: RegimenFields
    drop_days: list[date]
    may_sign: bool = Field(description="whether the bearer of this token may sign it")
    digest: str = Field(description="sent back as `seen` it signs this")


@router.get("/atropine-schedules", summary="The published schedules of atropine for this child today, or why there is none")
def list_atropine_schedules(request: Request, staff: ApiStaff, child_id: str) -> SchedulesAnswer:
    c = _case(request, staff, child_id)
    facts = c.drop_facts()
    found = actions.offered(facts)
    if isinstance(found, NoPublishedDose) or facts is None:
        assert isinstance(found, NoPublishedDose)
        return SchedulesAnswer(schedules=[], reason=SPEAK.text(found.reason), asked="")
    answers = []
    for row in found:
        said, review = finding(row), row.review(c.age_months)
        assert review is not None
        cited = "; ".join(source(key).citation for key in row.sources)
        answers.append(
            ScheduleAnswer(
                rule=row.rule, message=SPEAK.text(said.message), pattern=row.pattern, review_in_weeks=int(review.value), source=cited, status=said.status
            )
        )
    asked = second_look(facts)
    return SchedulesAnswer(schedules=answers, reason="", asked=SPEAK.text(asked) if asked else "")


@router.post("/atropine-preview", summary="A plan of drops in dates; nothing is stored")
def preview_atropine(request: Request, staff: ApiStaff, child_id: str, body: DropOrder) -> DropPreview:
    c = _case(request, staff, child_id)
    found = actions.work_out(c.child, c.drop_facts(), body.draft(), c.next_number, c.today)
    return DropPreview(
        regimen=RegimenFields.model_validate(found.regimen),
        drop_days=list(atropine_page.drop_days(found.regimen)),
        may_sign=c.may_sign(staff, SignedKind.ATROPINE),
        digest=found.digest,
    )


@router.post("/atropine", status_code=201, summary="Sign drops of atropine as they were seen", response_model=RegimenAnswer, responses=problems(400, 403, 409))
def sign_atropine(staff: ApiStaff, once: DoneOnce, child_id: str, body: SignedDropOrder) -> Response:
    def deed(session: Session, now: datetime) -> RegimenAnswer:
        child = child_of(session, staff, child_id)
        require_signature(session, staff, SignedKind.ATROPINE)
        draft = body.draft(cautions_read=body.cautions_read)
        public_id = actions.sign(session, staff, child, lambda: case.load(session, child, now).drop_facts(), draft, body.seen, now)
        return regimen_answer(signed.regimen(session, child, public_id))

    return once.make("sign-atropine", body, deed)


def _case(request: Request, staff: ApiStaff, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, staff, child_id), w.clock.now())
