"""The clinic's side of languages: what each translation says beside the English, and that it was checked."""

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from schedules.feed_style import Language
from service import catalogues
from service.access import SignedIn, StaffForm, Visitor, require_administrator
from service.actions import languages as actions
from service.db import reading
from service.errors import NotFoundError
from service.forms import Form
from service.pages import versions
from service.pages.answers import page
from service.views import languages as view
from service.wiring import wiring

router = APIRouter()


@router.get("/languages")
def languages_page(request: Request, visitor: SignedIn) -> Response:
    require_administrator(visitor.staff)
    with reading(wiring(request).engine) as session:
        found = [view.shown(session, visitor.clinic.id, Language(language)) for language in catalogues.TRANSLATED]
    return page(request, visitor, "clinic/languages.html", found=found)


@router.get("/languages/{language}")
def catalogue_page(request: Request, visitor: SignedIn, language: str) -> Response:
    require_administrator(visitor.staff)
    return _answer(request, visitor, _translated(language), None)


@router.post("/languages/{language}")
def mark_reviewed(request: Request, visitor: SignedIn, form: StaffForm, language: str) -> Response:
    """What was read is what is marked: the form carries the digest of the texts it showed."""
    require_administrator(visitor.staff)
    which = _translated(language)

    def deed(session: Session) -> None:
        actions.mark_reviewed(session, visitor.staff, which, form.raw("seen"), wiring(request).clock.now())

    return versions.take(request, visitor, form, "review-catalogue", "seen", "/languages", deed, lambda status: _answer(request, visitor, which, form, status))


def _translated(language: str) -> Language:
    if language not in catalogues.TRANSLATED:
        raise NotFoundError
    return Language(language)


def _answer(request: Request, visitor: Visitor, language: Language, form: Form | None, status: int = 200) -> Response:
    with reading(wiring(request).engine) as session:
        found = view.shown(session, visitor.clinic.id, language)
    return page(request, visitor, "clinic/catalogue.html", status, page=found, form=form or visitor.form(seen=found.digest))
