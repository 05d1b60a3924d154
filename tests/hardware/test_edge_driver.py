"""The edge-train driver's page and picture have the values that the sizing reckons."""

from pathlib import Path

from snapgloss.rigs.sizing_switches import edge_train

FOLDER = Path(__file__).parents[2] / "hardware"


def test_page_and_picture_have_the_reckoned_values():
    """Resistor on both; the three holds on the page, all inside 0.5 to 1 s."""
    hold = edge_train()
    page = (FOLDER / "edge-driver.md").read_text(encoding="utf-8")
    picture = (FOLDER / "drawings" / "edge-driver.svg").read_text(encoding="utf-8")
    ohm = f"{hold.ohm / 1e6:g} MΩ"
    assert ohm in page and ohm in picture
    assert f"{hold.usual_s:.2f} s, {hold.least_s:.2f} to {hold.most_s:.2f} s" in page
    assert 0.5 < hold.least_s < hold.most_s < 1.0
