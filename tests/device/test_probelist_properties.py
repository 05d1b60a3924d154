"""Whatever the flash holds as a list of probes: four probes, or a refusal in words."""

from hypothesis import given
from hypothesis import strategies as st

from rigfw.config import ConfigRefused
from rigfw.drivers.probelist import KINDS, ROLES, listed, to_text

VALUES = st.one_of(st.integers(-(10**12), 10**12).map(str), st.text(max_size=8), st.just("50"))
ROLE = st.one_of(
    st.just("-"),
    st.text(max_size=30),
    st.builds(
        lambda kind, values: ",".join([kind, *values]),
        st.sampled_from([*KINDS, "ds18b20"]),
        st.lists(VALUES, min_size=1, max_size=8),
    ),
)


def _is_list_or_refusal(text):
    try:
        found = listed(text)
    except ConfigRefused as refusal:
        assert 0 < len(refusal.reason) <= 50
        return
    assert len(found) == len(ROLES)
    assert found[0] is not None


@given(st.one_of(st.none(), st.binary(max_size=80), st.text(max_size=200)))
def test_any_content_gives_a_list_or_a_refusal(text):
    """Nothing else is raised."""
    _is_list_or_refusal(text)


@given(st.lists(ROLE, min_size=4, max_size=4))
def test_any_roles_under_a_good_check_sum_give_a_list_or_a_refusal(roles):
    """Also when the line itself is whole."""
    _is_list_or_refusal(to_text(roles))
