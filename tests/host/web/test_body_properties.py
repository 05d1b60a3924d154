"""Bodies and addresses that any program may send: understood as they are written, or refused."""

import json
from contextlib import suppress
from math import isfinite

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snapgloss.base.errors import InputError
from snapgloss.web.api import history, routes
from snapgloss.web.api.schema import COMMANDS
from snapgloss.web.api.strict_json import DEPTH_MOST, read_object

SCALAR = st.one_of(
    st.none(), st.booleans(), st.integers(-(2**70), 2**70), st.floats(), st.text(max_size=20)
)
VALUE = st.recursive(
    SCALAR,
    lambda one: st.lists(one, max_size=3) | st.dictionaries(st.text(max_size=5), one),
    max_leaves=8,
)
NAMES = sorted({name for model in COMMANDS.values() for name in model.model_fields})


@given(st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)))
def test_any_bytes_are_an_object_or_a_sentence(body: bytes) -> None:
    """Nothing but InputError comes out."""
    with suppress(InputError):
        assert isinstance(read_object(body), dict)


@given(st.dictionaries(st.text(max_size=8), SCALAR, max_size=4))
def test_an_object_is_read_as_it_was_written(found: dict[str, object]) -> None:
    """All but numbers that are none, which JSON does not have."""
    text = json.dumps(found)
    if not all(isfinite(one) for one in found.values() if isinstance(one, float)):
        with pytest.raises(InputError):
            read_object(text.encode())
    elif text.count("[") + text.count("{") <= DEPTH_MOST:
        assert read_object(text.encode()) == found


@given(
    st.sampled_from(sorted(COMMANDS)), st.dictionaries(st.sampled_from(NAMES), VALUE, max_size=4)
)
def test_any_fields_of_a_command_are_taken_or_refused(
    name: str, fields: dict[str, object]
) -> None:
    """A field of another command is never taken; what is taken has the type of its model."""
    model = COMMANDS[name]
    try:
        found = routes._body(model, json.dumps(fields).encode())
    except InputError:
        return
    assert set(fields) <= set(model.model_fields)
    assert model.model_validate(found.model_dump()) == found


@given(st.text(max_size=30))
def test_any_text_in_an_address_is_a_number_a_day_or_refused(text: str) -> None:
    """A number is at least 0; a batch's is one that a record can have."""
    assert 0 <= history.number(text) < 10**9
    with suppress(InputError):
        assert 0 < history.run_number(text) <= history.RUN_MOST
    with suppress(InputError):
        history._day(text)
