"""A folder of its own for the firmware that runs: copies, removed at the end."""

import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

_HERE = Path(__file__).parent
COMPOSITION_ROOT = "device_main.py"
KEEP_FOLDER = "kept"
"""The board's flash: what the firmware keeps over a reset, beside the script."""
COMPOSITION_FILES = (COMPOSITION_ROOT, "exchange.py")


class Staging:
    """Copies of `firmware` ({relative path: file}) and of the composition root.

    MicroPython puts the folder of its script first on its path, so what lies here is what runs,
    and nothing of site-packages can stand in for it.
    """

    def __init__(self, firmware: Mapping[str, Path], root: Path | None = None) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="snapgloss-rig-", dir=root))
        try:
            (self.folder / KEEP_FOLDER).mkdir()
            for name in COMPOSITION_FILES:
                shutil.copyfile(_HERE / name, self.folder / name)
            for relative, source in firmware.items():
                target = self.folder / relative
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(source, target)
        except BaseException:
            self.remove()
            raise

    @property
    def script(self) -> Path:
        """The file to run."""
        return self.folder / COMPOSITION_ROOT

    def remove(self) -> None:
        """Delete the folder. May be called again."""
        shutil.rmtree(self.folder, ignore_errors=True)

    def __enter__(self) -> "Staging":
        return self

    def __exit__(self, *_fault: object) -> None:
        self.remove()
