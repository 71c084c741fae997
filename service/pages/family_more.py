"""The family's other pages: when to call the same day, the week as a picture, what else there is; and what lets a phone keep them without a network."""

import json
from datetime import timedelta

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response

from service.clock import local_today
from service.db import reading
from service.facts import Child, Clinic, Subscription
from service.facts_of_teaching import Level, Skill
from service.forms import day_or_none
from service.i18n import Words
from service.rendering import STATIC, static_address
from service.store import children, links, people, teaching
from service.views import case, family_week
from service.views import teaching as teaching_view
from service.views.family import wears_lens
from service.views.languages import words_of
from service.wiring import wiring

router = APIRouter()
PATIENCE = timedelta(seconds=4)  # a network may be there and let nothing through: then the kept page is better than none
KEPT = ("", "/signs", "/week", "/tell", "/why", "/more")  # pages of a link that a phone keeps


@router.get("/family/{token}/signs")
def signs_page(request: Request, token: str, told: str = "") -> Response:
    subscription, child, clinic, speak = _who(request, token)
    w = wiring(request)
    with reading(w.engine) as session:
        level = teaching.levels(session, subscription).get(Skill.TAKE_OUT)
    lens = wears_lens(child, local_today(w.clock.now(), child.time_zone))
    taught = "" if not lens else "yes" if level in (Level.WATCHED, Level.ALONE) else "no"
    return _page(request, speak, "caregiver/signs.html", taught=taught, base=f"/family/{token}", clinic=clinic, told=told == "yes")


@router.get("/family/{token}/week")
def week_page(request: Request, token: str, of: str = "") -> Response:
    """The week in which a day lies: this one, unless another of the plan's is named."""
    w = wiring(request)
    subscription, child, _, speak = _who(request, token)
    with reading(w.engine) as session:
        c = case.load(session, child, w.clock.now())
    view = family_week.view(c, subscription, day_or_none(of), speak)
    return _page(request, speak, "caregiver/week.html", base=f"/family/{token}", label=subscription.label, page=view)


@router.get("/family/{token}/why")
def why_page(request: Request, token: str) -> Response:
    w = wiring(request)
    subscription, child, clinic, speak = _who(request, token)
    with reading(w.engine) as session:
        c, entered = case.load(session, child, w.clock.now()), teaching.texts(session, clinic.id)
    return _page(request, speak, "caregiver/why.html", page=teaching_view.why(c, subscription, entered, f"/family/{token}", speak))


@router.get("/family/{token}/more")
def more_page(request: Request, token: str) -> Response:
    subscription, _, _, speak = _who(request, token)
    return _page(request, speak, "caregiver/more.html", base=f"/family/{token}", label=subscription.label)


@router.get("/family/{token}/app.webmanifest")
def manifest(request: Request, token: str) -> Response:
    """What a phone needs to put the page on its home screen, under the family's own word."""
    subscription, _, _, speak = _who(request, token)
    home = f"/family/{token}"
    icons = [{"src": static_address("icon.svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}]
    content: dict[str, object] = {
        "name": subscription.label,
        "short_name": subscription.label,
        "id": home,
        "start_url": home,
        "scope": home,
        "display": "standalone",
    }
    content |= {"lang": speak.language, "dir": speak.direction, "background_color": "#fbfaf6", "theme_color": "#0b6b66", "icons": icons}
    return JSONResponse(content, media_type="application/manifest+json", headers={"Cache-Control": "no-store"})


@router.get("/family/{token}/worker.js")
def worker(request: Request, token: str) -> Response:
    """The service worker of one link, which keeps this link's pages and no others; another one, which keeps them anew, as soon as they say anything else."""
    _, _, _, speak = _who(request, token)
    home = f"/family/{token}"
    kept = {
        "home": home,
        "pages": [home + path for path in KEPT],
        "files": [static_address(name) for name in ("app.css", "icon.svg", "family.js")],
        "speaks": speak.edition,
        "patience_ms": PATIENCE / timedelta(milliseconds=1),
    }
    script = f"const KEPT = {json.dumps(kept)};\n{(STATIC / 'worker.js').read_text()}"
    return Response(script, media_type="text/javascript", headers={"Service-Worker-Allowed": home, "Cache-Control": "no-store"})


def _who(request: Request, token: str) -> tuple[Subscription, Child, Clinic, Words]:
    """Raises `NotFoundError` for a link that is unknown or closed."""
    with reading(wiring(request).engine) as session:
        subscription = links.subscription_of_page(session, token)
        clinic = people.clinic(session, subscription.clinic_id)
        return subscription, children.child_by_id(session, subscription.child_id), clinic, words_of(session, subscription)


def _page(request: Request, speak: Words, template: str, **context: object) -> Response:
    answer = wiring(request).renderer.page(speak, template, context)
    answer.headers["Cache-Control"] = "no-store"
    return answer
