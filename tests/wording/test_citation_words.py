"""How a citation reads: in full on a line, short behind a sentence of its working."""

import pytest

from prepkit.kit.fields import EXCERPT, Basis
from prepkit.kit.kit import Source
from prepkit.rules.findings import Citation
from prepkit.wording.things import say_citation, tag

BOOK = Source(title="A book", year=2020, reference="page 4", read="account", written_for="heel lance")
SAID = "A book (2020), page 4 (read in another's account, written for heel lance)"


@pytest.mark.parametrize(
    ("basis", "full", "short"),
    [
        ("published", f"published: {SAID}", "[published: A book 2020]"),
        (EXCERPT, f"published, read in an excerpt or account: {SAID}", "[excerpt or account: A book 2020]"),
        ("local", f"local: {SAID}", "[local: A book 2020]"),
        # What has no source is not said to come from what stands beside it.
        (
            "common practice",
            f"common practice, no source to cite; see also: {SAID}",
            "[common practice; see also: A book 2020]",
        ),
        (
            "from memory",
            f"from memory, not read: check it; see also: {SAID}",
            "[from memory; see also: A book 2020]",
        ),
    ],
)
def test_a_citation_says_its_basis_what_was_read_and_for_whom_it_was_written(
    basis: Basis, full: str, short: str
) -> None:
    cited = Citation(basis, (BOOK,))
    assert (say_citation(cited), tag(cited)) == (full, short)


@pytest.mark.parametrize(
    ("read", "words"),
    [
        ("whole", "read whole"),
        ("passage", "a passage read"),
        ("abstract", "its abstract read"),
        ("account", "read in another's account"),
    ],
)
def test_each_way_of_reading_has_its_words(read: str, words: str) -> None:
    source = Source(title="A book", reference="page 4", read=read, written_for="heel lance")
    assert source.words() == f"A book (edition not recorded), page 4 ({words}, written for heel lance)"
