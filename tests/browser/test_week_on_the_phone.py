"""A caregiver notes a whole week on a phone, three days of it without a network. Only names of fields and values are used: the words may be of any language."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from schedules.adherence import DayWear, counted, day_wear
from service.actions.wear import NotWornReason
from service.db import open_engine, reading
from service.store import children, links, wear
from tests.running import NOW, Demo

pytestmark = pytest.mark.browser
DAY = timedelta(days=1)


@pytest.fixture
def size() -> str:
    return "phone"


class Phone:
    """What a caregiver does on the page of the infant's link; both clocks move together."""

    def __init__(self, demo: Demo, context: BrowserContext, page: Page) -> None:
        self.demo, self.context, self.page = demo, context, page
        self.home = f"{demo.address}/family/{demo.tokens.link('infant')[1]}"
        self.at(NOW)

    def at(self, moment: datetime) -> None:
        self.demo.clock.at = moment
        self.page.clock.set_fixed_time(moment)

    def open(self) -> None:
        self.page.goto(self.home)
        expect(self.page.locator("h1")).to_be_visible()

    def speaks(self, language: str) -> None:
        self.page.goto(f"{self.home}/language")
        self.page.locator(f"input[name=language][value={language}]").check()
        self.page.locator("main form button").click()
        expect(self.page.locator("html")).to_have_attribute("lang", language)
        self.open()
        self.language = language

    def killed_and_opened_again(self) -> None:
        self.page.close(run_before_unload=False)
        self.page = self.context.new_page()
        self.open()

    def worn(self) -> None:
        self.page.locator("input[name=correction_worn][value=yes]:visible").check()

    def some(self, minutes: int) -> None:
        if not self.page.locator("input[name=minutes]").is_visible():
            self.page.locator("summary:visible", has=self.page.locator(":scope.button")).first.click()
        self.page.locator("input[name=minutes]").fill(str(minutes))
        self.worn()
        self.page.locator("button[name=how][value=some]").click()

    def whole(self) -> None:
        self.worn()
        self.page.locator("button[name=how][value=all]").click()

    def none(self, reason: NotWornReason) -> None:
        self.page.locator("summary:visible", has=self.page.locator(":scope.button")).nth(1).click()
        self.page.locator(f"input[name=reason][value={reason}]").check()
        self.page.locator("button[name=how][value=none]").click()

    def step(self, name: str) -> None:
        button = self.page.locator(f"button[name=step][value={name}]:visible")
        expect(button).to_be_visible()  # a kept page first asks the phone what runs
        if name == "stop":
            self.page.locator("form", has=button).locator("input[name=correction_worn][value=yes]").check()
        button.click()

    def undo_is_offered(self) -> None:
        """Here and, as soon as the worker has it, on the page that the phone keeps."""
        expect(self.page.locator(".undo")).to_be_visible()
        self.page.wait_for_function("""async () => (await (await caches.match(location.pathname)).text()).includes('class="undo')""")

    def waits(self, entries: int) -> None:
        expect(self.page.locator("#waiting li")).to_have_count(entries)


def tuesday_and_wednesday(phone: Phone) -> None:
    phone.open()
    phone.whole()  # Tuesday
    phone.undo_is_offered()

    phone.at(NOW + DAY)  # Wednesday, by the timer, which outlives the tab
    phone.open()
    phone.step("start")
    expect(phone.page.locator("[data-server-timer]")).to_be_visible()
    phone.at(NOW + DAY + timedelta(minutes=90))
    phone.killed_and_opened_again()
    phone.step("stop")
    phone.undo_is_offered()


def thursday_to_saturday_without_a_network(phone: Phone) -> None:
    phone.context.set_offline(True)
    phone.at(NOW + 2 * DAY)  # Thursday: the kept page is Wednesday's
    phone.open()
    expect(phone.page.locator("select[name=on]")).to_have_value("")
    shot_of(phone, "week-which-day")
    phone.some(40)
    phone.waits(1)

    phone.at(NOW + 3 * DAY)  # Friday, by the timer; the battery dies
    phone.killed_and_opened_again()
    phone.step("start")
    phone.waits(2)
    phone.killed_and_opened_again()
    phone.at(NOW + 3 * DAY + timedelta(minutes=50))
    phone.step("stop")
    phone.waits(3)

    phone.at(NOW + 4 * DAY)  # Saturday
    phone.killed_and_opened_again()
    phone.none(NotWornReason.ILL)
    phone.waits(4)
    shot_of(phone, "week-waiting")


def sunday_and_monday(phone: Phone) -> None:
    phone.at(NOW + 5 * DAY)  # Sunday, and a network
    phone.context.set_offline(False)
    phone.waits(0)
    phone.open()
    phone.whole()
    phone.undo_is_offered()

    phone.at(NOW + 6 * DAY)  # Monday, in two parts
    phone.open()
    phone.some(30)
    phone.undo_is_offered()
    phone.some(45)
    phone.page.locator("button[name=more][value=add]:visible").click()
    phone.undo_is_offered()


@pytest.mark.parametrize("language", ["en", "ar"])
def test_a_week_half_of_it_without_a_network(demo: Demo, page: Page, context: BrowserContext, language: str, tmp_path: Path) -> None:
    phone = Phone(demo, context, page)
    phone.speaks(language)
    page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    tuesday_and_wednesday(phone)
    thursday_to_saturday_without_a_network(phone)
    sunday_and_monday(phone)
    found, reasons = noted(demo, tmp_path)
    whole = found[0].received_minutes
    assert whole > 60 and found[5].received_minutes >= whole, "all of it is what the plan says"
    assert [d.received_minutes for d in found[1:5]] == [90, 40, 50, 0] and found[6].received_minutes == 75
    assert reasons == ["ill"] and all(d.how_known == "reported" for d in found)
    phone.page.goto(f"{phone.home}/week?of={(NOW + DAY).date()}")
    expect(phone.page.locator(".flowers li")).to_have_count(7)
    shot_of(phone, "week-flowers")


def shot_of(phone: Phone, name: str) -> None:
    phone.page.screenshot(path=Path(__file__).parent / "shots" / f"{name}-{phone.language}-phone.png", full_page=True)


def noted(demo: Demo, tmp_path: Path) -> tuple[list[DayWear], list[str]]:
    """The seven days as the clinic counts them, and the reasons given."""
    engine = open_engine(f"sqlite:///{tmp_path / 'demo.db'}")
    with reading(engine) as session:
        link = links.subscription_of_page(session, demo.tokens.link("infant")[1])
        child = children.child_by_id(session, link.child_id)
        entries = [e for e in wear.entries(session, child.id, NOW.date(), (NOW + 7 * DAY).date()) if e.recorded_at >= NOW]
    engine.dispose()
    return [day_wear(entries, (NOW + n * DAY).date()) for n in range(7)], [e.reason for e in counted(entries) if e.reason]
