"""What every store has to do, whatever stands behind it.

A test module for one store makes a subclass named `Test...` that overrides two fixtures: `open_store`, a function that
opens, each time it is called, one more connection to one and the same store, which is empty at first; and `fresh`.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest
from attributed import attribute
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from prepkit.errors import Conflict, StoreError, StoreUnfit, StoreUnreachable
from prepkit.store import (
    START,
    Draft,
    Projection,
    Record,
    Store,
    StreamIndexEntry,
    check_chain,
    check_store,
    open_sqlite,
)

OpenStore = Callable[[], Store]

AT = "2031-05-04T03:12:00+01:00"
TICK = Draft("line.ticked", 1, '{"line":"syringe"}')
CLOSE = Draft("closed", 1, "{}")


def append(store: Store, prep: str, expected_seq: int, *drafts: Draft) -> tuple[Record, ...]:
    return store.append(prep, expected_seq, drafts, attribute(AT, "AB", "cot side 2"))


class StoreContract:
    """The suite; see the module for how to use it."""

    @pytest.fixture
    def open_store(self) -> OpenStore:
        raise NotImplementedError

    @pytest.fixture
    def fresh(self) -> Callable[[], OpenStore]:
        """Make a new, empty store each time this is called, and give the function that opens it."""
        raise NotImplementedError

    @pytest.fixture
    def store(self, open_store: OpenStore) -> Iterator[Store]:
        with open_store() as store:
            yield store

    @pytest.fixture
    def other(self, open_store: OpenStore) -> Iterator[Store]:
        with open_store() as other:
            yield other

    # What is kept

    def test_a_new_store_is_empty(self, store: Store) -> None:
        assert list(store.read_all()) == []
        assert store.read("a") == ()
        assert store.read_open() == store.read_stream_index() == store.read_ended(9) == ()
        assert store.read_last() == 0
        assert check_store(store) == ()

    def test_a_record_keeps_everything_it_was_given(self, store: Store) -> None:
        (record,) = append(store, "a", 0, Draft("line.ticked", 3, '{"line":"syringe"}'))
        assert replace(record, hash="") == Record(
            1, "a", 1, "line.ticked", 3, AT, "AB", 0, "cot side 2", '{"line":"syringe"}', before=START, hash=""
        )
        assert store.read("a") == (record,)

    def test_who_was_only_said_unless_the_caller_says_that_it_was_proven(self, store: Store, other: Store) -> None:
        append(store, "a", 0, TICK)
        store.append("a", 1, [TICK, CLOSE], attribute(AT, "AB", "cot side 2", verified=True))
        assert [record.verified for record in other.read("a")] == [0, 1, 1]
        assert [record.verified for record in store.read_all()] == [0, 1, 1]
        assert check_store(other) == ()

    def test_what_append_returns_is_what_every_connection_reads(self, store: Store, other: Store) -> None:
        written = append(store, "a", 0, TICK, CLOSE)
        assert other.read("a") == written
        assert tuple(other.read_all()) == written

    @pytest.mark.parametrize(
        "text",
        [
            "",
            "'; DROP TABLE record; --",
            'a "quoted" \\ word',
            "line\nline\ttab\r\n",
            "\x01\x1f\x7f\x85\u2028",
            "µg · e\u0301 · 𝄞 · שלום",
            '{"big":' + "9" * 50_000 + "}",
        ],
        ids=["empty", "sql", "quotes", "lines", "controls", "scripts", "long"],
    )
    def test_texts_are_kept_to_the_letter_and_the_chain_holds_over_them(self, store: Store, text: str) -> None:
        store.append("a", 0, [Draft("note", 1, text)], attribute(AT, text, text))
        (record,) = store.read("a")
        assert (record.body, record.who, record.where) == (text, text, text)
        assert check_store(store) == ()

    def test_each_record_names_the_hash_of_the_one_before_over_all_preparations(self, store: Store) -> None:
        records = (*append(store, "a", 0, TICK), *append(store, "b", 0, TICK, TICK), *append(store, "a", 1, CLOSE))
        assert [r.before for r in records] == [START, *(r.hash for r in records[:-1])]
        assert len({r.hash for r in records}) == len(records)

    # Order and numbers

    def test_positions_run_over_the_store_and_numbers_over_each_preparation(self, store: Store) -> None:
        append(store, "a", 0, TICK, TICK)
        append(store, "b", 0, TICK)
        append(store, "a", 2, CLOSE)
        assert [(r.position, r.prep, r.seq) for r in store.read_all()] == [
            (1, "a", 1),
            (2, "a", 2),
            (3, "b", 1),
            (4, "a", 3),
        ]
        assert store.read_last() == 4

    def test_reading_after_a_number_gives_only_what_came_later(self, store: Store) -> None:
        records = append(store, "a", 0, TICK, TICK, CLOSE)
        append(store, "b", 0, TICK)
        assert store.read("a", after=1) == records[1:]
        assert store.read("a", after=3) == ()
        assert store.read("a", most=2) == records[:2]
        assert store.read("a", after=1, most=1) == records[1:2]

    def test_reading_everything_goes_past_any_page(self, store: Store) -> None:
        append(store, "a", 0, *[TICK] * 1203)
        assert [r.position for r in store.read_all()] == list(range(1, 1204))

    def test_reading_everything_slowly_keeps_nobody_from_writing(self, store: Store, other: Store) -> None:
        append(store, "a", 0, *[TICK] * 600)
        reading = store.read_all()
        next(reading)
        append(other, "a", 600, TICK)
        append(store, "a", 601, TICK)
        positions = [r.position for r in reading]
        assert positions == list(range(2, len(positions) + 2))
        assert len(positions) >= 599

    # Conflicts

    @pytest.mark.parametrize("expected", [0, 1, 3, -1])
    def test_a_preparation_that_moved_on_is_a_conflict_that_says_where_it_stands(
        self, store: Store, expected: int
    ) -> None:
        before = append(store, "a", 0, TICK, TICK)
        with pytest.raises(Conflict) as caught:
            append(store, "a", expected, CLOSE)
        assert (caught.value.prep, caught.value.expected, caught.value.found) == ("a", expected, 2)
        assert '"a"' in str(caught.value)
        assert tuple(store.read_all()) == before

    def test_the_second_of_two_who_read_the_same_state_is_told(self, store: Store, other: Store) -> None:
        append(store, "a", 0, TICK)
        append(store, "a", len(other.read("a")), TICK)
        with pytest.raises(Conflict):
            append(other, "a", 1, CLOSE)
        append(other, "a", 2, CLOSE)
        assert [r.kind for r in store.read("a")] == ["line.ticked", "line.ticked", "closed"]

    def test_writing_to_one_preparation_is_no_conflict_for_another(self, store: Store, other: Store) -> None:
        append(store, "a", 0, TICK)
        append(other, "b", 0, TICK)
        append(store, "a", 1, TICK)
        assert check_store(store) == ()

    def test_a_store_goes_on_after_a_conflict(self, store: Store) -> None:
        with pytest.raises(Conflict):
            append(store, "a", 7, TICK)
        append(store, "a", 0, TICK)
        assert [r.position for r in store.read_all()] == [1]

    def test_nothing_to_append_writes_nothing_but_still_finds_a_conflict(self, store: Store) -> None:
        assert append(store, "a", 0) == ()
        with pytest.raises(Conflict):
            append(store, "a", 1)
        assert store.read_last() == 0

    # What no store may keep

    @pytest.mark.parametrize(
        ("draft", "named"),
        [
            (Draft("", 1, "{}"), "kind of event 2: expected a name"),
            (Draft("note", 0, "{}"), "form of event 2: expected 1 to 2147483647, got 0"),
            (Draft("note", 2**31, "{}"), "form of event 2"),
            (Draft("note", 1, "\ud800"), r"body of event 2: .* \(at character 1\)"),
            (Draft("note", 1, "a\0b"), r"body of event 2: .* \(at character 2\)"),
            (Draft("no\0te", 1, "{}"), "kind of event 2"),
        ],
    )
    def test_a_draft_no_store_may_keep_is_refused_by_name_with_all_that_came_with_it(
        self, store: Store, draft: Draft, named: str
    ) -> None:
        with pytest.raises(StoreUnfit, match=named):
            append(store, "a", 0, TICK, draft)
        assert list(store.read_all()) == []
        append(store, "a", 0, TICK)

    @pytest.mark.parametrize(
        ("name", "value"),
        [
            ("preparation", ""),
            ("preparation", "a\udcff"),
            ("who", "\udcff"),
            ("where", "\0"),
            ("time", "2031-05-04T03:12:00"),
            ("time", "2031-05-04 03:12:00Z"),
            ("time", "2031-13-04T03:12:00Z"),
            ("time", "2031-05-04T03:12:00+01:00\n"),
            ("time", ""),
        ],
    )
    def test_what_no_store_may_keep_is_refused_by_name(self, store: Store, name: str, value: str) -> None:
        given = {"preparation": "a", "time": AT, "who": "AB", "where": "cot side 2"} | {name: value}
        with pytest.raises(StoreUnfit, match=name):
            store.append(given["preparation"], 0, [TICK], attribute(given["time"], given["who"], given["where"]))
        assert store.read_last() == 0

    @pytest.mark.parametrize("at", ["2031-05-04T03:12:00Z", "2031-05-04T03:12:00.123456-08:30"])
    def test_a_time_with_an_offset_is_kept_as_it_was_given(self, store: Store, at: str) -> None:
        store.append("a", 0, [TICK], attribute(at, "AB", ""))
        assert store.read("a")[0].at == at

    def test_times_are_kept_as_given_even_where_they_run_backwards(self, store: Store) -> None:
        for seq, at in enumerate((AT, "1999-01-01T00:00:00Z")):
            store.append("a", seq, [TICK], attribute(at, "AB", ""))
        assert [record.at for record in store.read("a")] == [AT, "1999-01-01T00:00:00Z"]
        assert check_store(store) == ()

    def test_asking_for_a_preparation_by_broken_text_is_no_crash(self, store: Store) -> None:
        with pytest.raises(StoreUnfit):
            store.read("\udcff")

    # Which preparations are open

    def test_open_preparations_come_oldest_first_and_ended_ones_do_not(self, store: Store) -> None:
        for prep in ("z", "m", "a", "k"):
            append(store, prep, 0, TICK)
        append(store, "m", 1, CLOSE)
        append(store, "k", 1, Draft("stood-down", 1, "{}"), Draft("note", 1, "{}"))
        append(store, "z", 1, TICK)
        assert store.read_open() == ("z", "a")

    def test_the_last_ended_come_first_a_page_at_a_time(self, store: Store) -> None:
        for prep in ("z", "m", "a", "k"):
            append(store, prep, 0, TICK)
        for prep in ("m", "z", "k"):
            append(store, prep, 1, CLOSE)
        page = store.read_ended(2)
        assert [head.prep for head in page] == ["k", "z"]
        assert [head.prep for head in store.read_ended(2, page[-1].ended)] == ["m"]
        append(store, "m", 2, Draft("note", 1, "{}"), CLOSE)
        assert [head.prep for head in store.read_ended(9)] == ["k", "z", "m"], "it ended when it first ended"
        assert store.read_ended(0) == ()

    def test_a_head_says_where_a_preparation_stands(self, store: Store, other: Store) -> None:
        records = (*append(store, "b", 0, TICK, TICK), *append(other, "a", 0, CLOSE), *append(store, "b", 2, TICK))
        records += append(other, "a", 1, TICK)
        heads = (StreamIndexEntry("b", 1, 4, records[3].hash, None), StreamIndexEntry("a", 3, 5, records[4].hash, 3))
        assert store.read_stream_index() == other.read_stream_index() == heads
        store.rebuild_stream_index()
        assert store.read_stream_index() == heads
        assert check_store(other) == ()

    # What is made from a preparation and kept

    def test_a_gist_is_found_by_its_key_while_nothing_came_after_it(self, store: Store, other: Store) -> None:
        gists = [
            Projection(prep, append(store, prep, 0, TICK)[-1].hash, key, prep) for prep, key in (("b", "2"), ("a", "1"))
        ]
        assert store.read_unprojected("day", "we") == ("b", "a")
        store.write_projections("day", "we", gists)
        assert other.read_projections("day", "we") == (gists[1], gists[0])
        assert other.read_projections("day", "we", "2") == other.read_projections("day", "we", "2", "2") == (gists[0],)
        assert other.read_projections("day", "we", "", "1") == (gists[1],)
        assert other.read_projections("day", "we", "3") == other.read_projections("day", "we", "11", "12") == ()
        assert other.read_unprojected("day", "we") == ()
        append(other, "a", 1, TICK)
        assert store.read_projections("day", "we") == (gists[0],)
        assert store.read_unprojected("day", "we") == ("a",)

    def test_a_gist_by_another_maker_or_of_another_sort_does_not_count(self, store: Store) -> None:
        (record,) = append(store, "a", 0, TICK)
        store.write_projections("day", "we", [Projection("a", record.hash, "1", "old")])
        assert store.read_projections("day", "they") == store.read_projections("night", "we") == ()
        assert store.read_unprojected("day", "they") == store.read_unprojected("night", "we") == ("a",)
        store.write_projections("day", "they", [Projection("a", record.hash, "1", "new")])
        assert [gist.body for gist in store.read_projections("day", "they")] == ["new"]
        assert store.read_projections("day", "we") == ()

    def test_a_gist_made_before_somebody_wrote_does_not_count_and_nor_does_one_of_nothing(self, store: Store) -> None:
        (record,) = append(store, "a", 0, TICK)
        append(store, "a", 1, TICK)
        store.write_projections(
            "day", "we", [Projection("a", record.hash, "1", ""), Projection("b", record.hash, "1", "")]
        )
        assert store.read_projections("day", "we") == ()
        assert store.read_unprojected("day", "we") == ("a",)

    def test_gists_are_kept_to_the_letter_and_are_no_records(self, store: Store) -> None:
        (record,) = append(store, "a", 0, TICK)
        gist = Projection("a", record.hash, "'; -- Ä\U0001f476", '{"µ":"\\"}\n')
        store.write_projections("day", "we", [gist])
        store.write_projections("day", "we", [])
        assert store.read_projections("day", "we", gist.key, gist.key) == (gist,)
        assert store.read_last() == 1
        assert check_store(store) == ()

    # News

    def test_there_is_news_once_after_another_connection_wrote(self, store: Store, other: Store) -> None:
        assert not store.has_news()
        append(other, "a", 0, TICK)
        append(other, "a", 1, TICK)
        assert store.has_news()
        assert not store.has_news()

    def test_ones_own_writing_is_no_news(self, store: Store, other: Store) -> None:
        append(store, "a", 0, TICK)
        assert not store.has_news()
        assert other.has_news()

    def test_news_is_not_lost_behind_ones_own_writing(self, store: Store, other: Store) -> None:
        append(other, "a", 0, TICK)
        append(store, "b", 0, TICK)
        assert store.has_news()

    def test_reading_does_not_use_up_the_news(self, store: Store, other: Store) -> None:
        append(other, "a", 0, TICK)
        assert len(store.read("a")) == 1
        assert store.has_news()

    def test_opening_and_closing_is_no_news(self, store: Store, open_store: OpenStore) -> None:
        open_store().close()
        assert not store.has_news()

    def test_what_was_refused_is_no_news(self, store: Store, other: Store) -> None:
        with pytest.raises(Conflict):
            append(other, "a", 5, TICK)
        assert not store.has_news()

    # Copies

    def test_a_copy_holds_everything_and_is_a_store_of_its_own(self, store: Store, other: Store, path: Path) -> None:
        append(store, "a", 0, TICK, TICK)
        append(other, "b", 0, TICK)
        target = path.with_name("copies") / "copy.db"
        store.write_copy(target)
        append(store, "a", 2, CLOSE)
        with open_sqlite(target) as copy:
            assert tuple(copy.read_all()) == tuple(store.read_all())[:3]
            assert copy.read_open() == ("a", "b")
            append(copy, "b", 1, CLOSE)
            assert check_store(copy) == ()
        assert store.read_last() == 4
        with pytest.raises(StoreUnreachable, match="is there already"):
            store.write_copy(target)

    # What is moved here from another store

    def test_records_taken_over_are_the_same_to_the_letter_and_what_is_added_follows_them(
        self, store: Store, other: Store, path: Path
    ) -> None:
        with open_sqlite(path.with_name("from.db")) as source:
            append(source, "a", 0, TICK, Draft("note", 1, '{"µ":"\\ \x01"}'))
            source.append("b", 0, [TICK], attribute("1999-01-01T00:00:00Z", "CD", "", verified=True))
            append(source, "a", 2, CLOSE)
            records = tuple(source.read_all())
        store.import_records(records[:1])
        store.import_records(())
        store.import_records(records[1:])
        assert other.has_news()
        assert not store.has_news()
        assert tuple(other.read_all()) == records
        append(other, "b", 1, TICK)
        assert check_store(store) == ()
        assert store.read_last() == 5

    @pytest.mark.parametrize("skipped", [1, 3])
    def test_records_that_do_not_follow_are_not_taken_over(self, store: Store, path: Path, skipped: int) -> None:
        with open_sqlite(path.with_name("from.db")) as source:
            records = append(source, "a", 0, *[TICK] * 5)
        store.import_records(records[:2])
        with pytest.raises(StoreUnfit):
            store.import_records(records[skipped:])
        assert tuple(store.read_all()) == records[:2]

    def test_a_record_that_is_not_as_it_was_written_is_not_taken_over_nor_what_came_with_it(
        self, store: Store, path: Path
    ) -> None:
        with open_sqlite(path.with_name("from.db")) as source:
            first, second, third = append(source, "a", 0, *[TICK] * 3)
        for changed in (replace(second, who="ZZ"), replace(second, hash=third.hash)):
            with pytest.raises(StoreUnfit):
                store.import_records([first, changed])
        assert store.read_last() == 0
        store.import_records([first, second, third])

    # Closing

    def test_a_closed_store_says_so_and_may_be_closed_again(self, open_store: OpenStore) -> None:
        store = open_store()
        store.close()
        store.close()
        with pytest.raises(StoreError):
            append(store, "a", 0, TICK)
        with pytest.raises(StoreError):
            store.has_news()

    def test_what_was_appended_is_there_when_opened_again(self, open_store: OpenStore) -> None:
        with open_store() as store:
            written = append(store, "a", 0, TICK, CLOSE)
        with open_store() as store:
            assert store.read("a") == written
            assert not store.has_news()

    # Laws

    @given(
        steps=st.lists(
            st.tuples(st.booleans(), st.sampled_from("abc"), st.integers(0, 3), st.booleans()), min_size=1, max_size=25
        )
    )
    # One `fresh` serves all examples, as it makes a new store each time it is called; and an example that broke one
    # store is worth trying on another, so that several subclasses may share what hypothesis remembers.
    @settings(
        max_examples=25,
        deadline=None,
        suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.differing_executors],
    )
    def test_any_interleaving_of_two_connections_keeps_numbers_dense_and_the_chain_whole(
        self, fresh: Callable[[], OpenStore], steps: list[tuple[bool, str, int, bool]]
    ) -> None:
        """Each step: which connection, which preparation, how many drafts, and whether it looks before it writes."""
        with ExitStack() as stack:
            opening = fresh()
            ends = [stack.enter_context(opening()) for _ in range(2)]
            known: list[dict[str, int]] = [{}, {}]
            truth: dict[str, int] = {}
            for is_second, prep, count, looks in steps:
                end, knows = ends[is_second], known[is_second]
                if looks:
                    knows[prep] = len(end.read(prep))
                expected = knows.get(prep, 0)
                drafts = [Draft("note", 1, json.dumps(n)) for n in range(count)]
                if expected == truth.get(prep, 0):
                    append(end, prep, expected, *drafts)
                    truth[prep] = knows[prep] = expected + count
                else:
                    with pytest.raises(Conflict):
                        append(end, prep, expected, *drafts)
            records = tuple(ends[0].read_all())
            assert [r.position for r in records] == list(range(1, sum(truth.values()) + 1))
            for prep, count in truth.items():
                assert [r.seq for r in ends[1].read(prep)] == list(range(1, count + 1))
            assert check_chain(records, ends[0].read_last()) == ()
            assert check_store(ends[0]) == ()
