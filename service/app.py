"""The only wiring point: settings and clock in, a whole application out."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from sqlalchemy import Engine, text
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from service import jobs
from service.answers_to_errors import answer_bug
from service.answers_to_errors import install as install_error_answers
from service.api import routes
from service.api.description import DescribedApp
from service.clock import Clock
from service.feed_budget import FeedBudget
from service.guard import Guard
from service.pages import (
    atropine,
    bookings,
    calculations,
    calendar_help,
    calendars,
    care,
    care_sets,
    children,
    clinic,
    correction_record,
    corrections,
    family,
    family_language,
    family_more,
    family_patches,
    family_routine,
    family_tell,
    feed,
    home_sheet,
    household,
    inbox,
    languages,
    lens_ranges,
    lenses,
    links,
    near_tables,
    nursery,
    nursery_links,
    operations,
    outbox,
    protocols,
    regimens,
    reminders,
    review,
    rules,
    secondary_lens,
    sign_in,
    teaching,
    tokens,
    visits,
)
from service.rendering import STATIC, Renderer
from service.settings import Settings
from service.wiring import Wiring

API_NOTE = (
    "The clinic's records and calculations for licensed staff, with the same rules and rights as the pages. "
    "Unversioned: it may change with any release until it is whole. "
    "Not a medical device; every value is a proposal that a licensed person checks."
)


def create_app(settings: Settings, engine: Engine, clock: Clock, *, ticking: bool = False) -> FastAPI:
    """`ticking` runs the worker's clock inside this process, for a single-box installation."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        ticker = jobs.start(engine, settings, clock) if ticking else None
        yield
        if ticker:
            ticker.shutdown(wait=False)

    app = DescribedApp(
        title="Occlusion Dose",
        version="unversioned",
        description=API_NOTE,
        lifespan=lifespan,
        openapi_url="/api/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.wiring = Wiring(settings, clock, engine, Renderer(settings), FeedBudget(settings.feed_budget_per_hour))
    app.add_route("/healthz", health)
    about_children = (children, visits, corrections, correction_record, lenses, regimens, atropine, review, operations, bookings, secondary_lens, care, links)
    of_a_family = (family_routine, family_patches, family_more, family_tell, family_language, reminders)
    about_the_day = (household, *of_a_family, calendars, home_sheet, nursery_links, nursery, calendar_help)
    of_the_clinic = (lens_ranges, near_tables, clinic, calculations, rules, protocols, care_sets, inbox, teaching, languages, outbox, tokens)
    for part in (sign_in, *about_children, *about_the_day, *of_the_clinic, family):
        app.include_router(part.router, include_in_schema=False)
    app.include_router(routes.router)
    app.router.routes.append(feed.ROUTE)
    app.mount("/static", StaticFiles(directory=STATIC), name="static")
    install_error_answers(app)
    app.add_middleware(Guard, hsts=settings.secure_cookies, on_bug=answer_bug)
    return app


def health(request: Request) -> Response:
    with request.app.state.wiring.engine.connect() as connection:
        connection.execute(text("SELECT 1"))
    return JSONResponse({"status": "ready"})
