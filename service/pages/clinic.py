"""The administrator's page, and the notices that somebody has seen."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, require_administrator
from service.actions import clinic as actions
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts import SignedKind
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import notices, people
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get("/clinic")
def settings_page(request: Request, visitor: SignedIn) -> Response:
    require_administrator(visitor.staff)
    return _answer(request, visitor, _stored(request, visitor))


@router.post("/clinic")
def settle(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_administrator(visitor.staff)
    w = wiring(request)
    rights = [(role, kind) for role in actions.SIGNERS for kind in SignedKind if form.ticked(f"{role}_{kind}")]
    try:
        pathway = form.long_text("pathway", longest=actions.PATHWAY_LONGEST)
        form.check()
        with form.catching(), writing(w.engine) as session:
            actions.settle(session, visitor.staff, rights, pathway, form.raw("seen"), w.clock.now())
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, 422)
    except ChangedMeanwhileError:
        form.refuse("pathway", msg("Somebody else has changed this meanwhile; what you typed stands here. Save again to replace theirs."))
        form.values["seen"] = _stored(request, visitor).raw("seen")
        return _answer(request, visitor, form, 409)
    return go("/clinic?saved=yes")


def _stored(request: Request, visitor: Visitor) -> Form:
    with reading(wiring(request).engine) as session:
        rights = people.sign_rights(session, visitor.clinic.id)
        pathway = people.clinic(session, visitor.clinic.id).not_brought_pathway
    return visitor.form(pathway=pathway, seen=actions.digest(rights, pathway), **{f"{role}_{kind}": "yes" for role, kind in rights})


def _answer(request: Request, visitor: Visitor, form: Form, status: int = 200) -> Response:
    saved = request.query_params.get("saved") == "yes"
    return page(request, visitor, "clinic/clinic.html", status, form=form, roles=actions.SIGNERS, kinds=tuple(SignedKind), saved=saved)


@router.post("/notices/{notice_id}/seen")
def seen(request: Request, visitor: SignedIn, form: StaffForm, notice_id: str) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        notices.mark_seen(session, visitor.staff, notice_id, w.clock.now())
    return go("/")
