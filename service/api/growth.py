"""How a child's aphakic eyes grow, as its page shows it."""

from datetime import date

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field

from service.access import child_of
from service.api.answers import FindingAnswer, finding_answer
from service.api.bearer import ApiStaff
from service.api.problems import problems
from service.db import reading
from service.views import case
from service.views.eye_courses import courses
from service.views.eye_growth import expected_on, findings, out_on
from service.wiring import wiring
from shared.growing.growth_course import forecast_finding
from shared.optics.planes import RefractionPlane
from shared.vocabulary import Laterality

router = APIRouter(prefix="/children/{child_id}", tags=["lenses"], responses=problems(404))


class RefractionAnswer(BaseModel):
    """Spherical equivalents in D, without stitches."""

    on: date
    spectacles_dioptres: float
    cornea_dioptres: float


class OutAnswer(BaseModel):
    """When the lens worn, or else one that was right, is expected to be out; null: not within the published ages."""

    limit_dioptres: float
    earliest: date | None
    likely: date | None
    latest: date | None


class EyeGrowthAnswer(BaseModel):
    refractions: list[RefractionAnswer]
    worn_dioptres: float | None = Field(description="distance power of the lens worn, at the cornea, without near")
    forecast: list[FindingAnswer] = Field(description="from the newest refraction, for today and some months on; empty: nothing is published for it")
    out: list[OutAnswer]


class GrowthAnswer(BaseModel):
    eyes: dict[Laterality, EyeGrowthAnswer] = Field(description="the aphakic ones")
    findings: list[FindingAnswer]


@router.get("/growth", summary="Growth of a child's aphakic eyes: refractions, forecast, and when a lens is outgrown")
def read_growth(request: Request, staff: ApiStaff, child_id: str) -> GrowthAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    eyes = {}
    for course in courses(c):
        eyes[course.side] = EyeGrowthAnswer(
            refractions=[
                RefractionAnswer(
                    on=r.on,
                    spectacles_dioptres=r.refraction.at(RefractionPlane.SPECTACLES).power,
                    cornea_dioptres=r.refraction.at(RefractionPlane.CORNEA).power,
                )
                for r in course.refractions
            ],
            worn_dioptres=course.worn_dioptres,
            forecast=[finding_answer(forecast_finding(course.side, f, on)) for on, f in expected_on(course, c.today)],
            out=[OutAnswer(limit_dioptres=o.limit, earliest=o.earliest, likely=o.likely, latest=o.latest) for o in out_on(c, course)],
        )
    return GrowthAnswer(eyes=eyes, findings=[finding_answer(f) for f in findings(c)])
