"""From a reminder to a noted day with two taps; the page of reminders on both screens; and a push as a device shows it."""

import json
import threading
from datetime import UTC, datetime
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from service.actions.delivery import Post, deliver_due
from service.db import open_engine
from service.facts import Role
from service.messages.configured import channels
from service.rendering import Renderer
from service.settings import DemoSettings
from tests.running import Demo

pytestmark = pytest.mark.browser


def strike(demo: Demo, folder: Path, now: datetime) -> None:
    """Lets the worker of the demo run once, at a moment."""
    demo.clock.at = now
    settings = DemoSettings(public_url=demo.address, database_url=f"sqlite:///{folder / 'demo.db'}")
    engine = open_engine(settings.database_url)
    worker = threading.Thread(target=deliver_due, args=(Post(engine, settings, demo.clock, Renderer(settings), channels(settings)),))
    worker.start()  # in a thread of its own: this one holds the browser's loop
    worker.join()
    engine.dispose()


def test_two_taps_from_a_reminder_note_the_whole_day_and_it_asks_no_more(demo: Demo, page: Page, shot, tmp_path: Path) -> None:
    strike(demo, tmp_path, datetime(2026, 3, 10, 15, 15, tzinfo=UTC))
    page.goto(f"{demo.address}/outbox")
    shot("outbox")
    card = page.locator("section", has_text="from 15:30.").first
    card.get_by_role("link", name="Open the page of this day").click()
    page.get_by_text("Yes", exact=True).click()
    page.get_by_role("button", name="All of it").click()
    page.get_by_text("Noted:").wait_for()
    strike(demo, tmp_path, datetime(2026, 3, 10, 19, 0, tzinfo=UTC))
    page.goto(f"{demo.address}/outbox")
    assert page.locator("section", has_text="Father, phone").filter(has_text="nothing is noted").count() == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_page_of_reminders_fits_and_has_nothing_that_axe_finds(demo: Demo, page: Page, scheme: str, shot, tmp_path: Path) -> None:
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{demo.caregiver}/reminders")
    page.get_by_label("E-mail address").fill("a.grandmother.of.a.very.long.name.indeed@a-long-name-of-a-host.family.example")
    page.get_by_role("button", name="Add this e-mail address").click()
    page.get_by_text("Saved.", exact=True).wait_for()
    page.get_by_label("E-mail address").fill("nobody")
    page.get_by_role("button", name="Add this e-mail address").click()
    page.get_by_role("alert").wait_for()
    page.evaluate("document.getElementById('device').hidden = false")  # where the browser takes pushes
    shot(f"reminders-{scheme}")
    assert Axe().run(page).violations_count == 0
    demo.sign_in(page, Role.CLINICIAN)
    page.get_by_role("link", name="Tessa").first.click()
    shot(f"messages-{scheme}")
    assert page.locator("#messages").get_by_text("the address was refused").count() > 0
    assert Axe().run(page).violations_count == 0


def test_a_device_shows_one_message_where_the_same_is_pushed_twice(demo: Demo, page: Page) -> None:
    page.context.grant_permissions(["notifications"], origin=demo.address)
    page.goto(f"{demo.caregiver}/reminders")
    protocol = page.context.new_cdp_session(page)
    found: list[str] = []
    protocol.on("ServiceWorker.workerRegistrationUpdated", lambda event: found.extend(r["registrationId"] for r in event["registrations"]))
    protocol.send("ServiceWorker.enable")
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    pushed = {"title": "time", "body": "time: 2 h from 15:30.", "url": f"{demo.address}/day/x", "tag": "k" * 32, "lang": "en"}
    for _ in range(2):
        protocol.send("ServiceWorker.deliverPushMessage", {"origin": demo.address, "registrationId": found[-1], "data": json.dumps(pushed)})
    shown = (
        "async () => (await (await navigator.serviceWorker.ready).getNotifications()).map(n => ({ title: n.title, body: n.body, tag: n.tag, url: n.data.url }))"
    )
    page.wait_for_function(f"async () => (await ({shown})()).length > 0")
    assert page.evaluate(shown) == [{name: value for name, value in pushed.items() if name != "lang"}]
