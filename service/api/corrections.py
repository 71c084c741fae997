"""Corrections: work out, sign as it was seen, list."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, ConfigDict, Field
from sqlmodel import Session

from service.access import child_of, require_signature
from service.actions import corrections as actions
from service.api.answers import FindingAnswer, PowerAnswer, finding_answer, spoken
from service.api.bearer import ApiStaff
from service.api.body import LONGEST_ID, SPEAK, Filled, Line, Number, Strict
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.clock import local_today
from service.db import reading
from service.facts import Child, SignedCorrection
from service.store import clinic_rules, lens_ranges, near_tables, people, signed, visits
from service.views import case, correction_page
from service.views.correction_history import standing_shown
from service.views.in_force import Standing
from service.wiring import wiring
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.optics.lens_range import BUILT_IN_RANGE, CURVE_LIMITS_MM, DIAMETER_LIMITS_MM
from shared.optics.refraction import SpheroCylinder
from shared.vocabulary import CorrectionKind, Laterality, SpectacleDesign

router = APIRouter(prefix="/children/{child_id}", tags=["corrections"], responses=problems(404))


class OrderedEye(Strict):
    source: actions.PowerSource
    near_dioptres: Number = Field(ge=0, le=4, description="added once: in the whole lens, or in a bifocal's segment; 0 for none. `near_rule` proposes one")
    segment_height_mm: Number | None = Field(None, ge=5, le=40, description="of a bifocal")
    base_curve_mm: Number | None = Field(None, ge=CURVE_LIMITS_MM[0], le=CURVE_LIMITS_MM[1], description="of a contact lens; one that the range has")
    diameter_mm: Number | None = Field(None, ge=DIAMETER_LIMITS_MM[0], le=DIAMETER_LIMITS_MM[1], description="of a contact lens; one that the range has")


class OrderedEyes(Strict):
    """null leaves an eye out."""

    right: OrderedEye | None = None
    left: OrderedEye | None = None


class Order(Strict):
    kind: CorrectionKind
    vertex_distance_mm: Number | None = Field(None, ge=0, le=30, description="where spectacles will sit; a contact lens needs none")
    design: SpectacleDesign = SpectacleDesign.SINGLE_VISION
    lens_range: Line = Field("", max_length=LONGEST_ID, description="id of a range in force; empty: the clinic's first, or the built-in one")
    eyes: OrderedEyes


class SignedOrder(Order):
    """The order again, with the digest of the preview that the signer has looked at."""

    visit_id: Filled = Field(max_length=LONGEST_ID, description="the visit it was worked out from")
    seen: Filled = Field(max_length=LONGEST_ID, description="`digest` of the preview")


class WorkedAnswer(BaseModel):
    """In D. A contact lens has one power and what remains; spectacles have sphere, cylinder and axis."""

    at_cornea: PowerAnswer
    exact: float | PowerAnswer
    power: float | PowerAnswer
    residual: float | None = Field(description="of a contact lens: exact minus power")
    addition: float | None = Field(description="of a bifocal's segment")
    provisional: bool = Field(description="refracted with stitches in: it will change when they come out")
    near_rule: FindingAnswer = Field(description="what is proposed for near at this age")
    working: list[str]


class CorrectionPreview(BaseModel):
    eyes: dict[Laterality, WorkedAnswer]
    findings: list[FindingAnswer] = Field(description="what to weigh before signing")
    lens_range: str | None = Field(description="name of the range the powers were chosen from")
    may_sign: bool = Field(description="whether the bearer of this token may sign this kind of correction")
    digest: str = Field(description="stands for all of this; sent back as `seen` it signs it")


class StandingAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    standing: Standing
    text: str = Field(description="with the reason")


class CorrectionAnswer(Listed):
    kind: CorrectionKind
    visit_on: date
    content: dict[str, Any] = Field(description="the signed document: eyes with powers, working, and the rule for near")
    standing: dict[Laterality, StandingAnswer] = Field(description="for each of its eyes today: in force, superseded by a newer one, or barred by an operation")
    signed_by: str
    signed_at: datetime


def correction_answer(c: case.Case, document: SignedCorrection) -> CorrectionAnswer:
    return CorrectionAnswer(
        id=document.public_id,
        kind=document.kind,
        visit_on=document.visit_on,
        content=spoken(dict(document.content)),
        standing={eye: StandingAnswer.model_validate(standing_shown(c, document, eye, SPEAK)) for eye in document.eyes},
        signed_by=document.signed_by,
        signed_at=document.signed_at,
    )


def _order(session: Session, child: Child, body: Order, now: datetime) -> actions.Order:
    today = local_today(now, child.time_zone)
    ranges, near = lens_ranges.in_force(session, child.clinic_id, today), near_tables.in_force(session, child.clinic_id, today)
    lens = body.kind is CorrectionKind.CONTACT_LENS
    if not lens and body.vertex_distance_mm is None:
        raise ClinicalInputError("vertex_distance_mm", msg("Spectacles need the distance in mm at which they will sit before the eye."))
    eyes = {eye: actions.EyeOrder(**e.model_dump()) for eye in Laterality if (e := getattr(body.eyes, eye)) is not None}
    if not eyes:
        raise ClinicalInputError("eyes", msg("Please choose at least one eye to correct."))
    lens_range = actions.chosen_range(ranges, body.lens_range) if lens else BUILT_IN_RANGE
    return actions.Order(body.kind, body.vertex_distance_mm or 0.0, eyes, body.design, lens_range, near)


@router.post("/visits/{visit_id}/correction-preview", summary="Work out a correction; nothing is stored")
def preview_correction(request: Request, staff: ApiStaff, child_id: str, visit_id: str, body: Order) -> CorrectionPreview:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, staff, child_id)
        known, visit = visits.visits(session, child), visits.visit(session, child, visit_id)
        may_sign = people.may_sign(session, staff, actions.SIGNED_KIND[body.kind])
        order = _order(session, child, body, w.clock.now())
        rules_off = clinic_rules.newest(session, child.clinic_id).limits.rules_off
    worked = actions.work_out(child, visit, order)
    provisional = actions.provisional_eyes(known, visit)
    shown = correction_page.view(child, known, visit, order, worked, (), may_sign, rules_off, SPEAK)
    return CorrectionPreview(
        eyes={w.eye: _worked(w, provisional) for w in worked},
        findings=[FindingAnswer.model_validate(f) for f in (shown.magnification, shown.segment) if f],
        may_sign=may_sign,
        lens_range=order.lens_range.name if body.kind is CorrectionKind.CONTACT_LENS else None,
        digest=shown.digest,
    )


def _worked(w: actions.WorkedEye, provisional: Sequence[Laterality]) -> WorkedAnswer:
    glasses = w.spectacles
    return WorkedAnswer(
        at_cornea=_power(w.at_cornea),
        exact=w.lens.exact_with_near if w.lens else _power(glasses.exact if glasses else w.at_cornea),
        power=w.lens.power if w.lens else _power(glasses.rounded if glasses else w.at_cornea),
        residual=w.lens.residual if w.lens else None,
        addition=glasses.addition if glasses else None,
        provisional=w.eye in provisional,
        near_rule=finding_answer(w.near),
        working=[SPEAK.text(step) for step in w.steps],
    )


def _power(p: SpheroCylinder) -> PowerAnswer:
    return PowerAnswer.model_validate(p)


@router.post("/corrections", status_code=201, summary="Sign a correction as it was seen", response_model=CorrectionAnswer, responses=problems(400, 403, 409))
def sign_correction(staff: ApiStaff, once: DoneOnce, child_id: str, body: SignedOrder) -> Response:
    def deed(session: Session, now: datetime) -> CorrectionAnswer:
        child = child_of(session, staff, child_id)
        require_signature(session, staff, actions.SIGNED_KIND[body.kind])
        order = _order(session, child, body, now)
        public_id = actions.sign(session, staff, child, visits.visit(session, child, body.visit_id), order, body.seen, now)
        return correction_answer(case.load(session, child, now), signed.correction(session, child, public_id))

    return once.make("sign-correction", body, deed)


@router.get("/corrections", summary="A child's signed corrections, oldest first")
def list_corrections(request: Request, staff: ApiStaff, child_id: str, wanted: WantedPage) -> Page[CorrectionAnswer]:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, staff, child_id)
        c = case.load(session, child, w.clock.now())
        return wanted.page(lambda after, limit: (correction_answer(c, d) for d in signed.corrections_behind(session, child, after, limit)))


@router.get("/corrections/{correction_id}", summary="One signed correction")
def read_correction(request: Request, staff: ApiStaff, child_id: str, correction_id: str) -> CorrectionAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, staff, child_id)
        return correction_answer(case.load(session, child, w.clock.now()), signed.correction(session, child, correction_id))
