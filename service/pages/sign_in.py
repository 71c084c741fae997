"""Signing in and out."""

from typing import Annotated
from urllib.parse import urlsplit

from fastapi import APIRouter, Cookie, Request
from fastapi.responses import Response

from service.access import SESSION_COOKIE, SESSION_LASTS, PostedFields, SignedIn, StaffForm
from service.actions import sign_in
from service.db import writing
from service.errors import RefusedRequestError
from service.forms import Form
from service.i18n import words
from service.pages.answers import go
from service.store import people
from service.tokens import new_token, same, signature
from service.wiring import Wiring, wiring
from shared.findings import msg

router = APIRouter()
VISITOR_COOKIE = "occlusion_dose_visitor"
LOCALE = "en"  # before anyone is known, no clinic's language is


@router.get("/sign-in")
def form_page(request: Request, next: str = "/") -> Response:
    w = wiring(request)
    token = request.cookies.get(VISITOR_COOKIE) or new_token("v")
    answer = _page(w, Form(words(LOCALE), _form_token(w, token), {"next": next}))
    answer.set_cookie(VISITOR_COOKIE, token, httponly=True, samesite="lax", secure=w.settings.secure_cookies)
    return answer


@router.post("/sign-in")
def sign_in_page(request: Request, data: PostedFields, visitor: Annotated[str, Cookie(alias=VISITOR_COOKIE)] = "") -> Response:
    w = wiring(request)
    if not visitor or not same(data.get("form_token", ""), _form_token(w, visitor)):
        raise RefusedRequestError
    form = Form.posted(words(LOCALE), data["form_token"], data)
    name, password = form.text("sign_in_name"), data.get("password", "")
    form.values.pop("password", None)
    if form.errors:
        return _page(w, form, 422)
    now, address = w.clock.now(), request.client.host if request.client else ""
    try:
        with writing(w.engine) as session:
            sign_in.admit_attempt(session, name, address, now)
    except sign_in.TooManyAttemptsError:
        form.refuse("password", msg("Too many attempts. Please wait a quarter of an hour and try again."))
        return _page(w, form, 429)
    with writing(w.engine) as session:
        token = sign_in.sign_in(session, name, password, address, now)
    if token is None:
        form.refuse("password", msg("This name and password do not belong together."))
        return _page(w, form, 422)
    answer = go(_own_address(form.raw("next")))
    answer.set_cookie(SESSION_COOKIE, token, max_age=int(SESSION_LASTS.total_seconds()), httponly=True, samesite="lax", secure=w.settings.secure_cookies)
    return answer


@router.post("/sign-out")
def sign_out(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    w = wiring(request)
    with writing(w.engine) as session:
        people.end_staff_session(session, request.cookies.get(SESSION_COOKIE, ""), w.clock.now())
    answer = go("/sign-in")
    answer.delete_cookie(SESSION_COOKIE)
    return answer


def _form_token(w: Wiring, visitor: str) -> str:
    return signature(w.settings.secret_key, "sign-in", visitor)


def _page(w: Wiring, form: Form, status: int = 200) -> Response:
    return w.renderer.page(words(LOCALE), "sign_in.html", {"form": form, "visitor": None}, status)


def _own_address(address: str) -> str:
    """Only a path of this site: a sign-in page that sends people elsewhere is a gift to phishers."""
    try:
        parts = urlsplit(address)
    except ValueError:
        return "/"
    own = address.startswith("/") and not address.startswith(("//", "/\\")) and not parts.scheme and not parts.netloc
    return address if own else "/"
