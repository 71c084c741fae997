"""The clinic's own table for near: seen by everybody, kept by administrator and optometrist."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, require_range_keeper
from service.actions import near_tables as actions
from service.clock import local_today
from service.db import reading, writing
from service.errors import ChangedMeanwhileError
from service.facts_of_lenses import EnteredNearTable
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.store import near_tables as store
from service.views import near_tables_page
from service.wiring import wiring
from shared.findings import msg
from shared.optics.near import built_in_near, read_near_rows

router = APIRouter()
AUTHOR_LONGEST = 200


@router.get("/near-tables")
def tables_page(request: Request, visitor: SignedIn) -> Response:
    return _answer(request, visitor, None)


@router.post("/near-tables")
def enter(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    require_range_keeper(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    near_rows, author = form.optional_text("near_rows", longest=200), form.optional_text("author", longest=AUTHOR_LONGEST)
    from_on, near_table, seen = form.day("from_on"), built_in_near(), form.raw("seen")
    with form.catching():
        near_table = actions.table_of(read_near_rows(near_rows), author)
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:
            today = local_today(now, visitor.clinic.time_zone)

            def deed() -> str:
                actions.enter(session, visitor.staff, near_table, int(seen) if seen.isdecimal() else 0, from_on, today, now)
                return "/near-tables"

            address = once(session, visitor, form, "near-table", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, 422)
    except ChangedMeanwhileError:
        form.refuse("near_rows", msg("Somebody else has changed this meanwhile; what you typed stands here. Save again to replace theirs."))
        form.values["seen"] = str(_newest_number(_entered(request, visitor)))
        return _answer(request, visitor, form, 409)
    return go(address)


def _entered(request: Request, visitor: Visitor) -> list[EnteredNearTable]:
    with reading(wiring(request).engine) as session:
        return store.versions(session, visitor.clinic.id)


def _newest_number(entered: list[EnteredNearTable]) -> int:
    return max((v.number for v in entered), default=0)


def _answer(request: Request, visitor: Visitor, form: Form | None, status: int = 200) -> Response:
    entered, today = _entered(request, visitor), local_today(wiring(request).clock.now(), visitor.clinic.time_zone)
    newest = entered[-1].near_table if entered else built_in_near()
    form = form or visitor.form(
        near_rows=newest.typed if newest.author else "",
        author=newest.author,
        from_on=today,
        seen=_newest_number(entered),
    )
    return page(request, visitor, "clinic/near_tables.html", status, form=form, page=near_tables_page.view(entered, today, visitor.words))
