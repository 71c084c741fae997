"""A family tells the clinic: the signs first, nothing lost, nothing doubled, and the clinic's inbox with what became of it."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.clock import StoppedClock
from service.db import reading
from service.facts import Child, Role
from service.store import tellings
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import send, submit, taking
from tests.service.signing import sign_two_hours
from tests.service.test_timers import JSON, link


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, baby: Child) -> str:
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 3, 30))
    return link(engine, clinic, baby, "Mother")


def tell(visitor: TestClient, home: str, **typed: str):
    return send(visitor, taking(visitor.get(f"{home}/tell?none=yes").text, "no_signs"), f"{home}/tell", **typed)


def told(engine: Engine, child: Child) -> list[tuple[str, str]]:
    with reading(engine) as session:
        return [(t.about, t.text) for t in tellings.of_child(session, child)]


def test_the_signs_come_first_and_a_yes_is_told_and_leads_to_the_call(visitor: TestClient, signed_in, home: str, baby: Child, engine: Engine) -> None:
    first = visitor.get(f"{home}/tell").text
    assert "First: is it one of these?" in first and "white spot" in first and "In your own words" not in first
    answer = send(visitor, taking(first, "about"), f"{home}/tell")
    assert answer.headers["location"] == f"{home}/signs?told=yes"
    assert "That is not enough: call now." in visitor.get(answer.headers["location"]).text
    assert told(engine, baby) == [("signs", "")]
    caseload = signed_in(Role.RECEPTION).get("/").text
    assert "1 message from families waits" in caseload and "One of the signs" in caseload


def test_without_an_answer_to_the_signs_nothing_is_told(visitor: TestClient, home: str, baby: Child, engine: Engine) -> None:
    answer = tell(visitor, home, no_signs="", about="skin")
    assert answer.status_code == 422 and "look at the signs first" in answer.text
    assert told(engine, baby) == []


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"about": "lens-lost"}, "Of which eye is the lens?"),
        ({"about": "question", "text": ""}, "What would you like to ask?"),
        ({"about": ""}, "Please choose one"),
        ({"about": "question", "text": "x" * 1001}, "At most 1000"),
    ],
)
def test_what_is_missing_is_asked_and_what_was_typed_stays(
    visitor: TestClient, home: str, baby: Child, engine: Engine, typed: dict[str, str], words: str
) -> None:
    answer = tell(visitor, home, **{"text": "as typed"} | typed)
    assert answer.status_code == 422 and words in answer.text and told(engine, baby) == []
    assert typed.get("text", "as typed") in answer.text


def test_a_lost_lens_gets_the_signed_rule_and_never_any_spare(visitor: TestClient, home: str, baby: Child, engine: Engine) -> None:
    answer = tell(visitor, home, about="lens-lost", eye="left", text="In the bath.")
    page = visitor.get(answer.headers["location"]).text
    assert "First look where lenses hide" in page and "do not put the patch on. Ring the clinic." in page
    assert "spare" not in page and "sent; nobody has read it yet" in page
    form = taking(visitor.get(f"{home}/tell?none=yes").text, "no_signs")
    for _ in range(2):
        send(visitor, form, f"{home}/tell", about="lens-lost", eye="left", text="Again.")
    assert told(engine, baby) == [("lens-lost", "Again."), ("lens-lost", "In the bath.")], "two taps are one"


def test_the_inbox_has_what_cannot_wait_first_and_closes_with_an_answer_the_family_reads(
    visitor: TestClient, signed_in, home: str, baby: Child, engine: Engine, clock: StoppedClock
) -> None:
    tell(visitor, home, about="question", text="May she swim?")
    clock.at = NOW + timedelta(hours=3)
    tell(visitor, home, about="double-vision")
    browser = signed_in(Role.ORTHOPTIST)
    inbox = browser.get("/inbox").text
    assert inbox.index("The child sees double") < inbox.index("A question") and "3 hours" in inbox and "Mother" in inbox
    with reading(engine) as session:
        question = next(t for t in tellings.of_child(session, baby) if t.about == "question")
    address = f"/inbox/{question.public_id}"
    assert "A question" in browser.get(f"/children/{baby.public_id}").text
    submit(signed_in(Role.RECEPTION), address, "submission_key", step="take")
    assert "read by the clinic" in visitor.get(f"{home}/tell").text
    reception = signed_in(Role.RECEPTION)
    form_token = taking(reception.get(address).text, "form_token").values["form_token"]
    assert reception.post(address, data={"form_token": form_token, "step": "close", "note": "x"}).status_code == 403
    refused = submit(browser, address, "answer", step="close")
    assert refused.status_code == 422 and "say what was done" in refused.text
    assert submit(browser, address, "answer", step="close", answer="Yes, without the lens.", note="told by phone").status_code == 303
    again = browser.post(address, data={"form_token": taking(refused.text, "answer").values["form_token"], "step": "close", "answer": "No."})
    assert again.status_code == 422 and "was not sent" in again.text and 'value="No."' in again.text, "a second answer is not lost in silence"
    family = visitor.get(f"{home}/tell").text
    assert "Yes, without the lens." in family and "told by phone" not in family
    assert "A question" not in browser.get("/inbox").text and "told by phone" in browser.get(address).text, "closed, and still there"


def test_nobody_of_another_clinic_and_no_other_link_sees_it(
    visitor: TestClient, signed_in, home: str, baby: Child, engine: Engine, clinic: TestClinic, other_clinic
) -> None:
    tell(visitor, home, about="question", text="May she swim?")
    with reading(engine) as session:
        (one,) = tellings.of_child(session, baby)
    assert "May she swim?" not in signed_in(Role.ORTHOPTIST, other_clinic).get("/inbox").text
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(f"/inbox/{one.public_id}").status_code == 404
    assert "May she swim?" not in visitor.get(link(engine, clinic, baby, "Father") + "/tell").text


def test_a_device_that_waited_tells_it_once(visitor: TestClient, home: str, baby: Child, engine: Engine) -> None:
    form = taking(visitor.get(f"{home}/tell?none=yes").text, "no_signs")
    data = form.values | {"about": "patches", "said_at": NOW.isoformat()}
    for _ in range(2):
        answer = visitor.post(f"{home}/tell", data=data, headers=JSON | {"X-Sent-At": NOW.isoformat()})
        assert answer.json()["state"] == "noted" and answer.json()["see"].startswith(f"{home}/tell?told=")
    assert told(engine, baby) == [("patches", "")]


def test_lost_glasses_are_told_with_the_signed_rule(visitor: TestClient, home: str) -> None:
    assert "as the clinic signed" in visitor.get(tell(visitor, home, about="glasses").headers["location"]).text


def test_the_signs_are_one_tap_from_every_page(visitor: TestClient, home: str) -> None:
    parts = ("", "/week", "/tell", "/tell?none=yes", "/why", "/more", "/reminders", "/language", "/calendar", "/routine", "/patches", "/sheet")
    assert [part for part in parts if f'href="{home}/signs"' not in visitor.get(home + part).text] == []
