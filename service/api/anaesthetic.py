"""What to measure under a child's next anaesthetic."""

from datetime import date
from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, ConfigDict, Field

from service.access import child_of
from service.api.bearer import ApiStaff
from service.api.body import SPEAK
from service.api.problems import problems
from service.db import reading
from service.views import anaesthetic_page, case
from service.wiring import wiring
from shared.course.anaesthetic import Measurement, Standing
from shared.vocabulary import Laterality

router = APIRouter(prefix="/children/{child_id}", tags=["bookings"], responses=problems(404))


class MeasurementAnswer(BaseModel):
    model_config = ConfigDict(from_attributes=True)
    measurement: Measurement
    standing: Standing = Field(description="on the day of the list: missing, too old to rest on, or recent")
    on: date | None = Field(description="when it was last taken")
    found: dict[str, Any] = Field(description="the last values, under the names of a visit")
    value: str = Field(description="them in words")
    how: str = Field(description="how they were taken")


class EyeMeasurements(BaseModel):
    status: str
    rows: list[MeasurementAnswer]


class AnaestheticAnswer(BaseModel):
    booked_on: date | None
    on: date = Field(description="the day the list is judged for: the booked one, else today")
    age: str = Field(description="of the child on that day")
    stale_after: str
    eyes: dict[Laterality, EyeMeasurements]


@router.get("/anaesthetic", summary="Each eye's last measurements, and what is missing or stale, for the next anaesthetic")
def read_anaesthetic(request: Request, staff: ApiStaff, child_id: str) -> AnaestheticAnswer:
    w = wiring(request)
    with reading(w.engine) as session:
        c = case.load(session, child_of(session, staff, child_id), w.clock.now())
    shown = anaesthetic_page.view(c, SPEAK)
    return AnaestheticAnswer(
        booked_on=shown.booked_on,
        on=shown.on,
        age=shown.age,
        stale_after=shown.stale_after,
        eyes={e.side: EyeMeasurements(status=e.status, rows=[MeasurementAnswer.model_validate(row) for row in e.rows]) for e in shown.eyes},
    )
