"""What an administrator settles for the whole clinic: who may sign what, and the clinic's own pathway text."""

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel, Field, create_model
from sqlmodel import Session

from service.actions import clinic as actions
from service.api.bearer import ApiAdministrator
from service.api.body import LONGEST_ID, Filled, Lines, Strict
from service.api.problems import problems
from service.db import reading, writing
from service.facts import Role, SignedKind, Staff
from service.store import people
from service.wiring import wiring

router = APIRouter(prefix="/clinic", tags=["clinic"], responses=problems(403))

_fields: dict[str, Any] = {role.value: (list[SignedKind], ...) for role in actions.SIGNERS}
SignRights = create_model("SignRights", __base__=Strict, __doc__="What each role may sign; reception signs nothing.", **_fields)


class Settled(Strict):
    """The whole of it as it is to be."""

    sign_rights: SignRights  # type: ignore[valid-type]  # made while running
    pathway: Lines = Field(max_length=actions.PATHWAY_LONGEST, description="the clinic's own words for a child who was not brought; may be empty")
    seen: Filled = Field(max_length=LONGEST_ID, description="`digest` of what was read; what somebody else has changed since is not overwritten (409)")


class ClinicAnswer(BaseModel):
    sign_rights: dict[Role, list[SignedKind]]
    pathway: str
    digest: str = Field(description="stands for all of this; sent back as `seen` it changes it")


def _answer(session: Session, staff: Staff) -> ClinicAnswer:
    rights, pathway = people.sign_rights(session, staff.clinic_id), people.clinic(session, staff.clinic_id).not_brought_pathway
    by_role: dict[Role, list[SignedKind]] = {role: [kind for kind in SignedKind if (role, kind) in rights] for role in actions.SIGNERS}
    return ClinicAnswer(sign_rights=by_role, pathway=pathway, digest=actions.digest(rights, pathway))


@router.get("", summary="Who may sign what, and the clinic's pathway; for an administrator")
def read_clinic(request: Request, staff: ApiAdministrator) -> ClinicAnswer:
    with reading(wiring(request).engine) as session:
        return _answer(session, staff)


@router.put("", summary="Settle who may sign what, and the clinic's pathway; for an administrator", responses=problems(409))
def settle_clinic(request: Request, staff: ApiAdministrator, body: Settled) -> ClinicAnswer:
    w = wiring(request)
    rights = [(role, kind) for role in actions.SIGNERS for kind in getattr(body.sign_rights, role)]
    with writing(w.engine) as session:
        actions.settle(session, staff, rights, body.pathway, body.seen, w.clock.now())
        return _answer(session, staff)
