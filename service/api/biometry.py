"""Keratometry, axial length and pressure, added to a visit by an instrument or a records system."""

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import Field

from service.access import child_of
from service.actions import biometry
from service.api.bearer import ApiRecorder
from service.api.body import LONGEST_ID, Line, Number, Strict, Whole
from service.api.problems import problems
from service.db import writing
from service.wiring import wiring
from shared.vocabulary import Laterality

router = APIRouter(prefix="/children/{child_id}/visits/{visit_id}", tags=["visits"], responses=problems(403, 404, 409))


class EyeBiometry(Strict):
    k1_dioptres: Number | None = Field(None, ge=25, le=65)
    k2_dioptres: Number | None = Field(None, ge=25, le=65)
    axial_length_mm: Number | None = Field(None, ge=10, le=40)
    pressure_mmhg: Number | None = Field(None, ge=0, le=80)


class BothEyesBiometry(Strict):
    right: EyeBiometry | None = None
    left: EyeBiometry | None = None


class Biometry(Strict):
    """`version` is the visit's version this adds to; somebody else's newer one is never overwritten (409).

    `as_typed` is what a 409 gave beside its questions, and answers these.
    """

    version: Whole = Field(ge=1)
    eyes: BothEyesBiometry
    as_typed: Line = Field("", max_length=LONGEST_ID)


@router.put("/biometry", status_code=204, summary="Add keratometry, axial length and pressure to a visit")
def add_biometry(request: Request, staff: ApiRecorder, child_id: str, visit_id: str, body: Biometry) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        child = child_of(session, staff, child_id)
        measured = {eye: e.model_dump(exclude_none=True) for eye in Laterality if (e := getattr(body.eyes, eye)) is not None}
        biometry.add(session, staff, child, visit_id, body.version, measured, w.clock.now(), answered=body.as_typed)
    return Response(status_code=204)
