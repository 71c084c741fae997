"""Telling the clinic, from a caregiver's link: first the signs for which one calls. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import PostedFields
from service.actions import tellings as actions
from service.db import reading, writing
from service.facts_of_tellings import About
from service.forms import Form, InvalidFormError
from service.pages import kept
from service.pages.answers import go
from service.pages.link_door import LinkDoor, of_family
from service.store import people, tellings
from service.views import case
from service.views import tellings as view
from shared.vocabulary import Laterality

router = APIRouter()


@router.get("/family/{token}/tell")
def tell_page(request: Request, token: str, none: str = "", told: str = "") -> Response:
    door = of_family(request, token, "/tell")
    return _show(door, Form(door.words, door.form_token), asked=none == "yes", just=told)


@router.post("/family/{token}/tell")
def tell(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/tell")
    form, now = door.posted(data), door.wiring.clock.now()
    about = form.choice("about", About)
    public_id = ""
    try:
        said = actions.Said(
            about=about,
            eye=form.optional_choice("eye", Laterality),
            text=form.long_text("text", longest=actions.LONGEST),
            no_signs=form.raw("no_signs") == "yes",
            client_key=form.deed_key("tell"),
            said_at=kept.device_time(request, form, "said_at", now),
        )
        form.check()
        with form.catching(), writing(door.wiring.engine) as session:
            subscription, child, _ = door.find(session)
            public_id = actions.tell(session, subscription, child, said, now)
        form.check()
    except InvalidFormError:
        return kept.told(request, "refused", form) or _show(door, form, asked=True, status=422)
    see = f"/family/{token}/signs?told=yes" if about is About.SIGNS else f"{door.address}?told={public_id}"
    return kept.told(request, "noted", form, see=see) or go(see)


def _show(door: LinkDoor, form: Form, *, asked: bool, just: str = "", status: int = 200) -> Response:
    """`asked`: there is none of the signs, so what else is it?"""
    with reading(door.wiring.engine) as session:
        subscription, child, _ = door.find(session)
        c = case.load(session, child, door.wiring.clock.now())
        told, clinic = tellings.of_link(session, subscription), people.clinic(session, subscription.clinic_id)
    shown = view.view(c, subscription, told, just, form.words)
    return door.page("tell", status, page=shown, form=form, asked=asked, clinic=clinic)
