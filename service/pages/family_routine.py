"""The family's own page of its days: its hours, tried first, days off, journeys, and the week that follows. Sessions move, the dose never does."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service import household_typed as typed
from service.access import PostedFields
from service.actions import households as actions
from service.day_typed import FAMILY_FIELDS
from service.db import reading, writing
from service.errors import ChangedMeanwhileError, RefusedRequestError
from service.facts import Subscription
from service.forms import Form, InvalidFormError
from service.pages.answers import go
from service.pages.household import MEANWHILE, Read, seen_of, tried_household, weekday_named
from service.pages.link_door import LinkDoor, of_family
from service.store import trail
from service.views import case, household_page

router = APIRouter()


@router.get("/family/{token}/routine")
def routine_page(request: Request, token: str, weekday: str = "", saved: str = "") -> Response:
    door = of_family(request, token, "/routine")
    c, subscription = _case(door)
    first = household_page.first_values(c, _home(c, subscription), weekday_named(weekday)) | {"seen": str(c.told.number if c.told else 0)}
    return _show(door, Form(door.words, door.form_token, first), c, subscription, saved=saved)


@router.post("/family/{token}/routine")
def say(request: Request, data: PostedFields, token: str) -> Response:
    door = of_family(request, token, "/routine")
    form, now = door.posted(data), door.wiring.clock.now()
    c, subscription = _case(door)
    read = _read(form, c, subscription)
    if form.raw("step") == "try":
        return _show(door, form, c, subscription, tried=read)
    try:
        form.check()
        with form.catching(read.names), writing(door.wiring.engine) as session:
            subscription, child, _ = door.find(session)
            key = form.deed_key("tell-household")
            if trail.claim(session, subscription.clinic_id, key, "tell-household", now) is None:
                trail.settle_claim(session, subscription.clinic_id, key, actions.enter(session, subscription, child, seen_of(form), read.change, now))
        form.check()
    except InvalidFormError:
        return _show(door, form, c, subscription, status=422)
    except ChangedMeanwhileError:
        form.refuse("seen", MEANWHILE)
        return _show(door, form, c, subscription, status=409)
    return go(f"{door.address}?saved=yes")


def _read(form: Form, c: case.Case, subscription: Subscription) -> Read:
    match form.raw("step"):
        case "days" | "try":
            return Read(typed.family_days(form, _home(c, subscription)), FAMILY_FIELDS)
        case "off":
            return Read(typed.day_off(form), typed.OFF_FIELDS)
        case "journey":
            return Read(typed.journey(form), typed.JOURNEY_FIELDS)
        case "remove" if household_page.is_own(form.raw("remove"), _home(c, subscription)):
            return Read(typed.removal(form, c.today), {})
    raise RefusedRequestError


def _home(c: case.Case, subscription: Subscription) -> str | None:
    """Whoever has a home of the child's edits that one; everybody else the routine of all."""
    return subscription.public_id if any(home.caregiver == subscription.public_id for home in c.household.homes) else None


def _case(door: LinkDoor) -> tuple[case.Case, Subscription]:
    with reading(door.wiring.engine) as session:
        subscription, child, _ = door.find(session)
        return case.load(session, child, door.wiring.clock.now()), subscription


def _show(door: LinkDoor, form: Form, c: case.Case, subscription: Subscription, *, tried: Read | None = None, saved: str = "", status: int = 200) -> Response:
    """With the week as it would be, where somebody tries one."""
    household, shown_on = c.household, c.today
    if tried:
        if found := tried_household(form, c, tried):
            household, shown_on = found, form.day("from_on")
        else:
            status = 422
    view = household_page.view(c, household, _home(c, subscription), shown_on, None, form.words, tried=household is not c.household)
    return door.page("routine", status, page=view, form=form, saved=saved, label=subscription.label)
