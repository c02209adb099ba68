"""The record of one preparation as it goes into the notes: finished words, from which every format is written.

Text, HTML and JSON render this and nothing else, so that they cannot disagree; JSON and its schema are these classes as
they stand, docstrings included.
"""

from prepkit.documents.list_json import JsonObject, ListJson, make_list_json, write_json
from prepkit.list.lines import TrayList


class RecordAttribution(JsonObject, frozen=True):
    """Who did something, and when."""

    who: str
    """Initials."""
    at: str
    """RFC 3339 with an offset."""
    clock: str
    """As shown: "03:12", with the day where it is not the first one."""

    def words(self) -> str:
        """Who and when in one phrase: "RA 03:12"."""
        return f"{self.who} {self.clock}"


class RecordFact(JsonObject, frozen=True):
    """One fact about the baby."""

    id: str
    label: str
    value: str
    said: RecordAttribution | None
    """Who gave it last; null where nobody did."""
    note: str
    """ "default, not confirmed", or empty. """


class RecordReason(JsonObject, frozen=True):
    """One criterion, and how it stood."""

    id: str
    text: str
    verdict: str
    answer: str
    """The answer somebody gave to a question; empty for others."""
    said: RecordAttribution | None
    source: str


class Pack(JsonObject, frozen=True):
    """One container or pack that was in hand for a line."""

    gtin: str
    """14 digits; empty where nothing was scanned."""
    batch: str
    expiry: str
    """YYYY-MM-DD."""
    serial: str
    scanned: bool

    def words(self) -> str:
        """Batch and expiry in one phrase."""
        serial = f", serial {self.serial}" if self.serial else ""
        how = "scanned" if self.scanned else "typed"
        return f"batch {self.batch}, expires {self.expiry}{serial} ({how})"


class RecordCheck(JsonObject, frozen=True):
    """What a second person worked out for a line, blind."""

    said: RecordAttribution
    value: str
    vials: str
    agrees: bool
    settled: str
    """Why it stands although it differed; empty where it agreed, or where nobody settled it."""
    settled_by: RecordAttribution | None

    def words(self) -> str:
        """The check in one phrase: "TO 03:20 agrees"."""
        if self.agrees:
            return f"{self.said.words()} agrees"
        entered = "; ".join(part for part in (self.value, self.vials and f"open {self.vials}") if part)
        ending = f"settled {self.settled_by.words()}: {self.settled}" if self.settled_by else "not settled"
        return f"{self.said.words()} differs ({entered}), {ending}"


class RecordLine(JsonObject, frozen=True):
    """One line of the list, with what was done about it."""

    id: str
    name: str
    show: str
    """The amount, size or setting in words; empty for a thing with none."""
    remarks: tuple[str, ...]
    """By which other weight it goes, or that it stands only if the baby was born today."""
    details: tuple[str, ...]
    sign: str
    mark: str
    """ "ticked", "not needed", "blocked", "changed since it was marked" or "not ticked". """
    said: RecordAttribution | None
    """Who ticked it or set it aside."""
    reason: str
    """Why it was set aside or is blocked; empty otherwise."""
    check: RecordCheck | None
    packs: tuple[Pack, ...]
    parts: tuple[str, ...]
    """What was laid out with it, and ticked with it."""
    working: tuple[str, ...]
    how: tuple[str, ...]
    cautions: tuple[str, ...]
    source: str
    is_told: bool
    """Whether the working holds more than that a thing is laid out or tried."""


class RecordGroup(JsonObject, frozen=True):
    """The lines of one group."""

    id: str
    name: str
    lines: tuple[RecordLine, ...]


class RecordTimelineEntry(JsonObject, frozen=True):
    """One entry of the timeline: from the start of the preparation to the closing of its record."""

    said: RecordAttribution
    """Who, and when it was: for a step at the cot its own time."""
    words: str
    notes: tuple[str, ...]
    is_struck: bool
    is_milestone: bool
    """Whether it is about the preparation rather than a step at the cot."""


class RecordFollowUp(JsonObject, frozen=True):
    """A look at the baby afterwards."""

    id: str
    name: str
    words: str
    """What was read, that it is due, or why it was not done."""


class RecordFingerprint(JsonObject, frozen=True):
    """A fingerprint of something that the record was made from."""

    name: str
    sha256: str


class PreparationRecord(JsonObject, frozen=True):
    """The whole record."""

    practice: str
    """That it is practice, in the words that stand on top; empty where it is not."""
    prep: str
    """The preparation's id in the store."""
    cot: str
    baby: str
    """Both weights where they differ, the gestation at birth and today, the day of birth and the age, in words."""
    kit: str
    edition: str
    ward: str
    standing: str
    """ "Closed by RA 03:52", "Stood down by ...", "Not closed yet". """
    is_closed: bool
    day: str
    """The day on which it was started, YYYY-MM-DD."""
    printed: str
    """When this paper was made, in words."""
    facts: tuple[RecordFact, ...]
    verdict: str
    reasons: tuple[RecordReason, ...]
    agreed: str
    """A senior's agreement, in words; empty where there is none that counts."""
    confirmed: str
    """Which unlikely weights were entered again, and by whom; else empty."""
    withheld: str
    """Why there is no list; empty where there is one."""
    groups: tuple[RecordGroup, ...]
    checked: str
    """The second check in one sentence."""
    timeline: tuple[RecordTimelineEntry, ...]
    results: tuple[str, ...]
    """What was given per kg, the share recovered, a repeat at the earliest; with the sums."""
    follow_ups: tuple[RecordFollowUp, ...]
    outcome: str
    complications: str
    missing: tuple[str, ...]
    """What the record still needs before it can be closed."""
    signatures: tuple[str, ...]
    addenda: tuple[str, ...]
    prints: tuple[RecordFingerprint, ...]
    recomputed: str
    """Whether the list came out the same again from the texts that are stored with it."""
    unverified: str
    """Whose initials were not proven by a PIN; empty where all were."""

    @property
    def lines(self) -> tuple[RecordLine, ...]:
        """Every line, in the order of the list."""
        return tuple(line for group in self.groups for line in group.lines)


AID = (
    "An aid to preparation by trained staff. Check every number against its working; local policy, pharmacy and the"
    " prescriber decide."
)


class RecordJson(JsonObject, frozen=True):
    """A record, as `prepkit record --format json` prints it."""

    record: PreparationRecord
    list: ListJson | None


def write_record_json(record: PreparationRecord, tray: TrayList | None) -> str:
    """The record as JSON text: its words and times, and beside them the list with every amount as a decimal string.

    `tray` is the list that the record was made from; None where it is withheld.
    """
    return write_json(RecordJson(record, make_list_json(tray) if tray else None))
