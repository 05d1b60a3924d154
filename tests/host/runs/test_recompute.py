"""Figures of many runs at once: the same by other processes as by this one."""

from pathlib import Path

from snapgloss.runs import recompute
from snapgloss.runs.recompute import AT_ONCE, recompute_figures
from snapgloss.store import open_store

from ..synthetic import SEEDED, keep, synthetic

SHORT = tuple((state, max(1, m // 20), *rest) for state, m, *rest in SEEDED)


def test_other_processes_find_the_same_figures(tmp_path: Path, monkeypatch) -> None:
    """Two shares, by two processes and by none: equal to the last digit, for every run."""
    with open_store(tmp_path) as store:
        for number in range(AT_ONCE + 2):
            keep(store, synthetic(SHORT, number), boot_nonce=number)
        assert recompute_figures(store) == AT_ONCE + 2
        alone = {run.id: store.figures(run.id) for run in store.runs()}
        store.save_all_figures({run: {} for run in alone})
        monkeypatch.setattr(recompute, "_worked_out", None)  # this process works nothing out
        monkeypatch.setattr(recompute, "cores", lambda: 2)
        assert recompute_figures(store, many=2) == AT_ONCE + 2
        assert {run.id: store.figures(run.id) for run in store.runs()} == alone
    assert len({figures["lowest_c"] for figures in alone.values()}) > 1


def test_a_record_without_runs_has_none_to_recompute(tmp_path: Path) -> None:
    """Nothing to do is no mistake."""
    with open_store(tmp_path) as store:
        assert recompute_figures(store, many=0) == 0
