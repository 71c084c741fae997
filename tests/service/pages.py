"""A browser without a screen: reads the forms of a page and sends them as a person would, with everything that stands in them."""

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import Any

from starlette.testclient import TestClient


@dataclass
class PageForm:
    action: str
    values: dict[str, str] = field(default_factory=dict)


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self._select = ""
        self._textarea = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {k: v or "" for k, v in attrs}
        if tag == "form":
            self.forms.append(PageForm(a.get("action", "")))
        elif self.forms:
            values = self.forms[-1].values
            if tag == "input" and "name" in a:
                tickable = a.get("type") in ("radio", "checkbox")
                if not tickable or "checked" in a:
                    values[a["name"]] = a.get("value", "on" if tickable else "")
            elif tag == "textarea":
                self._textarea = a["name"]
                values[self._textarea] = ""
            elif tag == "select":
                self._select = a["name"]
            elif tag == "option" and self._select and ("selected" in a or self._select not in values):
                values[self._select] = a.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "select":
            self._select = ""
        elif tag == "textarea":
            self._textarea = ""

    def handle_data(self, data: str) -> None:
        if self._textarea:
            self.forms[-1].values[self._textarea] += data


def forms_of(html: str) -> list[PageForm]:
    parser = _Forms()
    parser.feed(html)
    return parser.forms


def submit(browser: TestClient, address: str, having: str = "submission_key", /, **typed: Any) -> Any:
    """Loads the page, fills in what is `typed` into its form that has the field `having`, and sends it."""
    page = browser.get(address)
    assert page.status_code == 200, (address, page.status_code)
    form = next(f for f in forms_of(page.text) if having in f.values)
    return send(browser, form, address, **typed)


def send(browser: TestClient, form: PageForm, address: str, **typed: Any) -> Any:
    values = form.values | {k: "" if v is None else str(v) for k, v in typed.items()}
    return browser.post(form.action or address, data=values, headers={"Origin": str(browser.base_url).rstrip("/")})
