"""Children: the clinic's list, registration, particulars."""

from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field

from service.access import child_of
from service.actions import children as actions
from service.api.bearer import ApiRegistrar, ApiStaff
from service.api.body import Day, Filled, Line, Strict, Truth, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Child
from service.store import children
from service.wiring import wiring
from shared.vocabulary import Aetiology, AmblyopicEye, Laterality, OpticalStatus

router = APIRouter(prefix="/children", tags=["children"])


class EyeAtRegistration(Strict):
    status: OpticalStatus
    surgery_on: Day | None = Field(None, description="an operated eye needs the day of its surgery")


class EyesAtRegistration(Strict):
    right: EyeAtRegistration
    left: EyeAtRegistration


class Registration(Strict):
    reference: Filled = Field(max_length=30, description="the clinic's own number, once a clinic")
    short_name: Filled = Field(max_length=40)
    born_on: Day
    weeks_premature: Whole = Field(0, ge=0, le=18)
    time_zone: Filled = Field(max_length=80, description="of the household, as Europe/Lisbon")
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    eyes: EyesAtRegistration
    spoken_language: Line = Field("", max_length=actions.LONGEST_LANGUAGE, description="by the family, as it named it; empty: the clinic's")
    interpreter_needed: Truth = False


class Change(Strict):
    """What is left out stays as it is. `version` is the child's as it was read; a newer one is never overwritten."""

    version: Whole = Field(ge=1)
    short_name: Filled | None = Field(None, max_length=40)
    weeks_premature: Whole | None = Field(None, ge=0, le=18)
    time_zone: Filled | None = Field(None, max_length=80)
    aetiology: Aetiology | None = None
    amblyopic_eye: AmblyopicEye | None = None
    spoken_language: Line | None = Field(None, max_length=actions.LONGEST_LANGUAGE)
    interpreter_needed: Truth | None = None


class StatusAnswer(BaseModel):
    status: OpticalStatus
    since_on: date


class ChildAnswer(Listed):
    version: int
    reference: str
    short_name: str
    born_on: date
    weeks_premature: int
    time_zone: str
    aetiology: Aetiology
    amblyopic_eye: AmblyopicEye
    spoken_language: str
    interpreter_needed: bool
    eyes: dict[Laterality, list[StatusAnswer]] = Field(description="the optical status of each eye, by date")


def child_answer(child: Child) -> ChildAnswer:
    return ChildAnswer(
        id=child.public_id,
        version=child.version,
        reference=child.reference,
        short_name=child.short_name,
        born_on=child.born_on,
        weeks_premature=child.weeks_premature,
        time_zone=child.time_zone,
        aetiology=child.aetiology,
        amblyopic_eye=child.amblyopic_eye,
        spoken_language=child.spoken_language,
        interpreter_needed=child.interpreter_needed,
        eyes={eye: [StatusAnswer(status=s.status, since_on=s.since_on) for s in child.statuses if s.eye is eye] for eye in Laterality},
    )


@router.get("", summary="The clinic's children, in the order of their registration")
def list_children(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[ChildAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(child_answer, children.children_behind(session, staff.clinic_id, after, limit)))


@router.post("", status_code=201, summary="Register a child", response_model=ChildAnswer, responses=problems(400, 403))
def register_child(staff: ApiRegistrar, once: DoneOnce, body: Registration) -> Response:
    eyes = {eye: getattr(body.eyes, eye) for eye in Laterality}
    particulars = actions.Particulars(
        reference=body.reference,
        short_name=body.short_name,
        born_on=body.born_on,
        weeks_premature=body.weeks_premature,
        time_zone=body.time_zone,
        aetiology=body.aetiology,
        amblyopic_eye=body.amblyopic_eye,
        statuses={eye: (e.status, e.surgery_on) for eye, e in eyes.items()},
        spoken_language=body.spoken_language,
        interpreter_needed=body.interpreter_needed,
    )
    return once.make("register-child", body, lambda session, now: child_answer(actions.register(session, staff, particulars, now)))


@router.get("/{child_id}", summary="One child", responses=problems(404))
def read_child(request: Request, staff: ApiStaff, child_id: str) -> ChildAnswer:
    with reading(wiring(request).engine) as session:
        return child_answer(child_of(session, staff, child_id))


@router.patch("/{child_id}", summary="Change a child's particulars", responses=problems(403, 404, 409))
def change_child(request: Request, staff: ApiRegistrar, child_id: str, body: Change) -> ChildAnswer:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        changed = actions.ChangedParticulars(
            version=body.version,
            short_name=body.short_name or child.short_name,
            weeks_premature=child.weeks_premature if body.weeks_premature is None else body.weeks_premature,
            time_zone=body.time_zone or child.time_zone,
            aetiology=body.aetiology or child.aetiology,
            amblyopic_eye=body.amblyopic_eye or child.amblyopic_eye,
            spoken_language=child.spoken_language if body.spoken_language is None else body.spoken_language,
            interpreter_needed=child.interpreter_needed if body.interpreter_needed is None else body.interpreter_needed,
        )
        actions.change(session, staff, child, changed, w.clock.now())
        return child_answer(child_of(session, staff, child_id))
