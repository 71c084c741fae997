"""The clinic's texts for families, and what each caregiver has learnt to do with a lens."""

from datetime import date, datetime
from typing import Annotated

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field
from sqlmodel import Session

from service.access import child_of
from service.actions import teaching as actions
from service.api.bearer import ApiAdministrator, ApiRecorder, ApiStaff
from service.api.body import LONGEST_ID, Day, Filled, Strict, Whole
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.facts_of_teaching import LONGEST_STEP, MOST_STEPS, EnteredTexts, FamilyTexts, Learnt, Level, Skill, Topic
from service.store import teaching
from service.wiring import wiring

router = APIRouter(tags=["teaching"])

Steps = Annotated[list[Annotated[Filled, Field(max_length=LONGEST_STEP)]], Field(max_length=MOST_STEPS)]


class TextsBody(Strict):
    """The whole of the clinic's own steps. A topic without any is told by the built-in ones."""

    steps: dict[Topic, Steps]
    seen: Whole = Field(ge=0, description="`number` of the newest version that was read, 0 where there was none; 409 where there is a newer one")


class TextsAnswer(Listed):
    number: int
    steps: dict[Topic, list[str]]
    entered_by: str
    entered_at: datetime


class LearntBody(Strict):
    link_id: Filled = Field(max_length=LONGEST_ID, description="of the caregiver's link")
    skill: Skill
    level: Whole = Field(ge=Level.SHOWN, le=Level.ALONE, description="1 shown, 2 done under the clinic's eyes, 3 alone")
    on: Day


class LearntAnswer(Listed):
    caregiver: str
    skill: Skill
    level: int
    on: date
    recorded_by: str
    recorded_at: datetime


def texts_answer(e: EnteredTexts) -> TextsAnswer:
    steps = {topic: list(lines) for topic, lines in e.texts.steps.items()}
    return TextsAnswer(id=e.public_id, number=e.number, steps=steps, entered_by=e.entered_by, entered_at=e.entered_at)


def learnt_answer(one: Learnt) -> LearntAnswer:
    return LearntAnswer(
        id=one.public_id,
        caregiver=one.caregiver,
        skill=one.skill,
        level=int(one.level),
        on=one.on,
        recorded_by=one.recorded_by,
        recorded_at=one.recorded_at,
    )


@router.get("/family-texts", summary="Every version of the clinic's texts for families; the newest holds")
def list_family_texts(request: Request, staff: ApiStaff, wanted: WantedPage) -> Page[TextsAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.page(lambda after, limit: map(texts_answer, teaching.texts_behind(session, staff.clinic_id, after, limit)))


@router.post("/family-texts", status_code=201, summary="Enter the next version", response_model=TextsAnswer, responses=problems(400, 403, 409))
def enter_family_texts(staff: ApiAdministrator, once: DoneOnce, body: TextsBody) -> Response:
    def deed(session: Session, now: datetime) -> TextsAnswer:
        texts = FamilyTexts({topic: tuple(lines) for topic, lines in body.steps.items() if lines})
        actions.enter_texts(session, staff, texts, body.seen, now)
        return texts_answer(teaching.texts(session, staff.clinic_id)[-1])

    return once.make("enter-family-texts", body, deed)


@router.get("/children/{child_id}/handling", summary="What caregivers have learnt to do with the child's lens, oldest first", responses=problems(404))
def list_handling(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[LearntAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(learnt_answer, teaching.learnt_behind(session, child, after, limit)))


@router.post(
    "/children/{child_id}/handling",
    status_code=201,
    summary="Record what a caregiver has learnt",
    response_model=LearntAnswer,
    responses=problems(400, 403, 404),
)
def record_handling(staff: ApiRecorder, once: DoneOnce, child_id: str, body: LearntBody) -> Response:
    def deed(session: Session, now: datetime) -> LearntAnswer:
        child = child_of(session, staff, child_id)
        public_id = actions.record(session, staff, child, body.link_id, body.skill, Level(body.level), body.on, now)
        return learnt_answer(next(one for one in teaching.learnt(session, child.id) if one.public_id == public_id))

    return once.make("record-learnt", body, deed)
