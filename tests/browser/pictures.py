"""Makes the README's pictures from the demo: `python -m tests.browser.pictures`."""

import shutil
import tempfile
from datetime import timedelta
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from service.facts import Role
from tests.running import NOW, Demo, running_demo

PICTURES = Path(__file__).parents[2] / "demo_data" / "pictures"
DESK, PHONE = {"width": 1280, "height": 860}, {"width": 390, "height": 844}


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, running_demo(Path(folder)) as demo, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"))
        _clinic(browser.new_page(viewport=DESK), demo)
        _family(browser.new_page(viewport=PHONE), demo)
        browser.close()


def _clinic(page: Page, demo: Demo) -> None:
    demo.sign_in(page, Role.CLINICIAN)
    page.screenshot(path=PICTURES / "caseload.png")
    addresses = {name: page.get_by_role("link", name=name).get_attribute("href") for name in ("Milo", "Juno")}
    page.goto(f"{demo.address}{addresses['Milo']}/review")
    page.screenshot(path=PICTURES / "review.png")
    page.goto(f"{demo.address}{addresses['Juno']}/occlusion")
    page.screenshot(path=PICTURES / "occlusion.png")
    page.goto(f"{demo.address}{addresses['Milo']}/household")
    page.screenshot(path=PICTURES / "days.png")
    page.goto(f"{demo.address}{addresses['Juno']}/growth")
    page.screenshot(path=PICTURES / "growth.png")
    page.goto(f"{demo.address}/calculations/over-refraction")
    page.get_by_role("link", name="Fill in an example").click()
    page.screenshot(path=PICTURES / "calculation.png")


def _family(page: Page, demo: Demo) -> None:
    page.clock.set_fixed_time(NOW)
    page.goto(demo.caregiver)
    page.screenshot(path=PICTURES / "family.png")
    page.goto(f"{demo.caregiver}/week?of={(NOW - timedelta(days=7)).date()}")
    page.screenshot(path=PICTURES / "week.png")
    page.goto(f"{demo.address}/family/{demo.tokens.link('fellow-eye')[1]}/signs")
    page.screenshot(path=PICTURES / "arabic.png")
    page.set_viewport_size({"width": 900, "height": 860})
    page.goto(f"{demo.caregiver}/sheet?pictures=yes")
    page.locator("article.sheet").screenshot(path=PICTURES / "sheet.png")


if __name__ == "__main__":
    main()
