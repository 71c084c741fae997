"""What and why, in the clinic's own words or the built-in ones; and lens tasks that point to the clinic until somebody does them alone."""

from datetime import date, timedelta

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from schedules.care_words import CareItem, CareKind
from service.clock import StoppedClock
from service.facts import Child, Role
from service.facts_of_teaching import Level, Skill
from service.i18n import words
from service.views.cautions import CAUTIONS, for_caregiver
from shared.findings import msg
from tests.people import NOW, TODAY, TestClinic
from tests.service.pages import submit
from tests.service.signing import sign_two_hours
from tests.service.test_timers import link

TASK = "Until you have learnt this at the clinic, ring"


@pytest.fixture
def home(engine: Engine, clinic: TestClinic, baby: Child) -> str:
    sign_two_hours(engine, clinic, baby, TODAY, date(2026, 3, 30))
    return link(engine, clinic, baby, "Mother")


def test_a_family_reads_its_plan_in_plain_words_and_the_steps(visitor: TestClient, signed_in, home: str) -> None:
    page = visitor.get(f"{home}/why").text
    for said in ("2 hours", "the lens or the glasses", "straight on the skin", "Never water, never spit", "mouths and necks", "differs from child to child"):
        assert said in page, said
    assert "amblyopi" not in page.lower() and "will see" not in page
    administrator = signed_in(Role.ADMINISTRATOR)
    assert submit(administrator, "/family-texts", "patch", patch="Our first step.\n\nOur second step.").status_code == 303
    page = visitor.get(f"{home}/why").text
    assert "Our second step." in page and "straight on the skin" not in page and "Never water, never spit" in page
    assert submit(administrator, "/family-texts", "patch", patch="x" * 301).status_code == 422
    assert submit(administrator, "/family-texts", "patch", seen="0", patch="Older.").status_code == 409
    assert signed_in(Role.ORTHOPTIST).get("/family-texts").text.count("<textarea") == 0


def test_no_plan_and_glasses_alone_read_so(visitor: TestClient, engine: Engine, clinic: TestClinic, sam: Child, signed_in) -> None:
    home = link(engine, clinic, sam, "Mother")
    page = visitor.get(f"{home}/why").text
    assert "No patch is planned now." in page and "The lens" not in page


def test_the_first_week_of_a_plan_says_how_to_watch_the_child(visitor: TestClient, home: str, clock: StoppedClock) -> None:
    first = str(CAUTIONS[0].text).split(":")[0]
    assert first in visitor.get(home).text
    clock.at = NOW + timedelta(days=6)
    assert first in visitor.get(home).text
    clock.at = NOW + timedelta(days=7)
    assert first not in visitor.get(home).text


def test_lens_tasks_point_to_the_clinic_until_this_caregiver_does_them_alone(
    visitor: TestClient, signed_in, home: str, baby: Child, engine: Engine, clinic: TestClinic
) -> None:
    father = link(engine, clinic, baby, "Father")
    browser, address = signed_in(Role.OPTOMETRIST), f"/children/{baby.public_id}/handling"
    assert "Leave the lens where it is" in visitor.get(f"{home}/signs").text
    page = browser.get(address).text
    mother = page.split('<option value="')[1].split('"')[0]
    assert submit(browser, address, "on", link=mother, skill="take-out", level="2", on=str(TODAY)).status_code == 303
    assert "as you were taught" in visitor.get(f"{home}/signs").text and "Leave the lens where it is" in visitor.get(f"{father}/signs").text
    assert submit(browser, address, "on", link=mother, skill="take-out", level="3", on=str(TODAY + timedelta(days=1))).status_code == 422
    assert submit(browser, address, "on", link="x", skill="take-out", level="3", on=str(TODAY)).status_code == 404
    page = browser.get(address).text
    assert "done under the clinic&#39;s eyes, 2 Mar 2026" in page and "All that was recorded" in page
    assert "Record what was learnt" not in signed_in(Role.RECEPTION).get(address).text


def test_a_task_is_said_by_how_far_somebody_has_come() -> None:
    task, speak = msg("The lens out, please."), words("en_GB")
    item = CareItem(CareKind.LENS_OUT, TODAY, 1, None, task, task, TODAY)
    assert TASK in for_caregiver(item, {}, speak) and TASK in for_caregiver(item, {Skill.TAKE_OUT: Level.WATCHED, Skill.CLEAN: Level.ALONE}, speak)
    assert for_caregiver(item, {Skill.TAKE_OUT: Level.ALONE}, speak) == "The lens out, please."
