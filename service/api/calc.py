"""The three calculations. They store nothing; each answers with its working, its source and how well that source is known."""

from typing import Literal

from fastapi import APIRouter, Depends
from pydantic import BaseModel, Field

from service.api.bearer import api_staff
from service.api.body import SPEAK, Number, Strict, Whole
from shared.acuity import Acuity, read_acuity
from shared.dose import NoPublishedDose, OcclusionFacts, Proposal
from shared.occlusion import propose
from shared.refraction import SpheroCylinder, at_vertex_distance, rounded
from shared.sources import source
from shared.vocabulary import Aetiology, OpticalStatus

router = APIRouter(prefix="/calc", tags=["calculations"], dependencies=[Depends(api_staff)])


class AcuityQuestion(Strict):
    notation: str = Field(max_length=60, examples=["6/12", "0.5 decimal", "0.3 logMAR", "4.7 cpd", "HM"])


class AcuityAnswer(BaseModel):
    logmar: float | None = Field(description="logMAR, lower is better; null where none is defined")
    decimal: float | None
    family: Literal["optotype", "grating", "low-vision"]
    snellen_feet: str | None
    snellen_metres: str | None


@router.post("/acuity", summary="Read an acuity in any notation of the trade")
def acuity(question: AcuityQuestion) -> AcuityAnswer:
    a = read_acuity(question.notation, "notation")
    return AcuityAnswer(logmar=a.logmar, decimal=a.decimal, family=a.family.value, snellen_feet=a.snellen_feet, snellen_metres=a.snellen_metres)


class Power(BaseModel):
    sphere: float
    cylinder: float
    axis: float | None


class EffectivePowerQuestion(Strict):
    """Dioptres and mm. The cylinder's sign is kept; each principal meridian is converted and rounded by itself."""

    sphere: Number
    cylinder: Number = 0.0
    axis: Number | None = None
    from_vertex_distance_mm: Number
    to_vertex_distance_mm: Number
    step: Number = Field(0.25, description="D; each meridian is rounded to it, ties toward more plus")


class EffectivePowerAnswer(BaseModel):
    exact: Power
    rounded: Power
    working: list[str]


@router.post("/effective-power", summary="The power of a lens moved to another vertex distance")
def effective_power(question: EffectivePowerQuestion) -> EffectivePowerAnswer:
    power = SpheroCylinder(question.sphere, question.cylinder, question.axis)
    moved = at_vertex_distance(power, question.from_vertex_distance_mm, question.to_vertex_distance_mm)
    return EffectivePowerAnswer(exact=_power(moved.exact), rounded=_power(rounded(moved.exact, question.step)), working=[SPEAK.text(s) for s in moved.steps])


def _power(p: SpheroCylinder) -> Power:
    return Power(sphere=p.sphere, cylinder=p.cylinder, axis=p.axis)


class OcclusionQuestion(Strict):
    """Ages in completed months, chronological. `refractive_adaptation_weeks` "not-needed" where no glasses are needed."""

    age_months: Whole
    aetiology: Aetiology
    amblyopic_eye_status: OpticalStatus
    fellow_eye_status: OpticalStatus
    age_at_surgery_months: Whole | None = None
    amblyopic_acuity: str | None = Field(None, max_length=60)
    fellow_acuity: str | None = Field(None, max_length=60)
    refractive_adaptation_weeks: Number | Literal["not-needed"] | None = None
    waking_hours: Number | None = None
    weeks_premature: Whole = Field(0, ge=0, le=18, description="before 40 weeks; no rule subtracts them, but some say whom they were not tried on")


class DoseAnswer(BaseModel):
    minutes_per_day: int
    hours_per_day: float
    phase: str
    review_in_weeks: int
    review_status: str = Field(description="how well the source of the interval is known")
    rule: str
    source: str
    status: str
    working: list[str]
    cautions: list[str]


class NoDoseAnswer(BaseModel):
    minutes_per_day: None = None
    reason: str
    not_enough_known: bool = Field(description="a fact is missing, so the rules were not asked: not the same as no published dose")


@router.post("/occlusion", summary="The published starting dose for a child like this, or why there is none")
def occlusion(question: OcclusionQuestion) -> DoseAnswer | NoDoseAnswer:
    weeks = question.refractive_adaptation_weeks
    found = propose(
        OcclusionFacts(
            age_months=question.age_months,
            aetiology=question.aetiology,
            amblyopic_eye_status=question.amblyopic_eye_status,
            fellow_eye_status=question.fellow_eye_status,
            age_at_surgery_months=question.age_at_surgery_months,
            amblyopic_acuity=_acuity(question.amblyopic_acuity, "amblyopic_acuity"),
            fellow_acuity=_acuity(question.fellow_acuity, "fellow_acuity"),
            refractive_adaptation_weeks=None if weeks == "not-needed" else weeks,
            glasses_needed=weeks != "not-needed",
            waking_hours=question.waking_hours,
            weeks_premature=question.weeks_premature,
        )
    )
    return NoDoseAnswer(reason=SPEAK.text(found.reason), not_enough_known=False) if isinstance(found, NoPublishedDose) else dose_answer(found)


def dose_answer(found: Proposal) -> DoseAnswer:
    return DoseAnswer(
        minutes_per_day=found.minutes_per_day,
        hours_per_day=found.minutes_per_day / 60,
        phase=found.phase,
        review_in_weeks=found.review_in_weeks,
        review_status=found.review.status,
        rule=found.rule,
        source="; ".join(source(key).citation for key in found.finding.sources),
        status=found.finding.status,
        working=[SPEAK.text(s) for s in found.finding.working],
        cautions=[SPEAK.text(c) for c in found.cautions],
    )


def _acuity(typed: str | None, field: str) -> Acuity | None:
    return None if typed is None else read_acuity(typed, field)
