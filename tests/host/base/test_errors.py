"""The error tree: one exit code each, documented, and both sentences in its text."""

import pytest

from snapgloss.base import errors

EXPECTED = {
    "SnapglossError": 1,
    "InputError": 2,
    "RigError": 3,
    "LinkError": 4,
    "CableOut": 4,
    "StoreError": 5,
    "StoreDamaged": 5,
    "StoreBusy": 5,
    "VersionError": 6,
}


def test_every_error_is_in_the_documented_table():
    """The module's table lists each class with its exit code, and no class is left out."""
    classes = {
        name: kind.exit_code
        for name, kind in vars(errors).items()
        if isinstance(kind, type) and issubclass(kind, errors.SnapglossError)
    }
    assert classes == EXPECTED
    for name, code in EXPECTED.items():
        assert f"| {code} | {name} |" in errors.__doc__


@pytest.mark.parametrize("name", EXPECTED)
def test_text_is_message_then_remedy(name):
    """A face that prints only str(error) still says what to do."""
    error = getattr(errors, name)("It broke.", "Mend it.")
    assert (error.message, error.remedy, str(error)) == (
        "It broke.",
        "Mend it.",
        "It broke. Mend it.",
    )
    assert str(getattr(errors, name)("It broke.")) == "It broke."
