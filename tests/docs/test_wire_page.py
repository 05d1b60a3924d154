"""protocol/WIRE.md against the code and the vectors."""

import re

import wire_page
from rigwire import views
from wire_vectors import load

TEXT = wire_page.PAGE.read_text(encoding="utf-8")


def test_page_is_generated_from_the_tables() -> None:
    """The page equals what the tables give: diagram, messages, words, limits."""
    assert wire_page.generated(TEXT) == TEXT


def test_a_changed_table_would_be_noticed() -> None:
    """A page with one figure changed differs from the generated one."""
    assert (
        wire_page.generated(TEXT.replace("| 1 | `probe_missing`", "| 9 | `probe_missing`")) == TEXT
    )
    assert "| 1 | `probe_missing`" in TEXT


def test_every_message_is_on_the_page() -> None:
    """No message without its paragraph."""
    assert set(re.findall(r"^\*\*`(\w+)`\*\*", TEXT, re.M)) == {row[0] for row in views.TABLE}


def test_every_vector_names_a_section_of_the_page() -> None:
    """The section that a vector comes from exists."""
    sections = set(re.findall(r"^#+ (\d+(?:\.\d+)?) ", TEXT, re.M))
    for name in ("good.json", "refused.json", "not_messages.json", "schedules.json"):
        assert {row["section"] for row in load(name)} <= sections


def test_example_frame_is_a_real_one() -> None:
    """The frame shown in section 2.1 decodes."""
    from rigwire import frames

    example = re.search(r'^    (\["off",10\] \w{8})$', TEXT, re.M)
    assert example and frames.decode(example[1].encode() + b"\n") == ["off", 10]
