"""host/docs/schedules.md shows a schedule that the program reads, and explains all of it."""

import re

import pytest

from snapgloss.base.errors import InputError
from snapgloss.base.units import (
    mass_g,
    rate_mc_per_min,
    share_permille,
    span_s,
    temperature_mc,
)
from snapgloss.schedules import fields
from snapgloss.schedules.files import from_text, to_text


@pytest.fixture(scope="module")
def page(root):
    """The text of the page."""
    return (root / "host" / "docs" / "schedules.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def example(page):
    """The schedule on the page."""
    return re.search(r"^```toml\n(.*?)^```", page, re.DOTALL | re.MULTILINE)[1]


def test_the_example_is_a_schedule(example):
    """It reads as the seeded batch the page says, and is written as the program writes it."""
    schedule = from_text(example, "schedules.md")
    assert (schedule.chocolate, schedule.mass_g, schedule.method) == ("Lantern 72", 2000, "seeded")
    assert to_text(schedule) == example


def test_every_name_is_explained(page):
    """Each name that a file may have stands on the page in code."""
    names = {*fields.HEAD, *fields.STEP, "format"} - {"kind"}
    assert [name for name in sorted(names) if f"| `{name}` |" not in page] == []


def test_written_forms_are_read_and_bare_ones_refused(page):
    """The table of units: each form in the second column is read, each in the third refused."""
    parsers = {
        "temperature": temperature_mc,
        "span of time": span_s,
        "mass": mass_g,
        "rate": rate_mc_per_min,
        "share": share_permille,
    }
    for quantity, parse in parsers.items():
        written, refused = re.search(rf"^\| {quantity} \| (.*?) \| (.*?) \|$", page, re.M).groups()
        for text in re.findall(r'`"(.*?)"`', written):
            assert parse(text) > 0
        with pytest.raises(InputError):
            parse(refused.strip("`"))
