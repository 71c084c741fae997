"""Which language a family is spoken to in: a draft is off outside a demo, its safety wording never stands alone, and a clinic says what it has checked."""

from datetime import date, datetime, timedelta

import icalendar
import pytest
from sqlalchemy import Engine, text
from starlette.testclient import TestClient

from schedules.feed_style import FeedStyle, Language
from service import catalogues
from service.actions import links
from service.actions.delivery import deliver_due
from service.actions.links import NewLink
from service.clock import StoppedClock
from service.db import writing
from service.facts import Child, Role
from service.i18n import words
from service.settings import Settings
from tests.people import NOW, TODAY, TestClinic
from tests.service.calling import REGISTRATION, make
from tests.service.messages import Recorder, add_contact, post
from tests.service.pages import send, submit, taking
from tests.service.signing import sign_two_hours

PATCH_OFF = "Take the patch off. Leave the lens where it is: taking it out was not shown to you yet. And call now."


def issue(engine: Engine, clinic: TestClinic, child: Child, language: Language) -> NewLink:
    with writing(engine) as session:
        style = FeedStyle("time", language=language)
        return links.issue(session, clinic.staff[Role.ORTHOPTIST], child, caregiver=f"Reads {language}", style=style, now=NOW)


@pytest.fixture(autouse=True)
def signed(engine: Engine, clinic: TestClinic, baby: Child) -> None:
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 3, 30))


@pytest.fixture
def arabic(engine: Engine, clinic: TestClinic, baby: Child) -> NewLink:
    return issue(engine, clinic, baby, Language.ARABIC)


@pytest.fixture
def spanish(engine: Engine, clinic: TestClinic, baby: Child) -> NewLink:
    return issue(engine, clinic, baby, Language.SPANISH)


def make_demo(engine: Engine) -> None:
    with engine.begin() as c:
        c.execute(text("UPDATE clinic SET demo = true"))


def mark(signed_in, language: Language):  # type: ignore[no-untyped-def]
    return submit(signed_in(Role.ADMINISTRATOR), f"/languages/{language}", "seen")


def titles(visitor: TestClient, link: NewLink) -> set[str]:
    return {str(e["summary"]) for e in icalendar.Calendar.from_ical(visitor.get(f"/feed/{link.feed_token}/plan.ics").content).walk("VEVENT")}


def test_a_draft_is_off_until_the_clinic_has_checked_it_and_off_again_once_it_says_something_else(
    visitor: TestClient, signed_in, spanish: NewLink, clock: StoppedClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    home = f"/family/{spanish.page_token}"
    assert "How did it go?" in visitor.get(home).text and 'lang="en"' in visitor.get(home).text
    assert "time: plan ends" in titles(visitor, spanish)
    assert mark(signed_in, Language.SPANISH).status_code == 303
    page = visitor.get(home).text
    assert "¿Cómo fue?" in page and 'lang="es"' in page and "borrador" not in page
    signs = visitor.get(f"{home}/signs").text
    assert "Quite el parche. Deje la lente" in signs and PATCH_OFF not in signs, "what is checked stands alone"
    assert "time: termina el plan" in titles(visitor, spanish), "the calendar's bytes are made anew"
    monkeypatch.setattr(catalogues, "digest", lambda language: "another")
    assert "How did it go?" in visitor.get(home).text


def test_in_a_demo_a_draft_says_that_it_is_one_and_the_clinics_language_stands_beside_what_is_of_safety(
    visitor: TestClient, engine: Engine, arabic: NewLink
) -> None:
    make_demo(engine)
    home = f"/family/{arabic.page_token}"
    page = visitor.get(f"{home}/signs").text
    assert '<html lang="ar" dir="rtl"' in page
    assert "هذه الترجمة مسودة" in page and "This translation is a draft" in page
    assert f'lang="en" dir="ltr">{PATCH_OFF}</span>' in page and "An eye is red or hurts." in page
    day = visitor.get(home).text
    assert "How did it go?" not in day, "what is not of safety is said once"


def test_the_words_of_a_draft_in_a_calendar_and_a_message_carry_the_clinics_own_behind_them(
    visitor: TestClient, engine: Engine, clinic: TestClinic, baby: Child, arabic: NewLink, settings: Settings, clock: StoppedClock
) -> None:
    make_demo(engine)
    add_contact(engine, arabic, NOW - timedelta(days=1))
    clock.at = datetime.combine(TODAY, NOW.time(), NOW.tzinfo) + timedelta(hours=11)
    channel = Recorder()
    deliver_due(post(engine, settings, clock, channel))
    (evening,) = [m for m in channel.sent if "لم يُسجَّل شيء" in m.text]
    assert evening.subject == "تذكير" and 'lang="ar" dir="rtl"' in evening.html


def test_only_an_administrator_marks_and_only_what_was_shown(signed_in) -> None:
    assert signed_in(Role.ORTHOPTIST).get("/languages/ar").status_code == 403
    browser = signed_in(Role.ADMINISTRATOR)
    shown = browser.get("/languages/ar").text
    assert "draft" in shown and "Safety wording stands first" in shown
    form = taking(shown, "seen")
    form.values["seen"] = "of another day"
    assert send(browser, form, "/languages/ar").status_code in (409, 422)
    assert "checked by" not in browser.get("/languages/ar").text
    assert mark(signed_in, Language.ARABIC).status_code == 303
    assert "checked by" in browser.get("/languages/ar").text
    assert browser.get("/languages/en").status_code == browser.get("/languages/xx").status_code == 404


def test_a_family_chooses_among_what_its_clinic_has_checked(visitor: TestClient, signed_in, engine: Engine, clinic: TestClinic, baby: Child) -> None:
    home = f"/family/{issue(engine, clinic, baby, Language.ENGLISH).page_token}"
    page = visitor.get(f"{home}/language").text
    assert 'value="en"' in page and 'value="ar"' not in page
    form = taking(page, "language")
    refused = send(visitor, form, f"{home}/language", language="ar")
    assert refused.status_code == 422 and "has not checked this language yet" in refused.text
    mark(signed_in, Language.ARABIC)
    worker = visitor.get(f"{home}/worker.js").text
    assert send(visitor, taking(visitor.get(f"{home}/language").text, "language"), f"{home}/language", language="ar").status_code == 303
    assert "كيف كان الأمر؟" in visitor.get(home).text
    assert visitor.get(f"{home}/worker.js").text != worker, "what a phone keeps is kept anew"


def test_arabic_counts_in_its_six_forms_with_western_figures() -> None:
    """CLDR's plural categories for Arabic (Unicode, plural rules): zero, one, two, few, many, other."""
    speak = words("ar")
    said = [speak.catalogue.ngettext("%(n)s day", "%(n)s days", n) % {"n": n} for n in (1, 2, 3, 11, 100)]
    assert said == ["يوم واحد", "يومان", "3 أيام", "11 يومًا", "100 يوم"]


def test_who_needs_an_interpreter_is_said_wherever_the_clinic_prepares_to_speak(signed_in, baby: Child, call) -> None:
    browser = signed_in(Role.RECEPTION)
    address = f"/children/{baby.public_id}/particulars"
    assert submit(browser, address, "spoken_language", spoken_language="Tigrinya", interpreter_needed="yes").status_code == 303
    for page in ("/", f"/children/{baby.public_id}", f"/children/{baby.public_id}/bookings"):
        shown = browser.get(page).text
        assert "Tigrinya" in shown and "interpreter needed" in shown, page
    api = call(Role.RECEPTION)
    assert api.get(f"/api/children/{baby.public_id}").json()["interpreter_needed"] is True
    answer = make(api, "/api/children", {**REGISTRATION, "reference": "T-9", "spoken_language": "Arabic", "interpreter_needed": True})
    assert (answer.json()["spoken_language"], answer.json()["interpreter_needed"]) == ("Arabic", True)
