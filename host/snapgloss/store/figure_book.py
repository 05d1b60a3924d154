"""Figures of runs, worked out from what was recorded; always to be had again."""

from collections.abc import Mapping, Sequence

from sqlalchemy import insert, select

from snapgloss.store.ground import OpenRecord
from snapgloss.store.tables import BOOTS, FIGURES, RUN_PARTS


class FigureBook(OpenRecord):
    """The part of the store that keeps figures."""

    def save_figures(self, run_id: int, figures: Mapping[str, float | None]) -> None:
        """Keep a run's figures by name, in place of those held before."""
        self.run(run_id)
        self.save_all_figures({run_id: figures})

    def save_all_figures(self, figures: Mapping[int, Mapping[str, float | None]]) -> None:
        """Keep the figures of several runs that are there, all or none."""
        rows = [
            {"run_id": run_id, "name": name, "value": value}
            for run_id, own in figures.items()
            for name, value in own.items()
        ]
        with self._writing() as connection:
            connection.execute(FIGURES.delete().where(FIGURES.c.run_id.in_(list(figures))))
            if rows:
                connection.execute(insert(FIGURES), rows)

    def figures(self, run_id: int) -> dict[str, float | None]:
        """A run's figures by name; empty when none were saved."""
        rows = select(FIGURES.c.name, FIGURES.c.value).where(FIGURES.c.run_id == run_id)
        with self._reading() as connection:
            return {str(name): value for name, value in connection.execute(rows)}

    def figures_named(self, names: Sequence[str]) -> dict[int, dict[str, float | None]]:
        """Some figures of all runs, by run and name; runs without any of them are left out."""
        wanted = select(FIGURES).where(FIGURES.c.name.in_(names))
        found: dict[int, dict[str, float | None]] = {}
        with self._reading() as connection:
            for run_id, name, value in connection.execute(wanted).all():
                found.setdefault(run_id, {})[name] = value
        return found

    def heater_w(self, run_id: int) -> int | None:
        """The power of the heater that a run had; None when it was not kept, or changed."""
        of_run = select(BOOTS.c.heater_w).join(RUN_PARTS, RUN_PARTS.c.boot_id == BOOTS.c.id)
        with self._reading() as connection:
            found = connection.execute(of_run.where(RUN_PARTS.c.run_id == run_id)).scalars().all()
        return found[0] if len(set(found)) == 1 else None

    def boards(self, run_id: int) -> set[str]:
        """The boards that ran a run: one, unless a rig was given another in mid-batch."""
        of_run = select(BOOTS.c.board).join(RUN_PARTS, RUN_PARTS.c.boot_id == BOOTS.c.id)
        with self._reading() as connection:
            found = connection.execute(of_run.where(RUN_PARTS.c.run_id == run_id)).scalars()
            return {str(board) for board in found}

    def firmwares(self, run_id: int | None = None) -> dict[int, str]:
        """The firmware that one run, or each, began with, by run."""
        wanted = (
            select(RUN_PARTS.c.run_id, BOOTS.c.firmware)
            .join(BOOTS, BOOTS.c.id == RUN_PARTS.c.boot_id)
            .where(RUN_PARTS.c.part_no == 0)
        )
        if run_id is not None:
            wanted = wanted.where(RUN_PARTS.c.run_id == run_id)
        with self._reading() as connection:
            return {int(run): str(firmware) for run, firmware in connection.execute(wanted)}
