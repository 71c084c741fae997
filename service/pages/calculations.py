"""Calculations for a person who registers nobody. What was typed stands in the address, so that a sheet can be kept and shown again; nothing is stored."""

from fastapi import APIRouter, Request
from fastapi.responses import Response

from service.access import SignedIn, Visitor
from service.calculations.asking import Answer, Ask, Kind
from service.calculations.registry import BY_NAME
from service.calculations.sheet import Sheet
from service.db import reading
from service.errors import NotFoundError
from service.forms import Form, InvalidFormError
from service.pages.answers import page
from service.store import clinic_rules
from service.views import calculation_page
from service.wiring import wiring
from shared.findings import msg

router = APIRouter()


@router.get(calculation_page.ADDRESS)
def index(request: Request, visitor: SignedIn) -> Response:
    return page(request, visitor, "clinic/calculations.html", page=calculation_page.index(visitor.words))


@router.get(calculation_page.ADDRESS + "/{name}")
def calculation(request: Request, visitor: SignedIn, name: str) -> Response:
    if name not in BY_NAME:
        raise NotFoundError
    wanted = BY_NAME[name]
    submitted = calculation_page.SUBMITTED in request.query_params
    given = request.query_params
    form = Form.posted(visitor.words, "", given) if submitted else visitor.form(**{a.name: given.get(a.name, a.usual) for a in wanted.asks})
    sheet: Sheet | None = None
    if submitted:
        answers = {a.name: _answer(form, a) for a in wanted.asks}
        try:
            form.check()
            with form.catching():
                sheet = wanted.answer(answers, _rules_off(request, visitor))
            form.check()
        except InvalidFormError:
            sheet = None
    return page(request, visitor, "clinic/calculation.html", 422 if form.errors else 200, page=calculation_page.view(wanted, sheet, visitor.words), form=form)


def _rules_off(request: Request, visitor: Visitor) -> frozenset[str]:
    with reading(wiring(request).engine) as session:
        return clinic_rules.newest(session, visitor.clinic.id).limits.rules_off


def _answer(form: Form, a: Ask) -> Answer:
    if a.kind is Kind.TICK:
        return form.ticked(a.name)
    if a.kind is Kind.TEXT:
        return (form.text if a.needed else form.optional_text)(a.name, longest=a.longest) or None
    if a.choices:
        return (form.choice if a.needed else form.optional_choice)(a.name, a.choices)
    value = (form.number if a.needed else form.optional_number)(a.name, a.low, a.high, a.unit)
    if a.kind is Kind.WHOLE and value is not None and value != int(value):
        form.refuse(a.name, msg("A whole number, please."))
        return None
    return int(value) if a.kind is Kind.WHOLE and value is not None else value
