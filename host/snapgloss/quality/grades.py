"""Bars graded by hand, at three looks, and where a bad bar points: the bowl, or what came after.

Trade judgement and common practice, no source: bars are judged the next day, and again after a
week and a month, because bloom comes late; a good smear with a bad bar is cooling, mould or
store, a bad smear is the bowl.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from snapgloss.base.errors import InputError
from snapgloss.quality.temper_bands import GRADES, Grade
from snapgloss.quality.temper_smear import Smear

Look = Literal["first", "week", "month"]
LOOKS: tuple[Look, ...] = ("first", "week", "month")
MARKS = ("film", "dull", "streaks", "spots", "soft", "no release", "cracks")
Points = Literal["", "bowl", "cooling", "store", "unknown", "knife"]

DAY_MS = 24 * 3600 * 1000
LOOK_DUE_MS = {"first": DAY_MS // 2, "week": 7 * DAY_MS, "month": 28 * DAY_MS}
LOOK_BEGINS_MS = {"week": 5 * DAY_MS, "month": 21 * DAY_MS}
LOOK_WORDS = {"first": "at first", "week": "after a week", "month": "after a month"}
VERDICT_WORDS = {"sell": "sell", "seconds": "seconds", "remelt": "re-melt"}
_WORTH = {grade: -at for at, grade in enumerate(GRADES)}


class GradeEntry(Protocol):
    """What is needed of a stored grade."""

    @property
    def graded_utc_ms(self) -> int: ...  # noqa: D102
    @property
    def verdict(self) -> str: ...  # noqa: D102
    @property
    def marks(self) -> tuple[str, ...]: ...  # noqa: D102


@dataclass(frozen=True, slots=True)
class Standing:
    """What counts of one look: its last entry; `corrected`: how many before it takes back."""

    look: Look
    verdict: Grade
    marks: tuple[str, ...]
    corrected: int

    @property
    def words(self) -> str:
        """ "Sell at first", "Seconds after a week: film"."""
        said = f"{VERDICT_WORDS[self.verdict].capitalize()} {LOOK_WORDS[self.look]}"
        said += f": {', '.join(self.marks)}" if self.marks else ""
        return f"{said} (corrected)" if self.corrected else said


def check_grade(verdict: str, marks: Sequence[str]) -> tuple[Grade, tuple[str, ...]]:
    """Return the verdict and the marks in their order, each once; "re-melt" is read as remelt.

    Raises InputError for a word that is neither.
    """
    plain = verdict.lower().replace("-", "")
    found: Grade | None = next((one for one in GRADES if one == plain), None)
    if found is None:
        raise InputError(f'"{verdict}" is no grade.', "Say sell, seconds or re-melt.")
    for mark in marks:
        if mark not in MARKS:
            raise InputError(f'"{mark}" is no mark.', f"Choose from {', '.join(MARKS)}.")
    return found, tuple(mark for mark in MARKS if mark in marks)


def look_at(graded_utc_ms: int, ended_utc_ms: int) -> Look:
    """Which look a grade belongs to: the first until day 5, a week until day 21, then a month.

    A grade before the end counts as the first look: a clock that was set back is no reason to
    lose it.
    """
    age_ms = graded_utc_ms - ended_utc_ms
    if age_ms >= LOOK_BEGINS_MS["month"]:
        return "month"
    return "week" if age_ms >= LOOK_BEGINS_MS["week"] else "first"


def standings(entries: Sequence[GradeEntry], ended_utc_ms: int) -> list[Standing]:
    """What counts of each look that was taken, in the order of looks; entries oldest first."""
    looks: dict[Look, list[GradeEntry]] = {}
    for entry in entries:
        looks.setdefault(look_at(entry.graded_utc_ms, ended_utc_ms), []).append(entry)
    found = []
    for look in LOOKS:
        own = looks.get(look)
        if own:
            verdict, marks = check_grade(own[-1].verdict, own[-1].marks)
            corrected = sum(_is_taken_back(e, verdict, marks) for e in own[:-1])
            found.append(Standing(look, verdict, marks, corrected))
    return found


def _is_taken_back(entry: GradeEntry, verdict: str, marks: Sequence[str]) -> bool:
    """False where the later entry only says more."""
    return entry.verdict != verdict or not set(entry.marks) <= set(marks)


def worst(found: Sequence[Standing]) -> Grade | None:
    """The grade that the bars have in the end: the worst of the looks; None when ungraded."""
    return min((one.verdict for one in found), key=_WORTH.__getitem__, default=None)


def look_due(entries: Sequence[GradeEntry], ended_utc_ms: int, now_utc_ms: int) -> Look | None:
    """The look that is to be taken now; None when none is.

    Bars to be melted again are not asked for any more. Only the newest look that is due is asked:
    nobody can look back.
    """
    taken = standings(entries, ended_utc_ms)
    age_ms = now_utc_ms - ended_utc_ms
    due = next((look for look in reversed(LOOKS) if age_ms >= LOOK_DUE_MS[look]), None)
    if due is None or any(one.verdict == "remelt" for one in taken):
        return None
    late = LOOKS[LOOKS.index(due) :]
    return None if any(one.look in late for one in taken) else due


def points_to(found: Sequence[Standing], smear: Smear | None) -> Points:
    """Where the bars point; "" when there is nothing to find: no grade, or good all along."""
    if not found:
        return ""
    bad = any(one.verdict != "sell" or one.marks for one in found)
    if smear is None or smear == "unsure":
        return "unknown" if bad else ""
    good_smear = smear in ("good", "early")
    if not bad:
        return "" if good_smear else "knife"
    if not good_smear:
        return "bowl"
    late = found[0].look == "first" and found[0].verdict == "sell" and not found[0].marks
    return "store" if late else "cooling"


def contradictions(
    found: Sequence[Standing], counts: Mapping[str, int | None] | None
) -> list[str]:
    """What cannot all be so, in sentences: grades against each other and against the counts.

    Both are kept, and the worst grade counts.
    """
    said = []
    at = next((n for n, one in enumerate(found) if one.verdict == "remelt"), len(found))
    for later in found[at + 1 :]:
        if later.verdict != "remelt":
            said.append(
                f"Re-melt {LOOK_WORDS[found[at].look]}, but {VERDICT_WORDS[later.verdict]} "
                f"{LOOK_WORDS[later.look]}: what was melted cannot be sold. Re-melt counts."
            )
    return said + _against_counts(worst(found), counts or {})


def _against_counts(grade: Grade | None, counts: Mapping[str, int | None]) -> list[str]:
    sold, seconds, remelt = (counts.get(name) for name in ("sold", "seconds", "remelt"))
    if grade == "remelt" and (sold or seconds):
        return [f"Graded re-melt, but {(sold or 0) + (seconds or 0)} bars were counted for sale."]
    if grade == "sell" and not sold and (seconds or remelt):
        return ["Graded to sell, but no bar was counted as sold."]
    return []


POINTS_WORDS = {
    "": "",
    "bowl": "The knife had already said so: look at the bowl.",
    "cooling": "The knife was good, the bars are not: look at cooling and moulds, not at the "
    "bowl.",
    "store": "Knife and bars were good at first, the bars are not now: look at cooling and "
    "store, not at the bowl.",
    "unknown": "Without a smear test nobody can tell the bowl from the cooling: dip a knife next "
    "time.",
    "knife": "The knife doubted, the bars are good: both are kept.",
}
