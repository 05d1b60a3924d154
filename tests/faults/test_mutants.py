"""The mutants are what they say they are, and one that a test notices is called killed."""

import ast
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from mutants import EDGES, figures_of, is_noticed
from mutants_made import EQUIVALENT, RIGFW, Mutant, all_mutants

MUTANTS = all_mutants()


def _source(module: str) -> str:
    return (RIGFW / f"{module}.py").read_text(encoding="utf-8")


def _of(module: str, what: str, source: str = "") -> Mutant:
    found = [m for m in MUTANTS if (m.module, m.what) == (module, what) and source in m.source]
    assert len(found) == 1, (module, what, source)
    return found[0]


def test_every_mutant_is_another_program_than_the_firmware_and_the_rest() -> None:
    """Each can be compiled and differs by more than its layout."""
    as_it_is = {ast.unparse(ast.parse(_source(one))) for one in {m.module for m in MUTANTS}}
    texts = {one.text for one in MUTANTS}
    assert len(texts) == len(MUTANTS) > 900
    assert not texts & as_it_is
    assert all(compile(text, "mutant", "exec") for text in texts)


def test_a_moved_limit_is_the_only_one_that_moved() -> None:
    """By 10 % or by one, up and down; a limit written over several lines, too."""

    def values(text: str) -> dict[str, object]:
        found: dict[str, object] = {}
        exec(text, found)
        del found["__builtins__"]
        return found

    before = values(_source("limits"))
    moved = dict.fromkeys(before, 0)
    for mutant in [one for one in MUTANTS if one.module == "limits"]:
        after = values(mutant.text)
        (name,) = [name for name in before if after[name] != before[name]]
        moved[name] += 1
    assert {moved["SEED_FALL_MC"], moved["PLATE_LOW_MC"], moved["HOT_MC"]} == {2}
    assert after.keys() == before.keys()
    assert values(_of("limits", "up: 2200", "HOT_MC").text)["HOT_MC"] == 2200
    assert values(_of("limits", "down: -1", "PLATE_LOW_MC").text)["PLATE_LOW_MC"] == -1


def test_each_kind_of_mutant_is_made() -> None:
    """Both edges of a chain, parts of a condition, one attribute of several, an early return."""
    assert "0 <= self._left_ms" in _of("proof", "edge: 0 <= self._left_ms <= "
                                       "limits.PROVE_SWITCH_MS").text  # fmt: skip
    assert (
        "_left_ms < limits.PROVE_SWITCH_MS"
        in _of("proof", "edge: 0 < self._left_ms < limits.PROVE_SWITCH_MS").text
    )
    text = _of("proof", "without: is_live", "tries_relay").text
    assert "is_wrong = self.tries_relay()" in text
    text = _of("proof", "dropped", "return").text
    assert "if self._is_off:\n            pass" in text
    text = _of("proof", "dropped: self._seen_open", "self._seen_open = self._proven_ms").text
    assert "(getattr(self, '_seen_open', 0), 0)" in text


def test_every_equivalent_mutant_exists_and_has_its_reason() -> None:
    """A line that was changed must be judged anew."""
    keys = {(one.module, one.source, one.what) for one in MUTANTS}
    assert set(EQUIVALENT) <= keys
    assert all(len(reason) > 20 for reason in EQUIVALENT.values())


def test_an_equivalent_mutant_is_neither_killed_nor_a_survivor() -> None:
    """And one that a test tells apart is named."""
    equal = _of("balance", "edge: net_j <= 0")
    other = _of("limits", "up: 2200", "HOT_MC")
    figures = figures_of([equal, equal, other, other], [True, False, True, False])
    assert (figures["mutants"], figures["killed"]) == (4, 1)
    assert len(figures["equivalent"]) == 2
    assert figures["told_apart"] == [equal.row()]
    assert figures["survivors"] == [other.row()]


def test_a_broken_module_is_noticed_and_a_sound_one_is_not() -> None:
    """By the edge tests of the module alone."""
    mutant = _of("recent", "edge: self._slot_ms > limits.RECENT_SLOT_MS")
    assert is_noticed(mutant.module, mutant.text, [("edges_recent",)])
    assert not is_noticed("recent", _source("recent"), [("edges_recent",)])


def test_every_safety_module_has_its_edge_tests() -> None:
    """They are what is asked first."""
    shared = Path(__file__).parents[1] / "shared"
    assert [name for name in EDGES if not (shared / f"test_fw_{name}.py").exists()] == []
