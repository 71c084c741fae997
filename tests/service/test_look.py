"""The look: contrast of the colours, and what the shared pieces of a page must always say."""

import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from service.forms import Form
from service.i18n import words
from service.rendering import STATIC, Renderer
from service.settings import DemoSettings
from shared.findings import msg

CSS = Path(STATIC / "app.css").read_text()
COLOURS = {name: (light, dark) for name, light, dark in re.findall(r"--([\w-]+): light-dark\((#\w{6}), (#\w{6})\)", CSS)}
EN = words("en")

TEXT = [
    *((ink, ground) for ink in ("ink", "muted", "act", "second", "danger", "fine") for ground in ("ground", "card")),
    *((ink, band) for ink in ("ink", "muted", "act", "second") for band in ("band-odd", "band-even")),
    ("on-act", "act"), ("card", "danger"), ("ink", "act-pale"), ("act", "act-pale"),
    ("danger", "danger-pale"), ("fine", "fine-pale"), ("notice", "notice-pale"),
]  # fmt: skip
OUTLINES = [("control", ground) for ground in ("ground", "card")]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (https://www.w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    red, green, blue = (int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (red, green, blue)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_gives_the_standards_own_extremes() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


@pytest.mark.parametrize(("ink", "ground", "least"), [(*pair, 4.5) for pair in TEXT] + [(*pair, 3.0) for pair in OUTLINES])
def test_contrast_reaches_what_wcag_2_2_asks_for(ink: str, ground: str, least: float) -> None:
    # Success criteria 1.4.3 (text, 4.5:1) and 1.4.11 (outlines of controls, 3:1).
    for theme in (0, 1):
        assert contrast(COLOURS[ink][theme], COLOURS[ground][theme]) >= least, ("light", "dark")[theme]


def render(template: str, **context: object) -> str:
    return Renderer(DemoSettings())._environment(EN).from_string(template).render(context)


class Elements(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.append((tag, {k: v or "" for k, v in attrs}))

    def with_(self, name: str, value: str) -> dict[str, str]:
        return next(a for _, a in self.found if a.get(name) == value)


def test_an_error_is_tied_to_its_field_which_keeps_what_was_typed() -> None:
    form = Form(EN, values={"sphere": '+80 "D"'})
    form.refuse("sphere", msg("+80 D cannot be; between -40 and 50 D would."))
    html = render(
        """{% import "partials/forms.html" as f %}{{ f.error_summary(form) }}{{ f.field(form, "sphere", "Sphere", unit="D", hint="with sign") }}""", form=form
    )
    field = Elements(html).with_("name", "sphere")
    assert field["value"] == '+80 "D"' and field["aria-invalid"] == "true"
    described = field["aria-describedby"].split()
    assert described == ["sphere-unit", "sphere-hint", "sphere-error"] and all(f'id="{name}"' in html for name in described)
    assert 'href="#sphere"' in html, "the summary leads to the field"


def test_a_password_is_never_sent_back() -> None:
    form = Form(EN, values={"password": "secret words"})
    assert "secret words" not in render("""{% import "partials/forms.html" as f %}{{ f.field(form, "password", "Password", kind="password") }}""", form=form)


def test_a_choice_shows_what_was_chosen_in_both_its_styles() -> None:
    form = Form(EN, values={"eye": "left"})
    for style, chosen in (("radio", "checked"), ("select", "selected")):
        html = render(
            """{% import "partials/forms.html" as f %}{{ f.choice(form, "eye", "Eye", [("right", "R"), ("left", "L")], style=style) }}""",
            form=form,
            style=style,
        )
        assert [a["value"] for _, a in Elements(html).found if chosen in a] == ["left"]


@pytest.mark.parametrize(("covered", "word", "other"), [("right", "RIGHT", "LEFT"), ("left", "LEFT", "RIGHT")])
def test_the_face_covers_the_childs_own_eye_as_one_looks_at_the_child(covered: str, word: str, other: str) -> None:
    html = render("""{% from "partials/face.html" import face %}{{ face(covered) }}""", covered=covered)
    svg = Elements(html)
    middle = float(svg.with_("class", "face")["viewbox"].split()[2]) / 2
    patch, eye = svg.with_("class", "patch"), svg.with_("class", "open-eye")
    on_the_viewers_left = float(patch["x"]) + float(patch["width"]) / 2 < middle
    assert on_the_viewers_left is (covered == "right")
    assert (float(eye["cx"]) > middle) is on_the_viewers_left, "the other eye is open"
    assert f">{word}</text>" in html and f">{other}</text>" not in html
    assert f"The child's {word} eye is covered" in html


def test_a_face_with_no_eye_covered_says_so() -> None:
    html = render("""{% from "partials/face.html" import face %}{{ face(none) }}""")
    assert "patch" not in html and html.count("open-eye") == 2 and "Both eyes are open" in html
