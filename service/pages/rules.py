"""The rules and their sources: seen by all staff, set for the clinic by its administrator."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, require_administrator
from service.actions import clinic_rules as actions
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.store import clinic_rules as store
from service.views import rules_page, sources_page
from service.wiring import wiring
from shared.course.limits import ReviewLimits
from shared.findings import msg
from shared.rounding import round_half_up
from shared.rules import RULES

router = APIRouter()
PERCENT = 100


@router.get("/sources")
def sources(request: Request, visitor: SignedIn) -> Response:
    return page(request, visitor, "clinic/sources.html", page=sources_page.view(visitor.words))


@router.get("/rules")
def rules(request: Request, visitor: SignedIn) -> Response:
    return _answer(request, visitor, _stored(request, visitor))


@router.post("/rules")
def settle(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_administrator(visitor.staff)
    w = wiring(request)
    try:
        low, over = (form.number(name, 0, 1000, "%") / PERCENT for name in ("low_share", "over_share"))
        lens_off, reason = form.number("lens_off_dioptres", 0, 20, "D"), form.optional_text("reason", longest=300)
        off = frozenset(name for name in RULES if not form.ticked(f"on_{name}"))
        form.check()
        with form.catching(), writing(w.engine) as session:
            actions.settle(session, visitor.staff, ReviewLimits(low, over, lens_off, off), reason, int(form.raw("seen") or 0), w.clock.now())
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, 422)
    except ChangedMeanwhileError:
        form.refuse("reason", msg("Somebody else has changed this meanwhile; what you typed stands here. Save again to replace theirs."))
        form.values["seen"] = _stored(request, visitor).raw("seen")
        return _answer(request, visitor, form, 409)
    return go("/rules?saved=yes")


def _stored(request: Request, visitor: Visitor) -> Form:
    with reading(wiring(request).engine) as session:
        newest = store.newest(session, visitor.clinic.id)
    limits = newest.limits
    shares = {"low_share": limits.low_share, "over_share": limits.over_share}
    typed = {name: f"{round_half_up(share * PERCENT, 0.1):g}" for name, share in shares.items()}
    on = {f"on_{name}": "yes" for name in RULES if name not in limits.rules_off}
    return visitor.form(**typed, lens_off_dioptres=limits.lens_off_dioptres, seen=newest.number, **on)


def _answer(request: Request, visitor: Visitor, form: Form, status: int = 200) -> Response:
    with reading(wiring(request).engine) as session:
        versions = store.versions(session, visitor.clinic.id)
    saved = request.query_params.get("saved") == "yes"
    return page(request, visitor, "clinic/rules.html", status, page=rules_page.view(versions, visitor.words), form=form, saved=saved)
