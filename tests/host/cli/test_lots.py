"""The commands of the trace: bags, what went in, labels and the way between."""

from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from snapgloss.store import NewRun, open_store


@pytest.fixture
def three_runs(run_1: int, data: Path) -> int:
    """Two more runs beside the first, of a real rig."""
    with open_store(data) as store:
        kept = store.run(1)._asdict()
        new = {name: kept[name] for name in NewRun._fields}
        for at_ms in (900_000, 950_000):
            run = store.begin_run(NewRun(**{**new, "simulated": False}), 1, at_ms)
            store.end_run(run, at_ms + 1000, "finished", "")
    return 3


def _bagged(call: Any) -> None:
    for lot, more in (("24-117", ("--contains", "Soya", "--best-before", "2097-03-31")),
                      ("B/7", ("--contains", "milk", "--may-contain", "nuts"))):  # fmt: skip
        assert call("bag", lot, "--name", "Lantern 72", *more).code == 0
    assert call("used", "2", "--bag", "24-117", "--mass", "1.5 kg").code == 0
    assert call("used", "3", "--bag", "B/7").code == 0
    assert call("used", "3", "--remelt", "2", "--mass", "500 g").code == 0


def test_bags_are_entered_and_listed(call: Any) -> None:
    """The list says what is on each bag; a second entry of a lot corrects the first."""
    assert call("bag").out.startswith("No bag yet.")
    call("bag", "24-117", "--name", "Lantern 70")
    call("bag", "24-117", "--name", "Lantern 72", "--supplier", "Halden & Roe", "--mass", "10 kg",
         "--best-before", "2097-03-31", "--contains", "Soya", "--may-contain", "milk")  # fmt: skip
    assert call("bag").out == (
        "24-117: Lantern 72, Halden & Roe, 10 kg, best before 31 March 2097. Contains\n"
        "soya. May contain milk.\n"
    )
    assert call("bag", "--json").value[0]["contains"] == ["soya"]


def test_a_correction_leaves_alone_what_it_does_not_name(call: Any, run_1: int) -> None:
    """Allergens, mass and day stay, and the label has them; "none" and 0 g take back by name."""
    call("bag", "A1", "--name", "Lantern 72", "--mass", "10 kg", "--best-before", "2097-03-31",
         "--contains", "milk", "--may-contain", "nuts")  # fmt: skip
    call("used", "1", "--bag", "A1")
    assert call("bag", "A1", "--supplier", "Maar Import").out == (
        "A1: Lantern 72, Maar Import, 10 kg, best before 31 March 2097. Contains milk.\n"
        "May contain nuts.\n"
    )
    found = call("label", "1", "--lot", "B1", *LABEL, "--json").value
    assert (found["contains"], found["may_contain"]) == (["milk"], ["nuts"])
    call("bag", "A1", "--supplier", "none", "--mass", "0 g", "--best-before", "none",
         "--contains", "None", "--may-contain", "none")  # fmt: skip
    assert call("bag").out == "A1: Lantern 72. Contains no allergen.\n"
    found = call("label", "1", "--lot", "B2", *LABEL, "--json").value
    assert (found["contains"], found["may_contain"]) == ([], [])


def test_a_lot_in_other_letters_is_the_same_bag_and_that_is_said(call: Any) -> None:
    """The first spelling stays."""
    call("bag", "L1", "--name", "Lantern 72", "--contains", "milk")
    assert call("bag", "l1", "--name", "Lantern 70").out == (
        "Bag L1 is corrected: the same lot.\nL1: Lantern 70. Contains milk.\n"
    )


def test_a_label_that_is_out_of_date_is_told(call: Any, three_runs: int) -> None:
    """A bag was corrected after its labels, over a re-melt, too; until they are written again."""
    _bagged(call)
    for run, lot in (("2", "L2"), ("3", "L3")):
        call("label", run, "--lot", lot, *LABEL)
    assert "out of date" not in call("trace", "24-117").out
    call("bag", "24-117", "--contains", "soya", "--contains", "milk", "--may-contain", "nuts")
    call("label", "2", "--lot", "L2", *LABEL)
    assert "out of date" not in call("trace", "24-117").out  # 3 has milk and nuts of its other bag
    call("bag", "24-117", "--may-contain", "sesame")
    lines = call("trace", "24-117").out.replace("\n  ", " ").splitlines()
    assert [line.partition("Its label")[2] for line in lines[-2:]] == [
        f" is out of date, as by its bags now: May contain sesame. Write it again: snapgloss "
        f"label {run}." for run in (2, 3)
    ]  # fmt: skip


def test_a_bag_is_traced_to_bars_and_bars_to_bags(call: Any, three_runs: int) -> None:
    """Bag to batch to bars over a re-melt, and back; in `show`, too."""
    _bagged(call)
    for run, lot in (("2", "L2"), ("3", "L3")):
        call("label", run, "--lot", lot, "--net", "50 g", "--best-before", "2097-01-31")
    call("bars", "2", "--made", "40")
    out = call("trace", "24-117").out
    assert max(map(len, out.splitlines())) <= 80
    forwards = out.replace("\n  ", " ").splitlines()  # what does not fit hangs under its line
    assert forwards[0].startswith("Bag 24-117: Lantern 72, best before 31 March 2097.")
    assert [line.split(",")[0] for line in forwards[1:3]] == ["Run 2", "Run 3"]
    assert forwards[1].endswith(" 40 made.")
    assert "Made with bars of run 2, melted again, 500 g." in forwards[2]
    assert forwards[3:] == [
        "Bars L2: Lantern 72, run 2, best before 31 January 2097.",
        "Bars L3: Lantern 72, run 3, best before 31 January 2097.",
    ]
    assert call("trace", "l3", "--json").value["bags"] == ["24-117", "B/7"]
    assert call("trace", "--run", "2", "--json").value["runs"] == [2, 3]
    assert "  Made with bag 24-117 (Lantern 72), 1.5 kg." in call("show", "2").out.splitlines()


def test_what_was_said_of_a_use_can_be_taken_back(call: Any, three_runs: int) -> None:
    """0 g takes a use back; the trace does not know it any more."""
    _bagged(call)
    for mass in ("2 kg", "1.9 kg"):  # with 500 g of bars as much as can be; said anew, not added
        assert call("used", "3", "--bag", "B/7", "--mass", mass).code == 0
    call("used", "3", "--remelt", "2", "--mass", "0 g")
    assert call("trace", "24-117", "--json").value["runs"] == [2]


def test_the_label_as_pdf_says_what_it_must(call: Any, three_runs: int, tmp_path: Path) -> None:
    """Another program reads name, allergens of both bags, weight, day and lot; one page."""
    _bagged(call)
    path = tmp_path / "label.pdf"
    answer = call("label", "3", "--lot", "L3-26", "--net", "50.5 g", "--best-before",
                  "2097-06-30", "--name", "Größe Ł 72", "--contains", "hazelnuts",
                  "--out", str(path))  # fmt: skip
    assert answer.out.splitlines()[0] == "A bag in it is best before 31 March 2097 already."
    document = pypdfium2.PdfDocument(path)
    assert len(document) == 1
    text = document[0].get_textpage().get_text_range().replace("\r\n", "\n")
    assert text.split("\n") == [
        "Größe Ł 72", "Contains hazelnuts, milk, soya.", "May contain nuts.", "Quillby & Maar",
        "50.5 g Best before 30 June 2097", "Lot L3-26",
    ]  # fmt: skip
    width_mm, height_mm = (size / 72 * 25.4 for size in document[0].get_size())
    assert (round(width_mm), round(height_mm)) == (74, 48)
    document.close()


def test_a_label_of_a_simulated_batch_says_so(call: Any, run_1: int, data: Path) -> None:
    """Nobody can mistake it; without --out it lies in the data folder."""
    call("bag", "X", "--name", "Lantern 72", "--contains", "soya")
    call("used", "1", "--bag", "X")
    answer = call("label", "1", "--lot", "L1", "--net", "50 g", "--best-before", "2097-06-30")
    assert answer.out.strip() == str(data / "labels" / "run-1-L1.pdf")
    document = pypdfium2.PdfDocument(data / "labels" / "run-1-L1.pdf")
    assert "SIMULATED" in document[0].get_textpage().get_text_range()
    document.close()


def test_what_a_label_cannot_show_is_refused_and_never_left_out(call: Any, run_1: int) -> None:
    """An allergen, a name or a lot in letters that the face lacks; accents are shown."""
    call("bag", "X", "--name", "Lantern 72", "--contains", "soya")
    call("used", "1", "--bag", "X")
    for more in (("--contains", "大豆"), ("--name", "Lantern 🍫"), ("--may-contain", "ナッツ")):
        refused = call("label", "1", "--lot", "L1", *LABEL, *more)
        assert (refused.code, "The label cannot show" in refused.err) == (2, True)
    assert call("label", "1", "--lot", "L1", *LABEL, "--name", "Größe Łódź Ω Ж").code == 0


def test_each_lot_of_a_batch_has_a_label_of_its_own(call: Any, run_1: int, data: Path) -> None:
    """A second lot does not write over the first; a label that cannot be written is not kept."""
    call("bag", "X", "--name", "Lantern 72", "--contains", "soya")
    call("used", "1", "--bag", "X")
    for lot in ("A/1", "B 2"):
        call("label", "1", "--lot", lot, "--net", "50 g", "--best-before", "2097-06-30")
    found = sorted(path.name for path in (data / "labels").iterdir())
    assert found == ["run-1-A-1.pdf", "run-1-B-2.pdf"]
    words = [part for n in range(40) for part in ("--contains", f"spice of the kind number {n}")]
    refused = call("label", "1", "--lot", "C3", *LABEL, *words)
    assert (refused.code, "do not fit" in refused.err) == (2, True)
    blocked = call("label", "1", "--lot", "C3", *LABEL, "--out", str(data / "snapgloss.sqlite3/x"))
    assert blocked.code == 5
    labels = call("trace", "--run", "1", "--json").value["labels"]
    assert [row["lot"] for row in labels] == ["A/1", "B 2"]


LABEL = ("--net", "50 g", "--best-before", "2097-06-30")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("trace", "none"), 'No bag and no bars are known by the lot "none"'),
        (("trace",), "Say one lot, or one batch."),
        (("used", "2"), "Say one thing that went in."),
        (("used", "2", "--remelt", "2"), "cannot have gone into run 2"),
        (("used", "2", "--remelt", "3"), "cannot have gone into run 2"),
        (("used", "9", "--bag", "A"), "There is no run 9"),
        (("used", "2", "--bag", " "), "The lot is empty"),
        (("bag", "A"), "name is missing"),
        (("bag", "B/7"), "Nothing new is said of bag B/7"),
        (("bag", "A", "--name", "N", "--contains", "none", "--contains", "milk"), "cannot both"),
        (("used", "2", "--bag", "A", "--mass", "10 kg"), "Run 2 weighs 2 kg: 11.5 kg in all"),
        (("used", "3", "--remelt", "2", "--mass", "9 kg"), "2 kg: 9 kg is too much"),
        (("used", "3", "--bag", "B/7", "--mass", "2.1 kg"), "2 kg: 2.6 kg in all is too much"),
        (("bag", "A", "--name", "N", "--best-before", "6/7/2097"), "is not a day"),
        (("bag", "A", "--name", "N", "--contains", ""), "An allergen is empty"),
        (("label", "2", "--lot", "24-117", *LABEL), "is the lot of a bag"),
        (("label", "1", "--lot", "L1", *LABEL), "Nobody said what went into run 1"),
        (("label", "2", "--lot", "L1", *LABEL[:3], "2020-01-01"), "was before run 2 was made"),
    ],
)
def test_what_cannot_be_is_refused(
    call: Any, three_runs: int, words: tuple[str, ...], says: str
) -> None:
    """Exit code 2 and a sentence."""
    _bagged(call)
    answer = call(*words)
    assert (answer.code, says in answer.err) == (2, True), answer.err


def _read_log(call: Any, path: Path, minutes: int, began: str) -> int:
    path.write_text("m,T\n" + "\n".join(f"{n},31.5" for n in range(minutes)))
    what = ("--minutes", "m", "--celsius", "T", "--zone", "UTC", "--step", "work=0 s")
    more = ("--chocolate", "Stone 70", "--began", began, "--json")
    found = call("import", str(path), *what, *more)
    return int(found.value["run"])


def test_bars_go_only_into_what_was_made_after_them(
    call: Any, three_runs: int, tmp_path: Path
) -> None:
    """Numbers do not tell: a log read last may have been made first, and one batch may end in
    another. What the record holds wrongly from before is taken back."""
    path, began = tmp_path / "log.csv", "2024-05-06 10:00"
    long = _read_log(call, path, 60, began)
    short = _read_log(call, path, 10, "2024-05-06 10:20")
    for run, bars in ((long, 2), (short, long), (long, short)):
        answer = call("used", str(run), "--remelt", str(bars))
        assert (answer.code, f"Run {bars} was made after run {run}" in answer.err) == (2, True)
    assert call("used", "2", "--remelt", str(long)).code == 0
    assert call("used", str(long), "--remelt", "3", "--mass", "0 g").code == 0


def test_no_label_while_a_bags_allergens_are_unknown(call: Any, three_runs: int) -> None:
    """A lot that nobody entered, however far back, refuses the label and says what to do."""
    call("used", "2", "--bag", "Q")
    call("used", "3", "--remelt", "2")
    answer = call("label", "3", "--lot", "L3", *LABEL)
    assert (answer.code, answer.err.splitlines()[0]) == (
        2, "Nobody said what the bag of lot Q contains.",
    )  # fmt: skip
    call("bag", "Q", "--name", "Lantern 72")  # entered, and still nobody said what it contains
    assert call("bag").out == "Q: Lantern 72. Nobody said what it contains.\n"
    for run in ("2", "3"):
        answer = call("label", run, "--lot", "L3", *LABEL)
        assert (answer.code, "the bag of lot Q contains." in answer.err) == (2, True)
    call("bag", "Q", "--contains", "milk")
    assert call("label", "3", "--lot", "L3", *LABEL, "--json").value["contains"] == ["milk"]
    taken = call("bag", "L3", "--name", "Lantern 72")
    assert (taken.code, "is a lot of bars already" in taken.err) == (2, True)
