"""The routes of the API, each named after its function."""

from fastapi import APIRouter

from service.api import amendments, biometry, calc, children, corrections, links, regimens, review, visits
from service.api.problems import problems

router = APIRouter(prefix="/api", responses=problems(401, 422), generate_unique_id_function=lambda route: route.name)
for part in (children, visits, biometry, corrections, regimens, amendments, review, links, calc):
    router.include_router(part.router)
