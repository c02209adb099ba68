"""The options that say which baby: each names the weight or the gestation that it means."""

import argparse

_BABY = (
    ("--birth-weight", "GRAMS", 'whole grams: 1450, or "not known"'),
    ("--birth-gestation", "WEEKS+DAYS", '30+2, or "not known"'),
    ("--born", "DAY", 'a day, or a day and a time: 2026-11-25, "2026-11-25 02:10" (today)'),
    ("--weight-now", "GRAMS", '1310, "1310 on 2026-11-27", or "not weighed since"; wanted from 24 h on'),
)
_UNSAID = {
    "--weight": "give --birth-weight, and --weight-now where the baby was weighed since",
    "--gestation": "give --birth-gestation; today's is worked out from --born",
}


class _RefuseUnsaid(argparse.Action):
    """An option that does not say which weight or which gestation it means: refused, naming those that do."""

    def __call__(
        self,
        parser: argparse.ArgumentParser,
        _namespace: argparse.Namespace,
        _values: object,
        option: str | None = None,
    ) -> None:
        """Stop with exit code 2."""
        parser.error(f"{option} does not say which: {_UNSAID[option or '']}")


def add_baby_options(command: argparse.ArgumentParser) -> None:
    """Add the options of one baby. Which of them are needed hangs on the others, and is found with the list."""
    for option, shape, words in _BABY:
        command.add_argument(option, metavar=shape, help=words)
    for option in _UNSAID:
        refuse_unsaid(command, option)


def refuse_unsaid(command: argparse.ArgumentParser, option: str) -> None:
    """Have a command refuse `--weight` or `--gestation`, which do not say which one they mean."""
    command.add_argument(option, nargs="?", action=_RefuseUnsaid, help=argparse.SUPPRESS)
