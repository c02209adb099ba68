"""`prepkit mine`: one person's own, under whom, practice apart."""

from papers_scene import Run


def read(run: Run, who: str) -> str:
    return " ".join(run("mine", who).out.split())


def test_who_only_checked_prepared_nothing(run: Run) -> None:
    mine = read(run, "to")
    assert mine.startswith("TO: 2 preparations · prepared 0 · checked 2 · given 0")
    assert "Cot 4 · Surfactant, supraglottic · checked · prepared by RA; given by RA; read aloud by RA" in mine


def test_who_signed_or_took_over_alone_did_none_of_it(run: Run) -> None:
    mine = read(run, "KM")
    assert mine.startswith("KM: 1 preparation · prepared 1 · checked 0 · given 0")
    assert "Cot 2" in mine


def test_practice_stands_apart_and_is_not_counted_with_the_rest(run: Run) -> None:
    mine = run("mine", "LB").out
    before, _, after = mine.partition("PRACTICE: not a real baby")
    assert "Cot 9" not in before
    assert "practice · Cot 9 · Surfactant, supraglottic · prepared · alone · stood down" in " ".join(after.split())


def test_somebody_nobody_knows_has_nothing(run: Run) -> None:
    done = run("mine", "XY")
    assert done.code == 0
    assert done.out.startswith("XY: 0 preparations")


def test_what_is_no_initials_is_refused(run: Run) -> None:
    assert run("mine", "A1").code == 2
