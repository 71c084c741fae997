"""In which language a link speaks, as the family chooses it. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.feed_style import Language
from service.access import PostedFields
from service.actions import languages as actions
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.pages.link_door import LinkDoor, of_family
from service.store import people
from service.views.languages import offered

router = APIRouter()


@router.get("/family/{token}/language")
def language_page(request: Request, token: str) -> Response:
    door = of_family(request, token, "/language")
    return _show(door, Form(door.words, door.form_token))


@router.post("/family/{token}/language")
def choose(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/language")
    form = door.posted(data)
    language = form.choice("language", Language)
    try:
        form.check()
        with form.catching(), writing(door.wiring.engine) as session:
            link, child, _ = door.find(session)
            actions.choose(session, link, child, language, door.wiring.clock.now())
        form.check()
    except InvalidFormError:
        return _show(door, form, 422)
    return go(f"/family/{token}")


def _show(door: LinkDoor, form: Form, status: int = 200) -> Response:
    with reading(door.wiring.engine) as session:
        link, _, _ = door.find(session)
        found = offered(session, people.clinic(session, link.clinic_id))
    form.values.setdefault("language", door.words.language)
    return door.page("language", status, form=form, label=link.label, offered=found)
