"""Regimens: the proposal, the plan in dates, its signature, the list."""

from datetime import date, datetime
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from schedules.regimen import MOST_MINUTES_A_DAY, MOST_TURN_DAYS
from service.access import child_of, require_signature
from service.actions import regimens as actions
from service.api.answers import FindingAnswer, finding_answer, spoken
from service.api.bearer import ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Day, Filled, Line, Number, Strict, Truth, Whole
from service.api.dose_answers import DoseAnswer, NoDoseAnswer, dose_answer
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.api.protocols import ProtocolAnswer, protocol_answer
from service.db import reading
from service.facts import SignedKind, SignedRegimen
from service.store import signed
from service.views import case, occlusion_page
from service.views.beside_proposal import beside
from service.wiring import wiring
from shared.dates import DAYS_A_WEEK
from shared.treatment.dose import Proposal
from shared.treatment.grace import LONGEST_DAYS
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase, Status

router = APIRouter(prefix="/children/{child_id}", tags=["regimens"], responses=problems(404))

GLASSES = "weeks of glasses; null: since the first ones were signed; not-needed: no glasses are"
WAKING = "hours a day, for the share of them that an infant's rule asks for; null: as the family's routine says, else by a published equation"


class RegimenOrder(Strict):
    """`own_minutes` null: the proposed dose. A dose of your own, no patch where one is proposed, or covering the amblyopic eye want their reasons."""

    phase: Literal[Phase.OCCLUSION, Phase.REFRACTIVE_ADAPTATION]
    start_on: Day
    review_on: Day = Field(description="the plan ends on it, or `grace_days` later")
    covered_eye: Laterality | None = None
    own_minutes: Whole | None = Field(None, ge=0, le=MOST_MINUTES_A_DAY, description="minutes a day in place of the proposed ones")
    own_reason: Line = Field("", max_length=300)
    protocol_id: Line = Field("", max_length=LONGEST_ID, description="of one of the clinic's protocols for this child, in place of a dose of your own")
    own_pattern: Pattern = Field(Pattern.DAILY, description="on which days, counted from the first; of a dose of your own")
    own_weekdays: Annotated[list[Whole], Field(max_length=DAYS_A_WEEK)] = Field([], description="in place of a pattern, 0 Monday to 6 Sunday, ascending")
    grace_days: Whole = Field(0, ge=0, le=LONGEST_DAYS, description="the plan goes on so long past a review that slips; fewer are allowed for more hours")
    turn_days: Whole = Field(0, ge=0, le=MOST_TURN_DAYS, description="both eyes in turn: days on the covered eye before one on the other; 0: always it")
    covered_reason: Line = Field("", max_length=300)
    covered_confirmed: Truth = False
    missing_correction: MissingCorrectionRule = Field(description="what the family does on a day without lens or glasses")
    decision: Literal["", "continue", "change", "taper"] = Field("", description="of the review that led to this")
    refractive_adaptation_weeks: Annotated[Number, Field(ge=0, le=1000)] | Literal["not-needed"] | None = Field(None, description=GLASSES)
    waking_hours: Number | None = Field(None, ge=4, le=20, description=WAKING)


class SignedRegimenOrder(RegimenOrder):
    """The order again, with the digest of the preview that the signer has looked at."""

    cautions_read: Truth
    seen: Filled = Field(max_length=LONGEST_ID, description="`digest` of the preview")


class DatedDoseAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    from_on: date
    minutes: int = Field(description="a day, until the next such date or the review")
    pattern: Pattern = Field(description="on which of these days, counted from `from_on`")
    weekdays: list[int] = Field(description="in place of a pattern, 0 is Monday; empty: as the pattern says")


class DropsAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    eye: Laterality
    pattern: Pattern


class RegimenFields(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    number: int
    phase: Phase
    start_on: date
    review_on: date | None
    ends_on: date | None = Field(description="the first day without it: the review, or so many days later as were signed for one that slips")
    covered_eye: Laterality | None
    turn_days: int = Field(description="of alternating eyes: days with a patch on the covered eye before one on the other; 0: always the covered one")
    doses: list[DatedDoseAnswer]
    drops: DropsAnswer | None = Field(description="of a phase of atropine: the eye that has the drop, and on which days")
    missing_correction: MissingCorrectionRule


class RegimenPreview(BaseModel):
    """The regimen as it would be signed, beside what is proposed."""

    proposal: DoseAnswer | NoDoseAnswer
    regimen: RegimenFields
    remark: FindingAnswer | None = Field(description="what the clinic's rules say of this plan; null: nothing")
    supersedes: list[int] = Field(description="numbers of signed revisions still to come: this one would take their place")
    may_sign: bool = Field(description="whether the bearer of this token may sign it")
    digest: str = Field(description="stands for the proposal and every date's minutes; sent back as `seen` it signs them")


class ClinicProtocolAnswer(BaseModel):
    """A dose with a named author, never a published one."""

    minutes_a_day: int | None = Field(description="on the days of its pattern; null: waking hours are not known")
    working: str
    status: Literal[Status.COMMON_PRACTICE] = Status.COMMON_PRACTICE
    protocol: ProtocolAnswer


class RegimenAnswer(RegimenFields, Listed):
    content: dict[str, Any] = Field(description="what was proposed, what was changed and why")
    signed_by: str
    signed_at: datetime


def regimen_answer(s: SignedRegimen) -> RegimenAnswer:
    fields = dict(RegimenFields.model_validate(s.regimen))
    return RegimenAnswer(id=s.public_id, content=spoken(dict(s.content)), signed_by=s.signed_by, signed_at=s.signed_at, **fields)


def _facts(c: case.Case, weeks: float | Literal["not-needed"] | None, waking_hours: float | None) -> actions.Facts:
    return c.occlusion_facts(
        adaptation_weeks=c.weeks_of_glasses if weeks is None else None if weeks == "not-needed" else weeks,
        glasses_needed=weeks != "not-needed",
        waking_hours=waking_hours,
    )


def _facts_of(c: case.Case, body: RegimenOrder) -> actions.Facts:
    return _facts(c, body.refractive_adaptation_weeks, body.waking_hours)


def _draft(body: RegimenOrder, *, cautions_read: bool = False) -> actions.Draft:
    return actions.Draft(
        phase=body.phase,
        start_on=body.start_on,
        review_on=body.review_on,
        covered_eye=body.covered_eye,
        own_minutes=body.own_minutes,
        own_reason=body.own_reason,
        own_pattern=body.own_pattern,
        own_weekdays=tuple(body.own_weekdays),
        grace_days=body.grace_days,
        turn_days=body.turn_days,
        protocol_id=body.protocol_id,
        covered_reason=body.covered_reason,
        covered_confirmed=body.covered_confirmed,
        missing_correction=body.missing_correction,
        decision=body.decision,
        cautions_read=cautions_read,
    )


def _proposal(facts: actions.Facts, found: actions.Answer) -> DoseAnswer | NoDoseAnswer:
    stands = beside(facts, found, SPEAK)
    if isinstance(found, Proposal) and stands is not None:
        return dose_answer(found, stands)
    assert not isinstance(found, Proposal)
    return NoDoseAnswer(reason=SPEAK.text(found.reason), not_enough_known=isinstance(found, actions.NotEnoughKnown))


@router.get("/regimen-proposal", summary="The published starting dose for this child today, or why there is none")
def propose_regimen(
    request: Request,
    staff: ApiStaff,
    child_id: str,
    refractive_adaptation_weeks: Annotated[Annotated[float, Field(ge=0, le=1000)] | Literal["not-needed"] | None, Query(description=GLASSES)] = None,
    waking_hours: Annotated[float | None, Query(ge=4, le=20, description=WAKING)] = None,
) -> DoseAnswer | NoDoseAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    facts = _facts(c, refractive_adaptation_weeks, waking_hours)
    return _proposal(facts, actions.answer(facts))


@router.get("/clinic-protocols", summary="The clinic's own protocols for this child today; common practice, beside whatever is published")
def list_clinic_protocols(
    request: Request,
    staff: ApiStaff,
    child_id: str,
    waking_hours: Annotated[float | None, Query(ge=4, le=20, description=WAKING)] = None,
) -> list[ClinicProtocolAnswer]:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    found = actions.offered(_facts(c, None, waking_hours), c.protocols)
    return [ClinicProtocolAnswer(minutes_a_day=o.minutes, working=SPEAK.text(o.working), protocol=protocol_answer(o.entered)) for o in found]


@router.post("/regimen-preview", summary="A plan in dates, beside the proposal; nothing is stored")
def preview_regimen(request: Request, staff: ApiStaff, child_id: str, body: RegimenOrder) -> RegimenPreview:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    facts = _facts_of(c, body)
    worked = actions.work_out(c.child, facts, _draft(body), c.next_number, c.today, c.protocols)
    regimen = RegimenFields.model_validate(worked.regimen)
    return RegimenPreview(
        proposal=_proposal(facts, worked.proposal),
        regimen=regimen,
        remark=finding_answer(said) if (said := occlusion_page.remark(c, facts, worked.regimen)) else None,
        supersedes=[s.regimen.number for s in c.to_come],
        may_sign=c.may_sign(staff, SignedKind.OCCLUSION),
        digest=worked.digest,
    )


@router.post("/regimens", status_code=201, summary="Sign a regimen as it was seen", response_model=RegimenAnswer, responses=problems(400, 403, 409))
def sign_regimen(staff: ApiStaff, once: DoneOnce, child_id: str, body: SignedRegimenOrder) -> Response:
    def deed(session: Session, now: datetime) -> RegimenAnswer:
        child = child_of(session, staff, child_id)
        require_signature(session, staff, SignedKind.OCCLUSION)
        draft = _draft(body, cautions_read=body.cautions_read)
        public_id = actions.sign(session, staff, child, lambda: _facts_of(case.load(session, child, now), body), draft, body.seen, now)
        return regimen_answer(signed.regimen(session, child, public_id))

    return once.make("sign-regimen", body, deed)


@router.get("/regimens", summary="A child's signed revisions, by number")
def list_regimens(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[RegimenAnswer]:
    with reading(wiring(request).engine) as session:
        child = child_of(session, staff, child_id)
        return wanted.page(lambda after, limit: map(regimen_answer, signed.regimens_behind(session, child, after, limit)))


@router.get("/regimens/{regimen_id}", summary="One signed revision")
def read_regimen(request: Request, staff: ApiStaff, child_id: str, regimen_id: str) -> RegimenAnswer:
    with reading(wiring(request).engine) as session:
        return regimen_answer(signed.regimen(session, child_of(session, staff, child_id), regimen_id))
