"""The caregiver's pages: what is planned today, and saying what was worn. GET never records."""

from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import PostedFields
from service.db import reading
from service.errors import NotFoundError
from service.forms import day_or_none
from service.pages.answers import go
from service.pages.family_door import Door
from service.store import children, links, people
from service.tokens import day_signature, same
from service.views import case, home_sheet
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()


@router.get("/family/{token}")
def today_page(request: Request, token: str, day: str = "", noted: str = "") -> Response:
    return Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).show(day=day, noted=noted)


@router.post("/family/{token}/wear")
def say(request: Request, data: PostedFields, token: str) -> Response:
    return Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).say(data)


@router.post("/family/{token}/timer")
def timer(request: Request, data: PostedFields, token: str) -> Response:
    return Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).timer(data)


@router.post("/family/{token}/undo")
def undo(request: Request, data: PostedFields, token: str) -> Response:
    return Door(request, f"/family/{token}", lambda session: links.subscription_of_page(session, token)).undo(data)


@router.get("/family/{token}/wear")
@router.get("/family/{token}/timer")
@router.get("/family/{token}/undo")
def back_to_today(token: str) -> Response:
    """A phone opens again the address at which it stood, also that of a form it sent."""
    return go(f"/family/{token}")


@router.get("/family/{token}/sheet")
def sheet_page(request: Request, token: str, first: str = "", paper: str = "", pictures: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        subscription = links.subscription_of_page(session, token)
        c = case.load(session, children.child_by_id(session, subscription.child_id), w.clock.now())
        clinic, speak = people.clinic(session, subscription.clinic_id), words_of(session, subscription)
    shown = home_sheet.view(
        c,
        clinic,
        speak,
        label=subscription.label,
        base=f"/family/{token}",
        from_on=day_or_none(first),
        paper=home_sheet.paper_named(paper),
        pictures=bool(pictures),
    )
    answer = w.renderer.page(speak, "caregiver/sheet.html", {"page": shown, "visitor": None})
    answer.headers["Cache-Control"] = "no-store"
    return answer


@router.get("/day/{link_id}/{day}/{sign}")
def day_page(request: Request, link_id: str, day: str, sign: str, noted: str = "") -> Response:
    return _day_door(request, link_id, day, sign).show(day=day, noted=noted)


@router.post("/day/{link_id}/{day}/{sign}/wear")
def say_day(request: Request, data: PostedFields, link_id: str, day: str, sign: str) -> Response:
    return _day_door(request, link_id, day, sign).say(data)


@router.post("/day/{link_id}/{day}/{sign}/undo")
def undo_day(request: Request, data: PostedFields, link_id: str, day: str, sign: str) -> Response:
    return _day_door(request, link_id, day, sign).undo(data)


@router.get("/day/{link_id}/{day}/{sign}/wear")
@router.get("/day/{link_id}/{day}/{sign}/undo")
def back_to_the_day(link_id: str, day: str, sign: str) -> Response:
    return go(f"/day/{link_id}/{day}/{sign}")


def _day_door(request: Request, link_id: str, day: str, sign: str) -> Door:
    """A calendar entry's link: one day, until seven days after it; every other address answers as if it were not there."""
    w = wiring(request)
    try:
        on = date.fromisoformat(day)
    except ValueError:
        raise NotFoundError from None
    if not same(sign, day_signature(w.settings.secret_key, link_id, on)):
        raise NotFoundError
    return Door(request, f"/day/{link_id}/{day}/{sign}", lambda session: links.subscription_by_public_id(session, link_id), only=on)
