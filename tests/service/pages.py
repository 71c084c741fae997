"""A browser without a screen: reads the forms of a page and sends them as a person would, with everything that stands in them."""

import re
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


def taking(html: str, field: str = "submission_key") -> PageForm:
    """The form of a page that holds a field."""
    return next(f for f in forms_of(html) if field in f.values)


def row_of(html: str, heading: str) -> list[str]:
    """What stands in the cells of the row with a heading."""
    row = re.search(rf'<th scope="row">{re.escape(heading)}</th>(.*?)</tr>', html, re.DOTALL)
    assert row, heading
    return [re.sub("<[^>]*>", "", cell).strip() for cell in re.findall("<td>(.*?)</td>", row[1], re.DOTALL)]


def new_visit(child: Any) -> str:
    return f"/children/{child.public_id}/visits/new"


def submit(browser: TestClient, address: str, having: str = "submission_key", /, **typed: Any) -> Any:
    """Loads the page, fills in what is `typed` into its form that has the field `having`, and sends it."""
    page = browser.get(address)
    assert page.status_code == 200, (address, page.status_code)
    return send(browser, taking(page.text, having), address, **typed)


def send(browser: TestClient, form: PageForm, address: str, **typed: Any) -> Any:
    values = form.values | {k: "" if v is None else str(v) for k, v in typed.items()}
    return browser.post(form.action or address, data=values, headers={"Origin": str(browser.base_url).rstrip("/")})


def confirm(browser: TestClient, asked: Any, address: str) -> Any:
    """Ticks the box under the questions of a page, which answers these and no others, and sends its form again."""
    key = re.search(r'name="as_typed" value="(\w+)"', asked.text)
    assert asked.status_code == 409 and key, "nothing is asked"
    return send(browser, taking(asked.text), address, as_typed=key[1])


def wear_form(html: str) -> PageForm:
    return next(f for f in forms_of(html) if f.action.endswith("/wear"))


def note(browser: TestClient, address: str, **typed: object) -> Any:
    """A tap of one who answers what is asked, unless `typed` says otherwise."""
    return send(browser, wear_form(browser.get(address).text), address, **{"correction_worn": "yes"} | typed)
