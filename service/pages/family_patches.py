"""The family's own count of its patches, from which the service says when to ask for more. GET never records."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.care_facts import MOST_PATCHES, MOST_PATCHES_A_DAY
from service.access import PostedFields
from service.actions import care
from service.db import reading, writing
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.pages.link_door import LinkDoor, of_family
from service.store import care_record, trail

router = APIRouter()


@router.get("/family/{token}/patches")
def count_page(request: Request, token: str) -> Response:
    door = of_family(request, token, "/patches")
    return _show(door, Form(door.words, door.form_token))


@router.post("/family/{token}/patches")
def say(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/patches")
    form, now = door.posted(data), door.wiring.clock.now()
    patches = form.words.gettext("patches")
    left, a_day = form.whole("patches_left", 0, MOST_PATCHES, patches), form.whole("patches_a_day", 1, MOST_PATCHES_A_DAY, patches)
    try:
        form.check()
        with form.catching(), writing(door.wiring.engine) as session:
            subscription, child, _ = door.find(session)
            key = form.deed_key("count-patches")
            if trail.claim(session, subscription.clinic_id, key, "count-patches", now) is None:
                trail.settle_claim(session, subscription.clinic_id, key, care.count_patches(session, subscription, child, left, a_day, now))
        form.check()
    except InvalidFormError:
        return _show(door, form, 422)
    return go(f"/family/{token}")


def _show(door: LinkDoor, form: Form, status: int = 200) -> Response:
    with reading(door.wiring.engine) as session:
        subscription, child, _ = door.find(session)
        stock = care_record.record(session, child).stock
    if stock and "patches_a_day" not in form.values:
        form.values["patches_a_day"] = str(stock.patches_a_day)
    return door.page("patches", status, form=form, stock=stock, label=subscription.label)
