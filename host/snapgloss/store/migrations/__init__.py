"""The steps from one form of the database to the next, oldest first. Append only."""

# Named here so that opening an up-to-date record need not import Alembic; a test compares this
# with the scripts.
REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009")
HEAD = REVISIONS[-1]
