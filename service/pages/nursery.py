"""A nursery's or school's page: today, and saying what was worn there. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import PostedFields
from service.actions import nursery_links, wear
from service.db import reading, writing
from service.errors import RefusedRequestError
from service.forms import Form, InvalidFormError
from service.i18n import words
from service.pages.answers import go
from service.store import people
from service.tokens import same, signature
from service.views import case, nursery
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()
OVER = msg("The day this page was opened on is over. It shows today now; please look again.")


@router.get("/nursery/{token}")
def today_page(request: Request, token: str, noted: str = "") -> Response:
    return _show(request, token, None, noted=noted)


@router.post("/nursery/{token}/wear")
def say(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    now, form = w.clock.now(), _form(request, token, data)
    on, how = form.day("on"), form.choice("how", wear.How)
    typed = form.optional_number("minutes", 1, wear.MINUTES_OF_A_DAY, form.words.gettext("minutes")) if how is wear.How.SOME else None
    reason = form.optional_choice("reason", wear.NotWornReason) if how is wear.How.NONE else None
    worn = {"yes": True, "no": False}.get(form.raw("correction_worn"))
    if typed is not None and typed != int(typed):
        form.refuse("minutes", msg("Whole minutes, please: one and a half hours are 90."))
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:
            link, child = nursery_links.opened(session, token, now)
            c = case.load(session, child, now)
            minutes = nursery.minutes_here(c)
            if on != c.today:
                form.refuse("on", OVER)
            elif not minutes:
                form.refuse("on", msg("No patch is planned here today."))
            form.check()
            some = wear.How.NONE if how is wear.How.NONE else wear.How.SOME
            asked = minutes if how is wear.How.ALL else None if typed is None else int(typed)
            said = wear.Said(on, some, asked, reason, worn, form.deed_key("wear"))
            wear.say(session, wear.nursery(link), child, c.revisions, said, now)
        form.check()
    except InvalidFormError:
        return _show(request, token, form, status=422)
    except wear.TakenBackError:
        form.refuse("on", msg("This was noted before and taken back. Please look at the day as it is now, and note it again."))
        return _show(request, token, form, status=409)
    return go(f"/nursery/{token}?noted=yes")


@router.post("/nursery/{token}/undo")
def undo(request: Request, data: PostedFields, token: str) -> Response:
    w = wiring(request)
    now, form = w.clock.now(), _form(request, token, data)
    with form.catching(), writing(w.engine) as session:
        link, child = nursery_links.opened(session, token, now)
        wear.undo(session, wear.nursery(link), child, form.raw("entry"), form.deed_key("undo"), now)
    return _show(request, token, form, status=422) if form.errors else go(f"/nursery/{token}?noted=undone")


def _form_token(request: Request, token: str) -> str:
    return signature(wiring(request).settings.secret_key, "nursery-form", token)


def _form(request: Request, token: str, data: dict[str, str]) -> Form:
    if not same(data.get("form_token", ""), _form_token(request, token)):
        raise RefusedRequestError
    w = wiring(request)
    with reading(w.engine) as session:
        link, _ = nursery_links.opened(session, token, w.clock.now())
        speak = words(people.clinic(session, link.clinic_id).locale)
    return Form.posted(speak, data["form_token"], data)


def _show(request: Request, token: str, form: Form | None, *, noted: str = "", status: int = 200) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        link, child = nursery_links.opened(session, token, now)
        clinic = people.clinic(session, link.clinic_id)
        speak = words(clinic.locale)
        page = nursery.view(case.load(session, child, now), link, clinic, speak, f"/nursery/{token}")
    form = form or Form(speak, _form_token(request, token))
    answer = w.renderer.page(speak, "caregiver/nursery.html", {"page": page, "form": form, "noted": noted}, status)
    answer.headers["Cache-Control"] = "no-store"
    return answer
