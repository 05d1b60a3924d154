"""Three schedules of the made-up workshop Quillby & Maar, for trying things out."""

from importlib.resources import files

from snapgloss.schedules.model import ScheduleFile
from snapgloss.schedules.reader import from_text

WORKSHOP = "Quillby & Maar"
FILES = {
    "Lantern 72": "lantern-72.toml",
    "Ferry Milk 48": "ferry-milk-48.toml",
    "Chalk White": "chalk-white.toml",
}


def demo_text(chocolate: str = "Lantern 72") -> str:
    """Return the TOML text of a demo schedule; KeyError for a name not in FILES."""
    return files(__name__).joinpath(FILES[chocolate]).read_text(encoding="utf-8")


def demo(chocolate: str = "Lantern 72") -> ScheduleFile:
    """Return a demo schedule; KeyError for a name not in FILES."""
    return from_text(demo_text(chocolate), FILES[chocolate])
