"""What was told of a family's days stays to be read: who, when, and what it changed."""

import pytest
from sqlalchemy import Engine
from starlette.testclient import TestClient

from service.actions import links
from service.facts import Child, Role
from service.pages.household import VERSIONS_A_PAGE
from tests.people import TestClinic
from tests.service.pages import forms_of, send, submit
from tests.service.test_households import DAY, day, issue, page_of, tell


@pytest.fixture
def aunt(engine: Engine, clinic: TestClinic, sam: Child) -> links.NewLink:
    return issue(engine, clinic, sam, "Aunt")


def test_every_version_says_who_told_it_and_what_it_changed(
    signed_in, visitor: TestClient, engine: Engine, clinic: TestClinic, sam: Child, aunt: links.NewLink, other_clinic: TestClinic
) -> None:
    browser, address = signed_in(Role.ORTHOPTIST), f"{page_of(sam)}/versions"
    assert "Nobody has told of the days yet" in browser.get(address).text
    tell(browser, page_of(sam))
    mine = f"/family/{aunt.page_token}/routine"
    days = {"weekday_0": "yes"} | {f"weekday_{n}": None for n in range(1, 7)}
    submit(visitor, mine, "wake", step="days", **days, **DAY | {"wake": "6:00", "from_on": day(2), "until_on": day(9)})
    submit(browser, page_of(sam), "off_words", step="off", off_from_on=day(3), off_until_on=day(4), off_words="a cold")
    taken_back = next(f for f in forms_of(browser.get(page_of(sam)).text) if f.values.get("remove") == f"off:{day(3)}:")
    send(browser, taken_back, page_of(sam), step="remove")
    fourth, third, second, first = browser.get(address).text.split("<section")[1:]
    assert "From 2 Mar 2026: Monday, Tuesday" in first and "awake 07:00 to 19:30" in first and "By orthoptist of one, version 1" in first
    assert "4 Mar 2026 to 11 Mar 2026 other days: Monday: awake 06:00" in second and "By the family (Aunt), version 2" in second
    assert "off: a cold" in third and "No longer" not in third
    assert "off: a cold" in fourth.split("No longer")[1] and "Told" not in fourth
    assert "/household/versions" in browser.get(page_of(sam)).text
    assert signed_in(Role.ORTHOPTIST, other_clinic).get(address).status_code == 404 and visitor.get(address).status_code == 303


def test_many_versions_are_read_a_page_at_a_time_and_none_is_left_out(signed_in, sam: Child) -> None:
    browser = signed_in(Role.RECEPTION)
    for n in range(VERSIONS_A_PAGE + 3):
        submit(browser, page_of(sam), "off_words", step="off", off_from_on=day(n + 3), off_words=f"reason {n}.")
    newest = browser.get(f"{page_of(sam)}/versions").text
    older = browser.get(f"{page_of(sam)}/versions?before=4").text
    assert "?before=4" in newest and "?before" not in older
    shown = [[n for n in range(VERSIONS_A_PAGE + 3) if f"reason {n}." in html] for html in (newest, older)]
    assert shown == [list(range(3, VERSIONS_A_PAGE + 3)), [0, 1, 2]], "each where it was told, not again later"
    for odd in ("x", "-1", "0", "99999999", "٣"):
        assert browser.get(f"{page_of(sam)}/versions", params={"before": odd}).status_code == 200, odd
