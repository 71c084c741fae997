"""The administrator's page: who may sign what, and the pathway text."""

from sqlalchemy import Engine

from service.actions.clinic import digest, settle
from service.db import reading, writing
from service.facts import Role, SignedKind
from service.store import people
from tests.people import NOW, TestClinic
from tests.service.pages import forms_of, send, submit


def rights(engine: Engine, clinic: TestClinic):
    with reading(engine) as session:
        return people.sign_rights(session, clinic.clinic_id)


def test_an_administrator_gives_and_takes_a_right_and_it_holds_at_once(signed_in, clinic: TestClinic, engine: Engine) -> None:
    before = rights(engine, clinic)
    answer = submit(signed_in(Role.ADMINISTRATOR), "/clinic", "seen", optometrist_occlusion="yes", orthoptist_occlusion=None, pathway="Ring.\r\nWrite.")
    assert answer.status_code == 303
    assert rights(engine, clinic) == before - {(Role.ORTHOPTIST, SignedKind.OCCLUSION)} | {(Role.OPTOMETRIST, SignedKind.OCCLUSION)}
    page = signed_in(Role.ADMINISTRATOR).get("/clinic").text
    assert "Ring.\nWrite." in page


def test_reception_signs_nothing_and_no_document_is_left_without_a_signer(signed_in, clinic: TestClinic, engine: Engine) -> None:
    browser, before = signed_in(Role.ADMINISTRATOR), rights(engine, clinic)
    assert submit(browser, "/clinic", "seen", reception_occlusion="yes").status_code == 303
    assert rights(engine, clinic) == before
    nobody = submit(browser, "/clinic", "seen", clinician_operation=None, pathway="keep this")
    assert nobody.status_code == 422 and "Nobody could sign operations" in nobody.text and "keep this" in nobody.text
    assert rights(engine, clinic) == before


def test_no_way_in_gives_reception_a_signature(clinic: TestClinic, engine: Engine) -> None:
    before, administrator = rights(engine, clinic), clinic.staff[Role.ADMINISTRATOR]
    with writing(engine) as session:
        settle(session, administrator, {*before, (Role.RECEPTION, SignedKind.OCCLUSION)}, "", digest(before, ""), NOW)
    assert rights(engine, clinic) == before


def test_nobody_else_opens_or_changes_it(signed_in, clinic: TestClinic, engine: Engine) -> None:
    form = forms_of(signed_in(Role.ADMINISTRATOR).get("/clinic").text)[-1]
    for role in Role:
        if role is not Role.ADMINISTRATOR:
            browser = signed_in(role)
            assert browser.get("/clinic").status_code == 403
            own = forms_of(browser.get("/tokens").text)[0].values
            assert send(browser, form, "/clinic", form_token=own["form_token"]).status_code == 403


def test_of_two_administrators_the_second_is_told(signed_in, clinic: TestClinic, engine: Engine) -> None:
    browser = signed_in(Role.ADMINISTRATOR)
    old = next(f for f in forms_of(browser.get("/clinic").text) if "seen" in f.values)
    assert submit(browser, "/clinic", "seen", pathway="first").status_code == 303
    late = send(browser, old, "/clinic", pathway="second")
    assert late.status_code == 409 and "second" in late.text
    with reading(engine) as session:
        assert people.clinic(session, clinic.clinic_id).not_brought_pathway == "first"
    again = send(browser, next(f for f in forms_of(late.text) if "seen" in f.values), "/clinic", pathway="second")
    assert again.status_code == 303
