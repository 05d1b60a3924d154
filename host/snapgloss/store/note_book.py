"""What makers note about their batches; only ever added."""

from sqlalchemy import insert, select

from snapgloss.store.ground import OpenRecord
from snapgloss.store.rows import NoteRow
from snapgloss.store.tables import NOTES


class NoteBook(OpenRecord):
    """The part of the store that keeps notes."""

    def add_note(self, run_id: int, words: str) -> None:
        """Keep a maker's note."""
        self.run(run_id)
        row = {"run_id": run_id, "written_utc_ms": self._clock_utc_ms(), "words": words}
        with self._writing() as connection:
            connection.execute(insert(NOTES), row)

    def notes(self, run_id: int) -> list[NoteRow]:
        """A run's notes, oldest first."""
        wanted = select(NOTES.c.id, NOTES.c.written_utc_ms, NOTES.c.words)
        with self._reading() as connection:
            rows = connection.execute(wanted.where(NOTES.c.run_id == run_id).order_by(NOTES.c.id))
            return [NoteRow(*row) for row in rows]

    def words_of_notes(self) -> dict[int, str]:
        """The words of all notes of each run that has some, for a search."""
        found: dict[int, str] = {}
        wanted = select(NOTES.c.run_id, NOTES.c.words).order_by(NOTES.c.id)
        with self._reading() as connection:
            for run_id, words in connection.execute(wanted):
                found[run_id] = f"{found.get(run_id, '')} {words}"
        return found
