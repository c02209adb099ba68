"""The words of the command line, read."""

from prepkit.cli.main import _make_parser


def test_no_words_ask_for_what_they_ask_for_beside_every_command() -> None:
    alone = _make_parser(with_commands=False).parse_args([])
    assert alone == _make_parser().parse_args([])
    assert alone.run == "screens_command.run_screens"
