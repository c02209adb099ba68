"""This machine's clock and its time zone: the one place where either is read."""

from datetime import UTC, datetime, timedelta, timezone, tzinfo


class MachineZone(tzinfo):
    """The time zone that this machine is set to, with its changes of the clocks.

    A time with only an offset does not know them: what was given at 20:00 before the clocks went back would be an hour
    out the next morning. The platform knows the rules, whatever name it keeps them under, so it is asked each time.
    Python compares and subtracts two times of one zone by their clock faces: put them in UTC first.
    """

    def utcoffset(self, moment: datetime | None) -> timedelta | None:
        """The offset that the machine gives a clock time; `fold` chooses where there are two."""
        return None if moment is None else self._ask(moment).utcoffset()

    def dst(self, moment: datetime | None) -> timedelta | None:  # noqa: ARG002  (as every zone takes it)
        """Unknown: the platform gives only the whole offset."""
        return None

    def tzname(self, moment: datetime | None) -> str | None:
        """What the machine calls it."""
        return None if moment is None else self._ask(moment).tzname()

    def fromutc(self, moment: datetime) -> datetime:
        """The clock time here, from one in UTC that carries this zone."""
        here = moment.replace(tzinfo=UTC).astimezone()
        wall = here.replace(tzinfo=None)
        is_second = wall.replace(fold=0).astimezone().utcoffset() != here.utcoffset()
        return wall.replace(tzinfo=self, fold=int(is_second))

    @staticmethod
    def _ask(moment: datetime) -> datetime:
        return moment.replace(tzinfo=None).astimezone()


HERE = MachineZone()


def read_clock() -> datetime:
    """The time now in this machine's zone."""
    return datetime.now().astimezone(HERE)  # noqa: TID251  (this is the place)


def fix_offset(moment: datetime) -> datetime:
    """The same moment with only its offset, as it is recorded: later changes of the machine's zone do not move it."""
    return moment.replace(tzinfo=timezone(moment.utcoffset() or timedelta(0)), fold=0)
