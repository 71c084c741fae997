"""From a visit to a signed contact lens, as people walk it on the pages."""

from typing import Any

from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.db import reading
from service.facts import Child
from service.facts_of_lenses import LedgerLens
from service.store import lenses, signed
from tests.service.pages import confirm, forms_of, send, submit
from tests.service.typed import TRIAL_LENS

RANGE = {
    "name": "Testham silicone",
    "powers": "+10 to +20 by 0.5; +20 to +32 by 3",
    "base_curves_mm": "7,4; 7.6",
    "diameters_mm": "11.5",
    "material": "silicone-elastomer",
    "wear_schedule": "overnight",
}


def enter_range(browser: TestClient, **typed: str) -> Any:
    return submit(browser, "/lens-ranges/new", **RANGE | typed)


def visit_of(browser: TestClient, child: Child, **typed: str) -> str:
    """Recorded, also where it is a second one on the day."""
    address = f"/children/{child.public_id}/visits/new"
    answer = submit(browser, address, **typed)
    return str((confirm(browser, answer, address) if answer.status_code == 409 else answer).headers["location"])


def sign(browser: TestClient, visit: str, **order: str) -> Any:
    looked = submit(browser, f"{visit}/correction", step="look", **order)
    assert looked.status_code == 200, looked.text
    return send(browser, next(f for f in forms_of(looked.text) if "seen" in f.values), f"{visit}/correction", step="sign")


def signed_lens(browser: TestClient, engine: Engine, child: Child, **order: str) -> str:
    """The address of the document."""
    assert sign(browser, visit_of(browser, child, **TRIAL_LENS), kind="contact-lens", **order).status_code == 303
    return newest_document(engine, child)


def newest_document(engine: Engine, child: Child) -> str:
    with reading(engine) as session:
        return f"/children/{child.public_id}/corrections/{signed.corrections(session, child)[-1].public_id}"


def ledger(engine: Engine, child: Child) -> list[LedgerLens]:
    with reading(engine) as session:
        return lenses.ledger(session, child)
