"""Visits: list, record, read, correct."""

from datetime import datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.access import child_of
from service.actions import visits as actions
from service.api.bearer import ApiRecorder, ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Filled, Line, Whole
from service.api.examination import ExaminationBody, ReadAs, examination, examination_fields, read_as
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts_of_visits import Visit
from service.store import visits
from service.views import visit_versions
from service.wiring import wiring
from shared.vocabulary import TestedEye

router = APIRouter(prefix="/children/{child_id}/visits", tags=["visits"], responses=problems(404))

AS_TYPED = "what a 409 gave beside its questions; it answers these and no others"


class NewVisit(ExaminationBody):
    as_typed: Line = Field("", max_length=LONGEST_ID, description=AS_TYPED)


class CorrectedVisit(ExaminationBody):
    """The whole examination as it should have been; `version` is the visit's as it was read."""

    version: Whole = Field(ge=1)
    reason: Filled = Field(max_length=200)
    as_typed: Line = Field("", max_length=LONGEST_ID, description=AS_TYPED)


class VisitAnswer(ExaminationBody, Listed):
    version: int
    reason: str | None = Field(description="why this version corrects the one before")
    recorded_by: str
    recorded_at: datetime
    read_as: list[dict[TestedEye, ReadAs]] = Field(description="the acuities of each test as they were read")


def visit_answer(visit: Visit) -> VisitAnswer:
    return VisitAnswer(
        id=visit.public_id,
        version=visit.version,
        reason=visit.reason,
        recorded_by=visit.recorded_by,
        recorded_at=visit.recorded_at,
        read_as=read_as(visit),
        **examination_fields(visit),
    )


class ChangedAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    what: str
    before: str
    now: str


class VersionAnswer(Listed):
    """`id` is the version's number."""

    visit: VisitAnswer = Field(description="as it stood then")
    changes: list[ChangedAnswer] = Field(description="against the version before, in words")


def version_answer(before: Visit | None, now: Visit) -> VersionAnswer:
    changed = visit_versions.changes(before, now, SPEAK) if before else ()
    return VersionAnswer(id=str(now.version), visit=visit_answer(now), changes=[ChangedAnswer.model_validate(c) for c in changed])


@router.get("", summary="A child's visits, in the order in which they were recorded")
def list_visits(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[VisitAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(visit_answer, visits.visits_behind(session, child, after, limit)))


@router.post("", status_code=201, summary="Record a visit", response_model=VisitAnswer, responses=problems(400, 403, 409))
def record_visit(staff: ApiRecorder, once: DoneOnce, child_id: str, body: NewVisit) -> Response:
    def deed(session: Session, now: datetime) -> VisitAnswer:
        child = child_of(session, staff, child_id)
        public_id = actions.record(session, staff, child, examination(body), now, answered=body.as_typed)
        return visit_answer(visits.visit(session, child, public_id))

    return once.make("record-visit", body, deed)


@router.get("/{visit_id}", summary="One visit in its newest version")
def read_visit(request: Request, staff: ApiStaff, child_id: str, visit_id: str) -> VisitAnswer:
    with reading(wiring(request).engine) as session:
        return visit_answer(visits.visit(session, child_of(session, staff, child_id), visit_id))


@router.get("/{visit_id}/versions", summary="A visit as it was recorded and each time corrected, oldest first")
def list_visit_versions(request: Request, staff: ApiStaff, child_id: str, visit_id: str, wanted: WantedPage) -> Page[VersionAnswer]:
    with reading(wiring(request).engine) as session:
        versions = visits.versions(session, child_of(session, staff, child_id), visit_id)
    return wanted.among([version_answer(before, now) for before, now in zip([None, *versions], versions, strict=False)])


@router.put("/{visit_id}", summary="Correct a visit: a new version, the old one stays", responses=problems(403, 409))
def correct_visit(request: Request, staff: ApiRecorder, child_id: str, visit_id: str, body: CorrectedVisit) -> VisitAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        actions.correct(session, staff, child, visit_id, body.version, body.reason, examination(body), w.clock.now(), answered=body.as_typed)
        return visit_answer(visits.visit(session, child, visit_id))
