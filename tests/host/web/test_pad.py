"""How figures that were typed are read."""

from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.web.pages.parts.pad import temperature, tenths, time_of_day, whole

IN_F = temperature("Room", 5_000, 40_000).read_f
assert IN_F is not None
READERS = (
    (IN_F, 5_000, 40_000),
    (whole(1, 500, "bars"), 1, 500),
    (tenths(5_000, 40_000, "°C"), 5_000, 40_000),
    (time_of_day, 0, 24 * 60 - 1),
)
NONSENSE = ["nan", "inf", "-1", "1e9"]
TEXTS = st.text() | st.text("0123456789.", max_size=8) | st.sampled_from(NONSENSE)


@given(TEXTS)
def test_any_text_is_a_figure_within_its_limits_or_refused(text: str) -> None:
    """Nothing else is raised."""
    for read, low, high in READERS:
        try:
            assert low <= read(text) <= high
        except InputError as no:
            assert no.remedy


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        (whole(1, 500, "bars"), "48", 48),
        (whole(1, 500, "bars"), "500", 500),
        (tenths(5_000, 40_000, "°C"), "21.5", 21_500),
        (tenths(5_000, 40_000, "°C"), "40", 40_000),
        (IN_F, "70", 21_111),
        (IN_F, "41", 5_000),
        (IN_F, "104", 40_000),
        (time_of_day, "930", 570),
        (time_of_day, "9.30", 570),
        (time_of_day, "2359", 1439),
        (time_of_day, "000", 0),
    ],
)
def test_what_is_typed_in_a_kitchen(read: Callable[[str], int], text: str, value: int) -> None:
    """To its limits."""
    assert read(text) == value


@pytest.mark.parametrize(
    ("read", "text"),
    [
        (whole(1, 500, "bars"), "501"),
        (whole(1, 500, "bars"), "0"),
        (tenths(5_000, 40_000, "°C"), "40.1"),
        (tenths(5_000, 40_000, "°C"), "1.2.3"),
        (IN_F, "40.9"),
        (IN_F, "104.1"),
        (IN_F, "."),
        (time_of_day, "2400"),
        (time_of_day, "960"),
        (time_of_day, "9"),
    ],
)
def test_what_cannot_be(read: Callable[[str], int], text: str) -> None:
    """One beyond, and no figure at all."""
    with pytest.raises(InputError):
        read(text)
