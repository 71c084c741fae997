"""A family's page in Chromium with the network cut, the tab killed and the clock wrong: nothing noted is lost, nothing is noted twice."""

import re
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, TimeoutError, expect

from demo_data.build import SHOWN
from service.db import open_engine, reading, writing
from service.pages import family_more
from service.store import children, links, wear
from tests.running import NOW, Demo

pytestmark = pytest.mark.browser


@pytest.fixture
def size() -> str:
    return "phone"


def ready(page: Page, demo: Demo, at: datetime = NOW) -> None:
    """The page, kept on the phone by its worker."""
    page.clock.install(time=at)
    page.goto(demo.caregiver)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    page.reload()


def noted(tmp_path: Path) -> list[tuple[str, int]]:
    """Entries of today in the demo's database that were made since it was built."""
    engine = open_engine(f"sqlite:///{tmp_path / 'demo.db'}")
    with reading(engine) as session:
        found = [e for child in range(1, 20) for e in wear.entries(session, child, NOW.date() - timedelta(days=8), NOW.date() + timedelta(days=8))]
    engine.dispose()
    return [(str(e.local_on), e.minutes) for e in found if e.recorded_at >= NOW]


def some(page: Page, minutes: int) -> None:
    if not page.get_by_label(re.compile("How many minutes")).is_visible():
        page.get_by_text("Some of it").click()
    page.get_by_label(re.compile("How many minutes")).fill(str(minutes))
    page.get_by_label("Yes", exact=True).first.check()
    page.get_by_role("button", name="Note these minutes").click()


def test_what_is_noted_without_a_network_is_kept_shown_and_sent_once(demo: Demo, page: Page, context: BrowserContext, shot, tmp_path: Path) -> None:
    ready(page, demo)
    context.set_offline(True)
    page.reload()
    expect(page.get_by_role("heading", level=1)).to_contain_text("2 h")
    some(page, 40)
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    expect(page.locator("#waiting")).to_contain_text("No network. This page is as it was on")
    shot("offline-waiting")
    assert noted(tmp_path) == []
    context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.get_by_text("40 minutes").first).to_be_visible()
    assert noted(tmp_path) == [("2026-03-10", 40)]


def test_a_network_that_lets_nothing_through_is_none_and_what_it_did_carry_is_not_noted_twice(
    demo: Demo, page: Page, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(family_more, "PATIENCE", timedelta(seconds=1))
    ready(page, demo)
    demo.answers.clear()
    page.reload()
    expect(page.locator("#waiting")).to_contain_text("No network. This page is as it was on Tuesday 10 March")
    some(page, 40)
    expect(page.locator("form[data-busy]")).to_be_visible()
    page.clock.fast_forward("00:10")
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    demo.answers.set()
    page.clock.fast_forward("00:10")
    page.reload()
    expect(page.locator("#waiting")).to_be_hidden()
    expect(page.get_by_text("40 minutes").first).to_be_visible()
    assert noted(tmp_path) == [("2026-03-10", 40)]


def test_a_page_that_the_phone_does_not_keep_is_waited_for_and_no_other_shown_for_it(demo: Demo, page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(family_more, "PATIENCE", timedelta(milliseconds=100))
    ready(page, demo)
    demo.answers.clear()
    with pytest.raises(TimeoutError):
        page.goto(f"{demo.caregiver}/routine", timeout=2000)
    demo.answers.set()
    expect(page.get_by_role("heading", level=1)).to_have_text("Your days")


def test_the_tab_is_killed_and_the_entry_is_still_there(demo: Demo, page: Page, context: BrowserContext, tmp_path: Path) -> None:
    ready(page, demo)
    context.set_offline(True)
    some(page, 25)
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    page.close(run_before_unload=False)
    again = context.new_page()
    again.goto(demo.caregiver)
    expect(again.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    context.set_offline(False)
    expect(again.locator("#waiting")).to_be_hidden()
    assert noted(tmp_path) == [("2026-03-10", 25)]


def test_a_timer_started_and_stopped_without_a_network_by_a_wrong_clock(demo: Demo, page: Page, context: BrowserContext, tmp_path: Path) -> None:
    ahead = NOW + timedelta(days=40, hours=5)
    demo.clock.at = NOW + timedelta(hours=2)
    ready(page, demo, ahead)
    context.set_offline(True)
    page.get_by_role("button", name="Patch on: start").click()
    expect(page.locator("#waiting")).to_contain_text("Timer on this phone, since")
    page.clock.fast_forward("35:20")
    expect(page.locator("#local-timer .dose-figure")).to_have_text("0 h 35 min")
    page.reload()
    page.locator("#local-timer").get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name="Patch off: stop and note it").click()
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 2")
    demo.clock.at += timedelta(minutes=35)
    context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    assert noted(tmp_path) == [("2026-03-10", 35)], "its own length, on the day it really was"


def test_two_timers_from_the_same_kept_page_are_two_entries(demo: Demo, page: Page, context: BrowserContext, tmp_path: Path) -> None:
    demo.clock.at = NOW + timedelta(hours=2)
    ready(page, demo, demo.clock.at)
    context.set_offline(True)
    # Some seconds more than whole minutes: the demo's own clock stands still while a phone sends one after the other.
    for length in ("20:20", "30:20"):
        page.get_by_role("button", name="Patch on: start").click()
        page.clock.fast_forward(length)
        page.locator("#local-timer").get_by_label("Yes", exact=True).check()
        page.get_by_role("button", name="Patch off: stop and note it").click()
        expect(page.locator("#local-timer")).to_be_hidden()
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 4")
    demo.clock.at += timedelta(minutes=50)
    context.set_offline(False)
    expect(page.locator("#waiting")).to_be_hidden()
    assert noted(tmp_path) == [("2026-03-10", 20), ("2026-03-10", 30)]


def test_a_timers_question_is_answered_on_the_page_and_a_network_lost_meanwhile_loses_nothing(
    demo: Demo, page: Page, context: BrowserContext, tmp_path: Path
) -> None:
    demo.clock.at = NOW + timedelta(hours=2)
    ready(page, demo, demo.clock.at)
    context.set_offline(True)
    page.get_by_role("button", name="Patch on: start").click()
    page.clock.fast_forward("05:00:00")
    page.locator("#local-timer").get_by_label("Yes", exact=True).check()
    page.get_by_role("button", name="Patch off: stop and note it").click()
    demo.clock.at += timedelta(hours=5)
    context.set_offline(False)
    answer = page.locator("#waiting li").get_by_role("button", name="Answer")
    expect(answer).to_be_visible()
    context.set_offline(True)
    answer.click()
    page.wait_for_url("chrome-error:**")
    page.goto(demo.caregiver)
    expect(answer).to_be_visible()
    context.set_offline(False)
    answer.click()
    page.get_by_label("Patch off at").fill("13:00")
    page.get_by_role("button", name="Patch off: stop and note it").click()
    expect(page.get_by_text("Noted:")).to_be_visible()
    expect(page.locator("#waiting")).to_be_hidden()
    assert noted(tmp_path) == [("2026-03-10", 120)]


def test_a_double_tap_is_one_entry(demo: Demo, page: Page, tmp_path: Path) -> None:
    ready(page, demo)
    sent: list[str] = []
    page.on("request", lambda request: sent.append(request.url) if request.method == "POST" else None)
    page.get_by_label("Yes", exact=True).first.check()
    page.get_by_role("button", name=re.compile("All of it")).evaluate("button => { button.click(); button.click(); }")
    expect(page.get_by_text("Noted:")).to_be_visible()
    assert len(sent) == 1, "and no question is asked of the second tap"
    assert noted(tmp_path) == [("2026-03-10", 120)]


def test_what_stands_already_is_decided_on_the_phone_and_loses_nothing(demo: Demo, page: Page, context: BrowserContext, tmp_path: Path) -> None:
    ready(page, demo)
    some(page, 30)
    expect(page.get_by_text("Noted:")).to_be_visible()
    context.set_offline(True)
    page.goto(demo.caregiver)
    some(page, 20)
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    some(page, 10)
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 2")
    context.set_offline(False)
    expect(page.locator("#waiting li")).to_have_count(2)
    page.locator("#waiting li").first.get_by_role("button", name="It is more: add it").click()
    expect(page.locator("#waiting li")).to_have_count(1)
    page.locator("#waiting li").first.get_by_role("button", name="Throw it away").click()
    expect(page.locator("#waiting")).to_be_hidden()
    assert noted(tmp_path) == [("2026-03-10", 30), ("2026-03-10", 20)]


@pytest.mark.parametrize("part", ["", "/week"])
def test_a_link_that_was_closed_says_so_and_leaves_no_page_on_the_phone(demo: Demo, page: Page, context: BrowserContext, tmp_path: Path, part: str) -> None:
    ready(page, demo)
    assert page.evaluate("caches.keys()") != []
    context.set_offline(True)
    some(page, 30)
    expect(page.locator("#waiting")).to_contain_text("Waiting to be sent: 1")
    engine = open_engine(f"sqlite:///{tmp_path / 'demo.db'}")
    with writing(engine) as session:
        subscription = links.subscription_of_page(session, demo.tokens.link(SHOWN)[1])
        links.revoke(session, children.child_by_id(session, subscription.child_id), subscription.public_id, NOW)
    engine.dispose()
    context.set_offline(False)
    expect(page.locator("#waiting li")).to_contain_text("30 minutes · The clinic cannot take this: the link was closed")
    assert page.goto(demo.caregiver + part).status == 404
    page.wait_for_function("async () => (await caches.keys()).length === 0")


def test_the_ways_of_a_family_are_one_tap_apart(demo: Demo, page: Page, shot) -> None:
    page.goto(demo.caregiver)
    for name in ("Week", "More", "Today"):
        page.get_by_role("navigation", name="Pages").get_by_role("link", name=name, exact=True).click()
        shot(f"family-{name.lower()}")
        assert page.get_by_role("link", name="Call the same day").first.is_visible()
    page.get_by_role("link", name="Call the same day").first.click()
    expect(page.get_by_role("link", name=re.compile("Call 0"))).to_have_attribute("href", re.compile("^tel:"))
    shot("family-signs")
