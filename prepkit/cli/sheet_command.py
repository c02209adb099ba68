"""`prepkit sheet`: a list to tick by hand. May import: everything but the screens."""

import argparse

from prepkit.cli.exits import Exit
from prepkit.cli.files import refuse
from prepkit.cli.list_command import find_exit, make_tray
from prepkit.cli.output import write_out
from prepkit.desk.clock import read_clock
from prepkit.documents.sheet import write_sheet_html, write_sheet_text
from prepkit.list.lines import TrayList


def run_sheet(arguments: argparse.Namespace) -> int:
    """Print the sheet; the exit code says whether anything stands in its way."""
    now = read_clock()
    tray = make_tray(arguments, now)
    if not isinstance(tray, TrayList):
        return refuse(tray)
    is_html = arguments.format == "html"
    write = write_sheet_html if is_html else write_sheet_text
    return find_exit(tray) if write_out(write(tray, now), utf8=is_html) else Exit.USAGE
