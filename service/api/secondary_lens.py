"""What a team looks at before a secondary lens."""

from datetime import date

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from service.access import child_of
from service.api.answers import FindingAnswer
from service.api.bearer import ApiStaff
from service.api.body import SPEAK
from service.api.problems import problems
from service.db import reading
from service.views import case, secondary_lens_page
from service.wiring import wiring
from shared.course.anaesthetic import Standing
from shared.course.secondary_lens import Item
from shared.implants.implant import Predicted
from shared.implants.implant_aims import Aim
from shared.vocabulary import Laterality, Status

router = APIRouter(prefix="/children/{child_id}", tags=["bookings"], responses=problems(404))


class HeldAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    item: Item
    fellow: bool = Field(description="of the fellow eye, for comparison")
    value: str
    on: date | None
    standing: Standing


class AimAnswer(BaseModel):
    source: str = Field(description="key of the publication")
    name: str
    dioptres: float = Field(description="refraction aimed at on the day, D at the spectacle plane")
    convention: str = Field(description="how its ages were counted, and for whom")
    status: Status


class PredictedAnswer(BaseModel):
    """D at the spectacle plane; `anisometropia` is the eye less the fellow eye as it is now, or, where that one is aphakic too, as it grows without a lens."""

    choice: str
    age_years: float
    refraction: float
    low: float
    high: float
    anisometropia: float
    band: str = Field(description="what the band from low to high is")
    status: Status


class EyeAnswer(BaseModel):
    held: list[HeldAnswer]
    refusal: str | None = Field(description="why nothing is predicted")
    predicted: list[PredictedAnswer]


class SecondaryLensAnswer(BaseModel):
    on: date
    eyes: dict[Laterality, EyeAnswer] = Field(description="the aphakic eyes")
    aims: list[AimAnswer]
    findings: list[FindingAnswer]
    cautions: list[str]


@router.get("/secondary-lens", summary="What is on record before a secondary lens, published aims, and the eye under each choice")
def read_secondary_lens(request: Request, staff: ApiStaff, child_id: str) -> SecondaryLensAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    shown = secondary_lens_page.view(c, SPEAK)
    return SecondaryLensAnswer(
        on=shown.today,
        eyes={e.side: _eye(e) for e in shown.eyes},
        aims=[_aim(a) for a in shown.found],
        findings=[FindingAnswer.model_validate(f) for f in shown.findings],
        cautions=list(shown.cautions),
    )


def _eye(e: secondary_lens_page.EyeShown) -> EyeAnswer:
    rows = e.outlook.rows if e.outlook else ()
    return EyeAnswer(held=[HeldAnswer.model_validate(h) for h in e.held], refusal=e.refusal or None, predicted=[_predicted(p) for p in rows])


def _aim(a: Aim) -> AimAnswer:
    return AimAnswer(source=a.source_key, name=SPEAK.text(a.name), dioptres=a.dioptres, convention=SPEAK.text(a.convention), status=a.status)


def _predicted(p: Predicted) -> PredictedAnswer:
    return PredictedAnswer(
        choice=SPEAK.text(p.choice.name),
        age_years=p.age_years,
        refraction=p.refraction,
        low=p.low,
        high=p.high,
        anisometropia=p.anisometropia,
        band=SPEAK.text(p.band),
        status=p.status,
    )
