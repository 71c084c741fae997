"""The clinic's side: its texts for families, and who in a household can do what with a lens."""

from fastapi import APIRouter, Request
from fastapi.responses import Response
from sqlmodel import Session

from service.access import SignedIn, StaffForm, Visitor, child_of, require_administrator, require_recorder
from service.actions import teaching as actions
from service.clock import local_today
from service.db import reading, writing
from service.facts_of_teaching import MOST_STEPS, FamilyTexts, Level, Skill, Topic
from service.forms import Form, InvalidFormError
from service.pages import versions
from service.pages.answers import go, page
from service.pages.once import once
from service.store import links, teaching
from service.views import teaching as view
from service.wiring import wiring

router = APIRouter()
LONGEST_TEXT = MOST_STEPS * 302


@router.get("/family-texts")
def texts_page(request: Request, visitor: SignedIn) -> Response:
    return _texts(request, visitor, None)


@router.post("/family-texts")
def enter_texts(request: Request, visitor: SignedIn, form: StaffForm) -> Response:
    """A step a line; a topic left empty is told by the built-in ones."""
    require_administrator(visitor.staff)
    typed = {topic: tuple(line.strip() for line in form.long_text(topic, longest=LONGEST_TEXT).splitlines() if line.strip()) for topic in Topic}

    def deed(session: Session) -> str:
        seen = form.raw("seen")
        texts = FamilyTexts({topic: steps for topic, steps in typed.items() if steps})
        return actions.enter_texts(session, visitor.staff, texts, int(seen) if seen.isdecimal() else 0, wiring(request).clock.now())

    return versions.take(request, visitor, form, "family-texts", Topic.PATCH, "/family-texts", deed, lambda status: _texts(request, visitor, form, status))


def _texts(request: Request, visitor: Visitor, form: Form | None, status: int = 200) -> Response:
    with reading(wiring(request).engine) as session:
        entered = teaching.texts(session, visitor.clinic.id)
    own = entered[-1].texts.steps if entered else {}
    form = form or visitor.form(seen=len(entered), **{topic: "\n".join(own.get(topic, ())) for topic in Topic})
    shown = tuple((visitor.words.label(topic), topic, view.steps_of(entered, topic, visitor.words), topic in own) for topic in Topic)
    return page(request, visitor, "clinic/family_texts.html", status, form=form, topics=shown, entered=tuple(reversed(entered)))


@router.get("/children/{child_id}/handling")
def handling_page(request: Request, visitor: SignedIn, child_id: str) -> Response:
    return _handling(request, visitor, child_id, None)


@router.post("/children/{child_id}/handling")
def record(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    require_recorder(visitor.staff)
    w = wiring(request)
    now = w.clock.now()
    link_id, skill, on = form.text("link"), form.choice("skill", Skill), form.day("on")
    level = form.whole("level", Level.SHOWN, Level.ALONE, "")
    try:
        form.check()
        with form.catching(), writing(w.engine) as session:

            def deed() -> str:
                actions.record(session, visitor.staff, child_of(session, visitor.staff, child_id), link_id, skill, Level(level), on, now)
                return f"/children/{child_id}/handling"

            address = once(session, visitor, form, "record-learnt", now, deed)
        form.check()
    except InvalidFormError:
        return _handling(request, visitor, child_id, form, 422)
    return go(address)


def _handling(request: Request, visitor: Visitor, child_id: str, form: Form | None, status: int = 200) -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        child = child_of(session, visitor.staff, child_id)
        given = [link for link in links.subscriptions(session, child.id) if link.revoked_at is None]
        found = teaching.learnt(session, child.id)
    form = form or visitor.form(on=local_today(w.clock.now(), child.time_zone))
    who = tuple((link.public_id, link.caregiver) for link in given)
    levels = tuple((str(int(level)), visitor.words.label(level)) for level in Level)
    context = {"child": child, "page": view.handling(given, found, visitor.words), "who": who, "levels": levels, "may_record": visitor.staff.examines}
    return page(request, visitor, "clinic/handling.html", status, form=form, **context)
