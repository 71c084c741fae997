"""Signing in: who gets in, who is slowed down, and where nobody is sent."""

from datetime import timedelta

import pytest
from starlette.testclient import TestClient

from service.clock import StoppedClock
from service.facts import Role
from tests.people import PASSWORD, TestClinic
from tests.service.pages import forms_of, submit


def sign_in(browser: TestClient, name: str, password: str, address: str = "/sign-in"):
    return submit(browser, address, "form_token", sign_in_name=name, password=password)


def test_the_right_password_opens_the_caseload_and_signing_out_closes_it(visitor: TestClient, clinic: TestClinic) -> None:
    answer = sign_in(visitor, "orthoptist@one", PASSWORD)
    assert answer.status_code == 303 and answer.headers["location"] == "/"
    assert visitor.get("/").status_code == 200
    page = visitor.get("/")
    out = next(f for f in forms_of(page.text) if f.action == "/sign-out")
    assert visitor.post("/sign-out", data=out.values).status_code == 303
    assert visitor.get("/").status_code == 303


def test_a_wrong_password_and_an_unknown_name_are_told_the_same(visitor: TestClient, clinic: TestClinic) -> None:
    wrong = sign_in(visitor, "orthoptist@one", "not it")
    unknown = sign_in(visitor, "nobody@one", "not it")
    assert wrong.status_code == unknown.status_code == 422
    assert "do not belong together" in wrong.text and "do not belong together" in unknown.text
    assert "not it" not in wrong.text, "a password is never sent back"


def test_guesses_are_limited_in_a_table_and_the_limit_passes(visitor: TestClient, clinic: TestClinic, clock: StoppedClock) -> None:
    for _ in range(10):
        assert sign_in(visitor, "orthoptist@one", "guess").status_code == 422
    assert sign_in(visitor, "orthoptist@one", PASSWORD).status_code == 429
    clock.at += timedelta(minutes=16)
    assert sign_in(visitor, "orthoptist@one", PASSWORD).status_code == 303


@pytest.mark.parametrize("elsewhere", ["https://evil.example/", "//evil.example/", "/\\evil.example"])
def test_signing_in_never_leads_to_another_site(visitor: TestClient, clinic: TestClinic, elsewhere: str) -> None:
    assert sign_in(visitor, "orthoptist@one", PASSWORD, f"/sign-in?next={elsewhere}").headers["location"] == "/"


def test_a_session_ends_by_itself(signed_in, clock: StoppedClock) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    assert browser.get("/").status_code == 200
    clock.at += timedelta(hours=12, seconds=1)
    assert browser.get("/").status_code == 303


def test_a_form_from_another_site_or_without_its_token_is_refused(signed_in) -> None:
    browser = signed_in(Role.ORTHOPTIST)
    form = next(f for f in forms_of(browser.get("/children/new").text) if "submission_key" in f.values)
    assert browser.post("/children/new", data=form.values, headers={"Origin": "https://evil.example"}).status_code == 403
    assert browser.post("/children/new", data=form.values | {"form_token": "x"}).status_code == 403


def test_a_form_token_of_one_session_does_not_serve_another(signed_in) -> None:
    form = next(f for f in forms_of(signed_in(Role.ORTHOPTIST).get("/children/new").text) if "submission_key" in f.values)
    assert signed_in(Role.ORTHOPTIST).post("/children/new", data=form.values).status_code == 403
