"""The routes of the API, each named after its function."""

from fastapi import APIRouter

from service.api import (
    amendments,
    anaesthetic,
    atropine,
    biometry,
    bookings,
    calc,
    care,
    care_sets,
    children,
    clinic,
    corrections,
    growth,
    households,
    inbox,
    lens_checks,
    lens_ranges,
    lenses,
    links,
    near_tables,
    notices,
    nursery_links,
    operations,
    protocols,
    regimens,
    reminders,
    review,
    rules,
    secondary_lens,
    teaching,
    visits,
)
from service.api.problems import problems

router = APIRouter(prefix="/api", responses=problems(401, 422), generate_unique_id_function=lambda route: route.name)
PARTS = (
    *(children, visits, biometry, corrections, regimens, atropine, amendments, review, links, nursery_links),
    *(operations, bookings, notices, anaesthetic, secondary_lens, lenses, growth, lens_checks, lens_ranges, near_tables, clinic, rules, protocols, calc),
    *(care, care_sets, households, inbox, teaching, reminders),
)
for part in PARTS:
    router.include_router(part.router)
