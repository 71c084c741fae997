"""The occlusion proposal, the plan in dates, and its signature."""

from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import Response

from schedules.day import Weekday
from schedules.regimen import MOST_TURN_DAYS
from service.access import SignedIn, StaffForm, Visitor, child_of
from service.actions import regimens as actions
from service.db import reading, writing
from service.errors import NotAllowedError
from service.facts import SignedKind
from service.forms import Form, InvalidFormError
from service.pages.answers import go, page
from service.pages.once import once
from service.views import case, occlusion_page
from service.views.occlusion_page import PROTOCOL
from service.wiring import wiring
from shared.sources import number
from shared.treatment.dose import Proposal
from shared.treatment.grace import LONGEST_DAYS
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

router = APIRouter()
TEMPLATE = "clinic/occlusion.html"
_FIELDS = {"minutes": "own_hours", "own_minutes": "own_hours", "doses": "own_hours"}
DEFAULT_REVIEW_WEEKS = 4  # where nothing is proposed; the signer chooses


@router.get("/children/{child_id}/occlusion")
def form_page(request: Request, visitor: SignedIn, child_id: str, decision: str = "") -> Response:
    w = wiring(request)
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), w.clock.now())
    return _answer(request, visitor, _first_form(visitor, known, decision), known)


def _first_form(visitor: Visitor, c: case.Case, decision: str) -> Form:
    weeks = c.weeks_of_glasses
    form = visitor.form(
        decision=decision,
        adaptation_weeks="" if weeks is None else f"{weeks:g}",
        start_on=c.today,
        covered_eye=c.child.amblyopic_eye.laterality.other if c.child.amblyopic_eye.laterality else None,
        own_pattern=Pattern.DAILY,
        missing_correction=MissingCorrectionRule.HOLD_AND_RING,
    )
    _propose(form, c)
    form.values |= _as_decided(c, decision)
    return form


def _propose(form: Form, c: case.Case) -> None:
    """Phase, review and dose as the rules answer for these facts."""
    proposal = actions.answer(_facts(form, c))
    proposed = isinstance(proposal, Proposal)
    form.values["phase"] = proposal.phase if isinstance(proposal, Proposal) else Phase.OCCLUSION
    weeks_ahead = proposal.review_in_weeks if isinstance(proposal, Proposal) else DEFAULT_REVIEW_WEEKS
    form.values["review_on"] = str(c.today + timedelta(weeks=weeks_ahead))
    form.values["dose"] = "proposed" if proposed else "own"


def _as_decided(c: case.Case, decision: str) -> dict[str, str]:
    """To continue is to keep the signer's own dose; to taper begins from the published step, or asks for one; neither is the full proposal."""
    last = c.signed_under_review
    if last is None or last.regimen.phase is not Phase.OCCLUSION:
        return {}
    if decision == "continue" and "own_minutes" in last.content:
        held, turns = last.regimen.doses[-1], {"turn_days": str(last.regimen.turn_days)} if last.regimen.turn_days else {}
        own = {"own_hours": f"{last.content['own_minutes'] / 60:g}", "own_reason": str(last.content["own_reason"])}
        return {"dose": "own", **own, "own_pattern": held.pattern, **{f"weekday_{day}": "yes" for day in held.weekdays}, **turns}
    if decision == "continue" and "clinic_protocol" in last.content:
        return {"dose": f"{PROTOCOL}{last.content['clinic_protocol']['id']}"}
    if decision == "taper":
        high, step = number("ats2c", "from_hours").value, number("ats2c", "step_hours").value
        from_high = last.regimen.doses[-1].minutes >= high * 60
        return {"dose": "own", "own_hours": f"{step:g}" if from_high else "", "own_reason": "taper"}
    return {}


@router.post("/children/{child_id}/occlusion")
def look_or_sign(request: Request, visitor: SignedIn, form: StaffForm, child_id: str) -> Response:
    w = wiring(request)
    now = w.clock.now()
    with reading(w.engine) as session:
        known = case.load(session, child_of(session, visitor.staff, child_id), now)
    if form.raw("step") == "facts":
        _facts(form, known)
        if not form.errors:
            _propose(form, known)
    if form.raw("step") != "sign":
        return _answer(request, visitor, form, known)
    if not known.may_sign(visitor.staff, SignedKind.OCCLUSION):
        raise NotAllowedError
    try:
        draft = _draft(form)
        _facts(form, known)
        form.check()
        with form.catching(_FIELDS), writing(w.engine) as session:

            def deed() -> str:
                child = child_of(session, visitor.staff, child_id)

                def facts_now() -> actions.Facts:
                    return _facts(form, case.load(session, child, now))

                actions.sign(session, visitor.staff, child, facts_now, draft, form.raw("seen"), now)
                return f"/children/{child_id}?signed=yes"

            address = once(session, visitor, form, "sign-regimen", now, deed)
        form.check()
    except InvalidFormError:
        return _answer(request, visitor, form, known)
    return go(address)


def _facts(form: Form, c: case.Case) -> actions.Facts:
    return c.occlusion_facts(
        adaptation_weeks=form.optional_number("adaptation_weeks", 0, 1000, "weeks"),
        glasses_needed=not form.ticked("no_glasses"),
        waking_hours=form.optional_number("waking_hours", 4, 20, "h"),
    )


def _draft(form: Form) -> actions.Draft:
    own, protocol_id = form.raw("dose") == "own", form.raw("dose").removeprefix(PROTOCOL)
    phase = form.choice("phase", Phase)
    hours = form.number("own_hours", 0, 16, "h") if own and phase is Phase.OCCLUSION else None
    return actions.Draft(
        phase=phase,
        start_on=form.day("start_on"),
        review_on=form.optional_day("review_on"),
        covered_eye=form.optional_choice("covered_eye", Laterality),
        own_minutes=None if hours is None else actions.whole_minutes(hours),
        own_reason=form.optional_text("own_reason", longest=300),
        protocol_id=protocol_id if form.raw("dose").startswith(PROTOCOL) else "",
        own_pattern=form.optional_choice("own_pattern", Pattern) or Pattern.DAILY,
        own_weekdays=tuple(day.value for day in Weekday if form.ticked(f"weekday_{day.value}")) if own else (),
        grace_days=_days(form, "grace_days", LONGEST_DAYS),
        turn_days=_days(form, "turn_days", MOST_TURN_DAYS) if phase is Phase.OCCLUSION else 0,
        covered_reason=form.optional_text("covered_reason", longest=300),
        covered_confirmed=form.ticked("covered_confirmed"),
        missing_correction=form.choice("missing_correction", MissingCorrectionRule),
        decision=form.optional_text("decision"),
        cautions_read=form.ticked("cautions_read"),
    )


def _days(form: Form, name: str, most: int) -> int:
    return form.whole(name, 0, most, form.words.gettext("days")) if form.raw(name) else 0


def _answer(request: Request, visitor: Visitor, form: Form, c: case.Case) -> Response:
    """The page with the plan as it would be signed, or with the errors that stand in its way."""
    probe = form.probe()
    facts, draft, worked = _facts(probe, c), _draft(probe), None
    if not probe.errors:
        with probe.catching(_FIELDS):
            worked = actions.work_out(c.child, facts, draft, c.next_number, c.today, c.protocols)
    form.take_errors(probe)
    view = occlusion_page.view(c, facts, draft, worked, c.may_sign(visitor.staff, SignedKind.OCCLUSION), visitor.words)
    first_look = request.method == "GET"
    if first_look:
        form.errors.clear()
    return page(request, visitor, TEMPLATE, 422 if form.errors else 200, form=form, page=view)
