"""`python -m service response-check`: the own model beside published group means. The disagreement is printed, not mended."""

from service.i18n import words
from shared.course.response_check import against_published, hours_against_published
from shared.rounding import round_half_up
from shared.sources import source

HEADINGS = ("arm", "age", "deficit", "hours", "predicted", "80 of 100", "published", "differs by")


def run() -> int:
    speak = words("en")
    found = against_published()
    rows = [
        (
            f"{c.source_key}, {speak.text(c.arm)}",
            f"{c.age_years:.1f} y",
            f"{c.deficit_logmar:.2f}",
            f"{round_half_up(c.hours):.0f} h",
            f"{c.predicted_mean:.2f}",
            f"{c.predicted.low:.2f} to {c.predicted.high:.2f}",
            f"{c.published_gain:.2f}",
            f"{c.difference:+.2f}",
        )
        for c in found
    ]
    widths = [max(map(len, column)) for column in zip(HEADINGS, *rows, strict=True)]
    print("Mean gain in logMAR, this project's own model (partly from memory) beside published group means; assumed where not published:")
    for row in (HEADINGS, *rows):
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())
    for assumed in dict.fromkeys(speak.text(c.assumed) for c in found):
        arms = ", ".join(dict.fromkeys(c.source_key for c in found if speak.text(c.assumed) == assumed))
        print(f"Assumed for {arms}: {assumed}.")
    print("Trials that begin with new glasses (ats2b, ats2a, awan-2005) carry the gain of the glasses too, which the model has not.")
    model, published = hours_against_published()
    print(f"Hours per 0.1 logMAR: {model:.0f} at 10 years by the model, {published:.0f} published for 7 to 16 years.")
    for key in dict.fromkeys(c.source_key for c in found):
        print(f"{key}: {source(key).citation}")
    return 0
