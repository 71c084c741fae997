"""The ledger of a child's lenses: ordering, and what becomes of each. What it brings up stands in the review."""

from collections.abc import Callable
from datetime import date, datetime

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.access import child_of
from service.actions import lenses as actions
from service.api.bearer import ApiRecorder, ApiStaff
from service.api.body import LONGEST_ID, Day, Filled, Line, Number, Strict
from service.api.once import DoneOnce, Once
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.facts import Staff
from service.facts_of_lenses import LedgerLens
from service.store import children
from service.views import case
from service.views.eye_courses import courses, trusted_until
from service.views.in_force import Standing, lens_standing
from service.wiring import wiring
from shared.lens_words import LensState, PowerPlane
from shared.optics.ledger import MAY_FOLLOW
from shared.vocabulary import Laterality

router = APIRouter(prefix="/children/{child_id}/lenses", tags=["lenses"], responses=problems(404))
_LOW, _HIGH = actions.LABEL_LIMITS_DIOPTRES


class NewLensBody(Strict):
    """One lens; a spare is another."""

    correction_id: Filled = Field(max_length=LONGEST_ID, description="a signed contact lens that is in force for the eye")
    eye: Laterality
    front_vertex_power: Number | None = Field(
        None, ge=_LOW, le=_HIGH, description="D; what the label will say where the maker states that plane. null: the signed power, at the back vertex"
    )
    on: Day = Field(description="when it was ordered")
    note: Line = Field("", max_length=200)


class Step(Strict):
    state: LensState
    on: Day
    note: Line = Field("", max_length=200)


class LensEntryAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    state: LensState
    on: date
    note: str
    recorded_by: str
    recorded_at: datetime


class LensAnswer(Listed):
    correction_id: str
    eye: Laterality
    power: float = Field(description="of the label, in D")
    power_plane: PowerPlane
    base_curve_mm: float | None
    diameter_mm: float | None
    state: LensState
    may_follow: list[LensState]
    standing: Standing = Field(description="of the correction it was ordered by, for this eye, today")
    trusted_until: date = Field(description="from this day on it is no spare any more")
    entries: list[LensEntryAnswer] = Field(description="what became of it, oldest first; the first is its order")


def lens_answer(c: case.Case, lens: LedgerLens) -> LensAnswer:
    made, state = lens.made, lens.last.state
    return LensAnswer(
        id=lens.public_id,
        correction_id=made.correction_id,
        eye=made.eye,
        power=made.power,
        power_plane=made.power_plane,
        base_curve_mm=made.base_curve_mm,
        diameter_mm=made.diameter_mm,
        state=state,
        may_follow=[s for s in LensState if s in MAY_FOLLOW[state]],
        standing=lens_standing(c, lens),
        trusted_until=trusted_until(c, lens, courses(c)),
        entries=[LensEntryAnswer.model_validate(e) for e in lens.entries],
    )


def _take(once: Once, staff: Staff, child_id: str, action: str, body: Strict, deed: Callable[[Session, case.Case, datetime], str]) -> Response:
    """`deed` gives the id of the lens; until it is done nobody else changes this child's ledger."""

    def take(session: Session, now: datetime) -> LensAnswer:
        child = child_of(session, staff, child_id)
        children.facts_changed(session, child.id)
        lens_id = deed(session, case.load(session, child, now), now)
        c = case.load(session, child, now)
        return lens_answer(c, actions.lens_of(c, lens_id))

    return once.make(action, body, take, at=f"/api/children/{child_id}/lenses")


@router.get("", summary="A child's lenses, in the order in which they were ordered")
def list_lenses(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[LensAnswer]:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    return wanted.among([lens_answer(c, lens) for lens in c.ledger])


@router.post("", status_code=201, summary="Order a lens by a correction in force", response_model=LensAnswer, responses=problems(400, 403))
def order_lens(staff: ApiRecorder, once: DoneOnce, child_id: str, body: NewLensBody) -> Response:
    def deed(session: Session, c: case.Case, now: datetime) -> str:
        wanted = actions.LensOrder(body.correction_id, body.eye, 1, body.front_vertex_power, body.on, body.note)
        [lens_id] = actions.order(session, staff, c, wanted, now)
        return lens_id

    return _take(once, staff, child_id, "order-lens", body, deed)


@router.get("/{lens_id}", summary="One lens")
def read_lens(request: Request, staff: ApiStaff, child_id: str, lens_id: str) -> LensAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    return lens_answer(c, actions.lens_of(c, lens_id))


@router.post("/{lens_id}/entries", status_code=201, summary="Say what has become of a lens", response_model=LensAnswer, responses=problems(400, 403))
def step_lens(staff: ApiStaff, once: DoneOnce, child_id: str, lens_id: str, body: Step) -> Response:
    def deed(session: Session, c: case.Case, now: datetime) -> str:
        actions.step(session, staff, c, lens_id, actions.Step(body.state, body.on, body.note), now)
        return lens_id

    return _take(once, staff, child_id, "step-lens", body, deed)
