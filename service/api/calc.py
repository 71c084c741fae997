"""The three calculations. They store nothing; each answers with its working, its source and how well that source is known."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Depends
from pydantic import BaseModel, ConfigDict, Field

from service.api.bearer import api_staff
from service.i18n import words
from shared.acuity import Acuity, read_acuity
from shared.dose import NoPublishedDose, OcclusionFacts
from shared.occlusion import propose
from shared.refraction import SpheroCylinder, at_vertex_distance, rounded
from shared.sources import source
from shared.vocabulary import Aetiology, OpticalStatus

router = APIRouter(prefix="/api/calc", tags=["calculations"], dependencies=[Depends(api_staff)])
LOCALE = "en"  # the API speaks English; the parameters of every message are in the answer's numbers


class Question(BaseModel):
    model_config = ConfigDict(extra="forbid", allow_inf_nan=False)


class AcuityQuestion(Question):
    notation: str = Field(max_length=60, examples=["6/12", "0.5 decimal", "0.3 logMAR", "4.7 cpd", "HM"])


class AcuityAnswer(BaseModel):
    logmar: float | None = Field(description="logMAR, lower is better; null where none is defined")
    decimal: float | None
    family: Literal["optotype", "grating", "low-vision"]
    snellen_feet: str | None
    snellen_metres: str | None


@router.post("/acuity", summary="Read an acuity in any notation of the trade")
def acuity(question: Annotated[AcuityQuestion, Body(examples=[{"notation": "6/12"}])]) -> AcuityAnswer:
    a = read_acuity(question.notation, "notation")
    return AcuityAnswer(logmar=a.logmar, decimal=a.decimal, family=a.family.value, snellen_feet=a.snellen_feet, snellen_metres=a.snellen_metres)


class Power(BaseModel):
    sphere: float
    cylinder: float
    axis: float | None


class EffectivePowerQuestion(Question):
    """Dioptres and mm. The cylinder's sign is kept; each principal meridian is converted and rounded by itself."""

    sphere: float
    cylinder: float = 0.0
    axis: float | None = None
    from_vertex_distance_mm: float
    to_vertex_distance_mm: float
    step: float = Field(0.25, description="D; each meridian is rounded to it, ties toward more plus")


class EffectivePowerAnswer(BaseModel):
    exact: Power
    rounded: Power
    working: list[str]


EFFECTIVE_POWER_EXAMPLE = {"sphere": 12, "cylinder": 2, "axis": 90, "from_vertex_distance_mm": 12, "to_vertex_distance_mm": 0, "step": 0.25}


@router.post("/effective-power", summary="The power of a lens moved to another vertex distance")
def effective_power(question: Annotated[EffectivePowerQuestion, Body(examples=[EFFECTIVE_POWER_EXAMPLE])]) -> EffectivePowerAnswer:
    power = SpheroCylinder(question.sphere, question.cylinder, question.axis)
    moved = at_vertex_distance(power, question.from_vertex_distance_mm, question.to_vertex_distance_mm)
    return EffectivePowerAnswer(
        exact=_power(moved.exact), rounded=_power(rounded(moved.exact, question.step)), working=[words(LOCALE).text(s) for s in moved.steps]
    )


def _power(p: SpheroCylinder) -> Power:
    return Power(sphere=p.sphere, cylinder=p.cylinder, axis=p.axis)


class OcclusionQuestion(Question):
    """Ages in completed months, chronological. `refractive_adaptation_weeks` "not-needed" where no glasses are needed."""

    age_months: int
    aetiology: Aetiology
    amblyopic_eye_status: OpticalStatus
    fellow_eye_status: OpticalStatus
    age_at_surgery_months: int | None = None
    amblyopic_acuity: str | None = Field(None, max_length=60)
    fellow_acuity: str | None = Field(None, max_length=60)
    refractive_adaptation_weeks: float | Literal["not-needed"] | None = None
    waking_hours: float | None = None


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


OCCLUSION_EXAMPLE: dict[str, Any] = {
    "age_months": 5,
    "aetiology": "deprivation",
    "amblyopic_eye_status": "aphakic",
    "fellow_eye_status": "phakic",
    "age_at_surgery_months": 2,
    "amblyopic_acuity": "1.2 cpd",
    "fellow_acuity": "5.6 cpd",
    "refractive_adaptation_weeks": None,
    "waking_hours": None,
}


@router.post("/occlusion", summary="The published starting dose for a child like this, or why there is none")
def occlusion(question: Annotated[OcclusionQuestion, Body(examples=[OCCLUSION_EXAMPLE])]) -> DoseAnswer | NoDoseAnswer:
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
        )
    )
    speak = words(LOCALE)
    if isinstance(found, NoPublishedDose):
        return NoDoseAnswer(reason=speak.text(found.reason))
    return DoseAnswer(
        minutes_per_day=found.minutes_per_day,
        hours_per_day=found.minutes_per_day / 60,
        phase=found.phase,
        review_in_weeks=found.review_in_weeks,
        review_status=found.review.status,
        rule=found.rule,
        source="; ".join(source(key).citation for key in found.finding.sources),
        status=found.finding.status,
        working=[speak.text(s) for s in found.finding.working],
        cautions=[speak.text(c) for c in found.cautions],
    )


def _acuity(typed: str | None, field: str) -> Acuity | None:
    return None if typed is None else read_acuity(typed, field)
