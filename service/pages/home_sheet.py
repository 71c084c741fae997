"""The two-week sheet for a home without a phone, and typing it in when it comes back."""

from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, StaffForm, Visitor, child_of, require_registrar
from service.actions import wear
from service.db import reading, writing
from service.forms import Form, InvalidFormError, day_or_none
from service.pages.answers import go, page
from service.views import case, home_sheet, paper_entry
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get("/children/{child_id}/sheet")
def sheet(request: Request, visitor: SignedIn, child_id: str, first: str = "", paper: str = "", pictures: str = "") -> Response:
    c = _case(request, visitor, child_id)
    shown = home_sheet.view(
        c,
        visitor.clinic,
        visitor.words,
        label=c.child.reference,
        base=f"/children/{child_id}",
        from_on=day_or_none(first),
        paper=home_sheet.paper_named(paper),
        pictures=bool(pictures),
    )
    return page(request, visitor, "caregiver/sheet.html", page=shown)


@router.get("/children/{child_id}/sheet/entry")
def entry_page(request: Request, visitor: SignedIn, child_id: str, first: str = "", noted: str = "") -> Response:
    require_registrar(visitor.staff)
    c = _case(request, visitor, child_id)
    return _answer(request, visitor, c, visitor.form(), paper_entry.days_of_sheet(c, day_or_none(first)), noted=noted)


@router.post("/children/{child_id}/sheet/entry")
def enter(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    """All of the sheet or nothing: whatever needs another look stands beside its day."""
    require_registrar(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    c = _case(request, visitor, child_id)
    days = paper_entry.days_of_sheet(c, form.optional_day("first"))
    try:
        said = [s for on in days if (s := _said(form, on, paper_entry.glasses_alone(c, on))) is not None]
        if not said:
            form.refuse(f"minutes-{days[0]}", msg("Nothing is filled in yet."))
        form.check()
        with writing(w.engine) as session:
            child = child_of(session, visitor.staff, child_id)
            for s in said:
                names = {name: f"{name}-{s.on}" for name in ("minutes", "reason", "correction_worn")}
                try:
                    with form.catching(names, default=f"minutes-{s.on}"):
                        wear.say(session, wear.from_paper(visitor.staff), child, c.revisions, s, now)
                except wear.AddOrCorrectError:
                    form.refuse(f"more-{s.on}", msg("Something is noted for this day already. Is this more, or instead of it?"))
                except wear.TakenBackError:
                    form.refuse(f"minutes-{s.on}", msg("This was noted before and taken back. Please load the page again, and note it again."))
            form.check()
    except InvalidFormError:
        return _answer(request, visitor, c, form, days, status=422)
    return go(f"/children/{child_id}/sheet/entry?first={days[0]}&noted={len(said)}")


def _said(form: Form, on: date, glasses_alone: bool) -> wear.Said | None:
    """One line of the sheet; None where it was left empty."""
    names = minutes_name, reason_name, worn_name = f"minutes-{on}", f"reason-{on}", f"correction_worn-{on}"
    if not any(map(form.raw, names)):
        return None
    minutes = form.optional_number(minutes_name, 0, wear.MINUTES_OF_A_DAY, form.words.gettext("minutes"))
    reason = form.optional_choice(reason_name, wear.NotWornReason)
    if minutes is not None and minutes != int(minutes):
        form.refuse(minutes_name, msg("Whole minutes, please: one and a half hours are 90."))
    if minutes and reason:
        form.refuse(reason_name, msg("Either minutes, or what got in the way."))
    how = wear.How.CORRECTION_ONLY if glasses_alone else wear.How.NONE if reason or minutes == 0 else wear.How.SOME
    return wear.Said(
        on=on,
        how=how,
        minutes=int(minutes) if minutes and how is wear.How.SOME else None,
        reason=reason if how is wear.How.NONE else None,
        correction_worn={"yes": True, "no": False}.get(form.raw(worn_name)),
        client_key=form.deed_key(f"paper-{on}", names),
        more={"add": True, "correct": False}.get(form.raw(f"more-{on}")),
    )


def _case(request: Request, visitor: Visitor, child_id: str) -> case.Case:
    w = wiring(request)
    with reading(w.engine) as session:
        return case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())


def _answer(request: Request, visitor: Visitor, c: case.Case, form: Form, days: tuple[date, ...], *, noted: str = "", status: int = 200) -> Response:
    shown = paper_entry.view(c, visitor.words, days)
    return page(request, visitor, "clinic/paper_entry.html", status, page=shown, form=form, noted=noted if noted.isdigit() else "")
