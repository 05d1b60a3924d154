"""The files that pages load, each by a name in a list made at the start: no path is looked up.

Scripts and sheets of the pages lie beside them and in `assets`. uPlot comes from the package
`uplot-python`, whose files are found without importing it.
"""

import hashlib
from functools import cached_property
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path

from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from snapgloss.report.palette import COLOURS
from snapgloss.web.words import REFUSALS

PREFIX = "/assets"
KINDS = {".js": "text/javascript", ".css": "text/css"}
UPLOT = {"uplot.js": "uPlot.iife.js", "uplot.css": "uPlot.min.css"}
UNVERSIONED = ("entrance.css",)
KEPT = (b"cache-control", b"public, max-age=31536000, immutable")


class Assets:
    """All files by name, with a version of all in their addresses."""

    @cached_property
    def all(self) -> dict[str, bytes]:
        """The content of each file by its name."""
        web = Path(str(files("snapgloss.web")))
        found = {"palette.css": palette_css().encode()}
        for folder in (web / "assets", *(p for p in (web / "pages").iterdir() if p.is_dir())):
            for path in sorted(folder.iterdir()):
                if path.suffix in KINDS:
                    found[path.name] = path.read_bytes()
        return {**found, **_uplot()}

    @cached_property
    def version(self) -> str:
        """Changes when any file does."""
        every = b"".join(name.encode() + body for name, body in sorted(self.all.items()))
        return hashlib.sha256(every).hexdigest()[:12]

    def url(self, name: str) -> str:
        """Where a page loads a file. Raises KeyError for one that is not there."""
        _ = self.all[name]
        return f"{PREFIX}/{self.version}/{name}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve one file to whoever asks for it by its address."""
        version, _, name = str(scope["path"]).removeprefix(PREFIX + "/").rpartition("/")
        body = self.all.get(name)
        is_known = body is not None and (version == self.version or name in UNVERSIONED)
        if not is_known or body is None:
            answer = Response(REFUSALS[404], 404, media_type="text/plain")
        else:
            answer = Response(body, media_type=KINDS["." + name.rpartition(".")[2]])
            if version:
                answer.raw_headers.append(KEPT)
        await answer(scope, receive, send)


def palette_css() -> str:
    """The colours of reports as variables, for both themes."""
    light = "".join(f"--{one.name}:{one.light};" for one in COLOURS)
    dark = "".join(f"--{one.name}:{one.dark};" for one in COLOURS)
    return (
        f':root{{color-scheme:light;{light}}}:root[data-theme="dark"]{{color-scheme:dark;{dark}}}'
    )


def _uplot() -> dict[str, bytes]:
    """Empty when the package is not there: the page then goes without its curve."""
    spec = find_spec("uplot")
    if spec is None or not spec.submodule_search_locations:
        return {}
    static = Path(spec.submodule_search_locations[0]) / "static"
    return {name: (static / theirs).read_bytes() for name, theirs in UPLOT.items()}


ASSETS = Assets()
