"""The save-it card of a batch under way: what a person says by one touch counts, for a while."""

from pathlib import Path

from tests.host.synthetic import SEEDED, keep, synthetic

from snapgloss.runs.live_card import EVERY_S, LiveCard
from snapgloss.runs.touches import MOMENTS, THICK_FOR_S, Thickness
from snapgloss.store import open_store


def test_thick_counts_until_it_is_said_to_be_well_or_long_ago() -> None:
    """From the touch on for 20 minutes; "thin" and a good knife end it, another note does not."""
    said, thick = Thickness(), MOMENTS["thick"]
    assert not said.is_thick([], 100.0)
    assert said.is_thick([thick], 200.0)
    assert said.is_thick([thick, "mould 9"], 200.0 + THICK_FOR_S - 1)
    assert not said.is_thick([thick, "mould 9"], 200.0 + THICK_FOR_S)
    for well in ("thin", "knife_good"):
        notes = [thick, "mould 9", thick, MOMENTS[well]]
        assert not Thickness().is_thick(notes, 0.0)
        assert Thickness().is_thick([*notes, thick], 0.0)


def test_a_touch_of_thick_brings_its_card(tmp_path: Path) -> None:
    """Said once when it is new, shown until it is over."""
    with open_store(tmp_path) as store:
        run_id = keep(store, synthetic(SEEDED))
        card = LiveCard(store, 0.0, fahrenheit=False)
        assert not card.is_due(EVERY_S - 0.1) and card.is_due(EVERY_S)
        assert (card.look(run_id, 10.0), card.words) == ("", "")
        store.add_note(run_id, MOMENTS["thick"])
        assert "crystals have grown. Stir in" in card.look(run_id, 20.0)
        assert card.look(run_id, 30.0) == ""
        assert card.words.startswith("It is thick at 31.")
        store.add_note(run_id, MOMENTS["thin"])
        card.look(run_id, 40.0)
        assert card.words == ""
