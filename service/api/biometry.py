"""Keratometry, axial length and pressure of a visit: fields here, pages later."""

from fastapi import APIRouter, Response
from pydantic import Field
from starlette.requests import Request

from service.access import child_of
from service.actions import biometry
from service.api.bearer import ApiStaff
from service.api.calc import Question
from service.db import writing
from service.wiring import wiring
from shared.vocabulary import Laterality

router = APIRouter(prefix="/api", tags=["visits"])


class EyeBiometry(Question):
    k1_dioptres: float | None = Field(None, ge=25, le=65)
    k2_dioptres: float | None = Field(None, ge=25, le=65)
    axial_length_mm: float | None = Field(None, ge=10, le=40)
    pressure_mmhg: float | None = Field(None, ge=0, le=80)


class Biometry(Question):
    """`version` is the visit's version this adds to; somebody else's newer one is never overwritten (409).

    `as_typed` is what a 409 gave beside its questions, and answers these.
    """

    version: int = Field(ge=1)
    eyes: dict[Laterality, EyeBiometry]
    as_typed: str = ""


@router.put("/children/{child_id}/visits/{visit_id}/biometry", status_code=204, summary="Add keratometry, axial length and pressure to a visit")
def put_biometry(request: Request, staff: ApiStaff, child_id: str, visit_id: str, body: Biometry) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        measured = {eye: e.model_dump(exclude_none=True) for eye, e in body.eyes.items()}
        biometry.add(session, staff, child, visit_id, body.version, measured, w.clock.now(), answered=body.as_typed)
    return Response(status_code=204)
