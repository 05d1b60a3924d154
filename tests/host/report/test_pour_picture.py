"""The picture of a pour clock: every moment's words can be read, whatever the day is."""

import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from snapgloss.chocolate.moulds import plan_moulds
from snapgloss.chocolate.setting import Cooling, bar_of, settle
from snapgloss.chocolate.types import DARK, MILK, WHITE, ChocolateType
from snapgloss.report.pour_picture import MARKS, draw_pour
from snapgloss.rigs.description import BENCH_RIG
from snapgloss.schedules.planning import Wish, plan
from snapgloss.schedules.pouring import pour_clock


def shown(
    kind: ChocolateType, bars: int, cavities: int, room_c: float, mould_s: int
) -> tuple[list[Text], Figure]:
    """The words of the moments as they are drawn, and what measures them."""
    moulds = plan_moulds(bars, 60, cavities)
    setting = settle(bar_of(60, 7e-3, 120), Cooling(12.0, 15.0, 30.0))
    planned = plan(Wish(kind, moulds.batch_g), BENCH_RIG, room_c)
    figure = draw_pour(pour_clock(planned, moulds, 600, setting, mould_s), planned, "A day")
    figure.canvas.draw()
    said = [t for t in figure.axes[0].texts if t.get_text()[6:] in MARKS.values()]
    return said, figure


@pytest.mark.parametrize(
    ("kind", "bars", "cavities", "room_c", "mould_s"),
    [(DARK, 48, 8, 21.0, 75), (MILK, 48, 8, 26.0, 75), (DARK, 90, 4, 21.0, 75),
     (WHITE, 12, 8, 18.0, 75), (DARK, 60, 4, 24.0, 240), (MILK, 8, 8, 21.0, 5)],
)  # fmt: skip
def test_no_words_lie_on_others(
    kind: ChocolateType, bars: int, cavities: int, room_c: float, mould_s: int
) -> None:
    """All seven moments are there, inside the picture, and no two overlap."""
    said, figure = shown(kind, bars, cavities, room_c, mould_s)
    assert sorted(text.get_text()[6:] for text in said) == sorted(MARKS.values())
    boxes = [text.get_window_extent() for text in said]
    for number, box in enumerate(boxes):
        assert box.x0 >= 0 and box.x1 <= figure.bbox.width and box.y1 <= figure.bbox.height
        for other in boxes[:number]:
            assert not box.overlaps(other)
