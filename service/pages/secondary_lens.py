"""What a team looks at before a secondary lens; nothing is signed here."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, child_of
from service.db import reading
from service.pages.answers import page
from service.views import case, secondary_lens_page
from service.wiring import wiring

router = APIRouter()


@router.get("/children/{child_id}/secondary-lens")
def secondary_lens(request: Request, visitor: SignedIn, child_id: str) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return page(request, visitor, "clinic/secondary_lens.html", page=secondary_lens_page.view(known, visitor.words))
