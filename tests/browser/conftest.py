"""What the tests in Chromium share: a running demo, two sizes of screen, and pictures to be looked at."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from service.pages import family_more
from tests.running import NOW, Demo, running_demo

SHOTS = Path(__file__).parent / "shots"
SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1440, "height": 900}}


@pytest.fixture(autouse=True)
def patience(monkeypatch: pytest.MonkeyPatch) -> None:
    """A busy machine is not a silent network."""
    monkeypatch.setattr(family_more, "PATIENCE", timedelta(minutes=1))


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[Demo]:
    with running_demo(tmp_path) as demo:
        yield demo


@pytest.fixture(params=SIZES)
def size(request: pytest.FixtureRequest) -> str:
    return request.param


@pytest.fixture
def browser_context_args(browser_context_args, size: str):
    return {**browser_context_args, "viewport": SIZES[size], "locale": "en-GB", "has_touch": size == "phone"}


@pytest.fixture
def page(page):
    page.set_default_timeout(20_000)  # a password takes its time to check, more so on a busy machine
    page.clock.set_fixed_time(NOW)  # a phone shows the time of its clinic, unless a test says otherwise
    return page


@pytest.fixture
def shot(page, size: str):
    """Saves what the page shows, to be looked at; also refuses a page that is wider than its screen."""
    SHOTS.mkdir(exist_ok=True)

    def take(name: str) -> None:
        page.wait_for_load_state()
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), f"{name} is wider than the screen"
        page.screenshot(path=SHOTS / f"{name}-{size}.png", full_page=True)

    return take
