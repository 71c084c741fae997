"""An operation: what follows from it, its signature, those on record."""

from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.access import child_of, require_signature
from service.actions import operations as actions
from service.api.bearer import ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Day, Filled, Line, Strict
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.facts import SignedKind
from service.facts_of_care import SignedOperation
from service.store import operations
from service.views import case, operation_page
from service.wiring import wiring
from shared.vocabulary import Laterality, Operation, OpticalStatus

router = APIRouter(prefix="/children/{child_id}", tags=["operations"], responses=problems(404))


class OperationBody(Strict):
    operation: Operation
    eye: Laterality | None = Field(None, description="null: both eyes, or the squint as a whole")
    on: Day = Field(description="the day of surgery; today or earlier")
    review_on: Day | None = Field(None, description="until which day the patch is suspended; needed where a plan is going on")
    note: Line = Field("", max_length=300)

    def surgery(self) -> actions.Surgery:
        return actions.Surgery(self.operation, self.eye, self.on, self.review_on, self.note)


class SignedOperationBody(OperationBody):
    """The operation again, with the digest of the preview that the signer has looked at."""

    seen: Filled = Field(max_length=LONGEST_ID, description="`digest` of the preview")


class BarredAnswer(BaseModel):
    correction_id: str
    eye: Laterality


class OperationPreview(BaseModel):
    follows: list[str] = Field(description="in words, all that signing it does")
    suspends: int | None = Field(description="number of the revision that is suspended")
    status: OpticalStatus | None = Field(description="of the eye from that day on; null: its optics stay as they are")
    barred: list[BarredAnswer] = Field(description="signed corrections that no longer hold")
    may_sign: bool = Field(description="whether the bearer of this token may sign it")
    digest: str = Field(description="stands for all of this; sent back as `seen` it signs it")


class OperationAnswer(Listed):
    model_config = ConfigDict(from_attributes=True)
    operation: Operation
    eye: Laterality | None
    on: date
    note: str
    signed_by: str
    signed_at: datetime


def operation_answer(o: SignedOperation) -> OperationAnswer:
    return OperationAnswer(id=o.public_id, **{name: getattr(o, name) for name in OperationAnswer.model_fields if name != "id"})


@router.post("/operation-preview", summary="What follows from an operation; nothing is stored")
def preview_operation(request: Request, staff: ApiStaff, child_id: str, body: OperationBody) -> OperationPreview:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    worked = actions.work_out(c.child, c.regimens, c.corrections, body.surgery(), c.today)
    shown = operation_page.view(c, worked, staff, SPEAK)
    return OperationPreview(
        follows=list(shown.follows),
        suspends=worked.suspends.number if worked.suspends else None,
        status=worked.status,
        barred=[BarredAnswer(correction_id=document.public_id, eye=eye) for document, eye in worked.barred],
        may_sign=shown.may_sign,
        digest=shown.digest,
    )


@router.post("/operations", status_code=201, summary="Sign an operation as it was seen", response_model=OperationAnswer, responses=problems(400, 403, 409))
def sign_operation(staff: ApiStaff, once: DoneOnce, child_id: str, body: SignedOperationBody) -> Response:
    def deed(session: Session, now: datetime) -> OperationAnswer:
        child = child_of(session, staff, child_id)
        require_signature(session, staff, SignedKind.OPERATION)
        return operation_answer(operations.operation(session, child, actions.sign(session, staff, child, body.surgery(), body.seen, now)))

    return once.make("sign-operation", body, deed)


@router.get("/operations", summary="A child's signed operations, in the order in which they were signed")
def list_operations(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[OperationAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(operation_answer, operations.operations_behind(session, child, after, limit)))


@router.get("/operations/{operation_id}", summary="One signed operation")
def read_operation(request: Request, staff: ApiStaff, child_id: str, operation_id: str) -> OperationAnswer:
    with reading(wiring(request).engine) as session:
        return operation_answer(operations.operation(session, child_of(session, staff, child_id), operation_id))
