"""Help for families: what calendar programs do with a calendar they subscribe to. It holds nothing of anybody, and needs no link."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.answers_to_errors import LOCALE
from service.i18n import words
from service.views.calendar_help import LOOKED_UP_IN, PROGRAMS
from service.wiring import wiring

router = APIRouter()


@router.get("/help/calendars")
def help_page(request: Request) -> Response:
    return wiring(request).renderer.page(words(LOCALE), "caregiver/calendars.html", {"programs": PROGRAMS, "month": LOOKED_UP_IN})
