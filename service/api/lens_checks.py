"""Made-up lenses measured against the signed correction they were ordered by."""

from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import Response
from pydantic import BaseModel, Field, create_model
from sqlmodel import Session

from service.access import child_of
from service.actions import lens_checks as actions
from service.api.answers import SourceAnswer
from service.api.bearer import ApiRecorder, ApiStaff
from service.api.body import SPEAK, Number, Strict
from service.api.once import DoneOnce
from service.api.pages import Listed, Page, WantedPage
from service.api.problems import problems
from service.db import reading
from service.errors import NotFoundError
from service.facts import SignedCorrection, Staff
from service.facts_of_lenses import LensCheck
from service.store import lenses, signed
from service.wiring import wiring
from shared.optics.made_lens import Checked
from shared.sources import source
from shared.vocabulary import CorrectionKind, Laterality, Status

router = APIRouter(prefix="/children/{child_id}/corrections/{correction_id}/checks", tags=["lenses"], responses=problems(404))


def _measured(kind: CorrectionKind, name: str, low: float, high: float, unit: str) -> tuple[Any, Any]:
    return Number | None, Field(None, ge=low, le=high, description=f"{unit}; of {SPEAK.label(kind)}")


_fields: dict[str, Any] = {name: _measured(kind, name, *limits) for kind, names in actions.MEASURED.items() for name, limits in names.items()}
MeasuredEye = create_model("MeasuredEye", __base__=Strict, __doc__="`sphere` of spectacles or `power` of a contact lens is needed.", **_fields)


class MeasuredEyes(Strict):
    """null leaves an eye out."""

    right: MeasuredEye | None = None  # type: ignore[valid-type]  # made while running
    left: MeasuredEye | None = None  # type: ignore[valid-type]  # made while running


class MadeUp(Strict):
    eyes: MeasuredEyes


class CheckedRow(BaseModel):
    what: str
    ordered: float
    measured: float
    tolerance: float = Field(description="either way")
    unit: str = Field(description="of these three")
    within: bool
    status: Status = Field(description="how well the source of the tolerance is known")
    source: SourceAnswer


class CheckedEye(BaseModel):
    within: bool
    assumed_rigid: bool = Field(description="the order names no material, so the stricter tolerances of a rigid lens were used")
    rows: list[CheckedRow]


class CheckAnswer(Listed):
    """`id` is the check's number among those of its correction."""

    measured: dict[Laterality, dict[str, float]]
    eyes: dict[Laterality, CheckedEye]
    recorded_by: str
    recorded_at: datetime


def _answers(session: Session, staff: Staff, child_id: str, correction_id: str) -> list[CheckAnswer]:
    child = child_of(session, staff, child_id)
    document = signed.correction(session, child, correction_id)
    return [_answer(str(n), document, check) for n, check in enumerate(lenses.checks(session, child, correction_id), 1)]


def _answer(number: str, document: SignedCorrection, check: LensCheck) -> CheckAnswer:
    return CheckAnswer(
        id=number,
        measured={Laterality(eye): dict(values) for eye, values in check.measured.items()},
        eyes={eye: _eye(document, eye, check) for eye in document.eyes if eye in check.measured},
        recorded_by=check.recorded_by,
        recorded_at=check.recorded_at,
    )


def _eye(document: SignedCorrection, eye: Laterality, check: LensCheck) -> CheckedEye:
    rows = actions.check_eye(document, eye, check.measured[eye])
    assumed = document.kind is CorrectionKind.CONTACT_LENS and not document.content["eyes"][eye].get("material")
    return CheckedEye(within=all(row.within for row in rows), assumed_rigid=assumed, rows=[_row(row) for row in rows])


def _row(row: Checked) -> CheckedRow:
    return CheckedRow(
        what=SPEAK.text(row.what),
        ordered=row.ordered.value,
        measured=row.measured.value,
        tolerance=row.tolerance.value,
        unit=row.tolerance.unit,
        within=row.within,
        status=row.status,
        source=SourceAnswer.model_validate(source(row.source)),
    )


@router.get("", summary="The checks of what was made up by a correction, oldest first")
def list_lens_checks(request: Request, staff: ApiStaff, child_id: str, correction_id: str, wanted: WantedPage) -> Page[CheckAnswer]:
    with reading(wiring(request).engine) as session:
        return wanted.among(_answers(session, staff, child_id, correction_id))


@router.post("", status_code=201, summary="Check made-up lenses; the order stays as it is", response_model=CheckAnswer, responses=problems(400, 403))
def check_lenses(staff: ApiRecorder, once: DoneOnce, child_id: str, correction_id: str, body: MadeUp) -> Response:
    def deed(session: Session, now: datetime) -> CheckAnswer:
        child = child_of(session, staff, child_id)
        measured = {eye.value: e.model_dump(exclude_none=True) for eye in Laterality if (e := getattr(body.eyes, eye)) is not None}
        actions.record(session, staff, child, signed.correction(session, child, correction_id), measured, now)
        return _answers(session, staff, child_id, correction_id)[-1]

    return once.make("check-lens", body, deed)


@router.get("/{check_id}", summary="One check")
def read_lens_check(request: Request, staff: ApiStaff, child_id: str, correction_id: str, check_id: str) -> CheckAnswer:
    with reading(wiring(request).engine) as session:
        found = next((c for c in _answers(session, staff, child_id, correction_id) if c.id == check_id), None)
    if found is None:
        raise NotFoundError
    return found
