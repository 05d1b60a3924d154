"""A sentence with °C, or with C as files have it, told in °F and F."""

import re

from snapgloss.base.units import f_from_c

_CELSIUS = re.compile(
    r"""(?<!["\d.])(?P<apart>within\ )?
    (?P<first>-?\d+(?:\.\d+)?)(?P<to>\ to\ )?(?P<last>(?<=\ to\ )-?\d+(?:\.\d+)?)?
    \ (?P<mark>°?)C\b""",
    re.VERBOSE,
)


def in_fahrenheit(words: str) -> str:
    """Return the sentence with every temperature in °F, to as many places as it had, at most one.

    "within 2 °C" is how far two lie apart. What stands in quotation marks was typed like that and
    stays.
    """
    return _CELSIUS.sub(_told, words)


def _told(found: re.Match[str]) -> str:
    apart, last = found["apart"] or "", found["last"]
    first = _shown(found["first"], bool(apart))
    span = f" to {_shown(last, bool(apart))}" if last else ""
    return f"{apart}{first}{span} {found['mark']}F"


def _shown(celsius: str, apart: bool) -> str:
    places = len(celsius.partition(".")[2])
    value = float(celsius) * 1.8 if apart else f_from_c(float(celsius))
    # More places come of degrees typed in °F: 48.889 °C was 120 °F.
    return f"{value:.{places}f}" if places <= 1 else f"{value:.1f}".removesuffix(".0")
