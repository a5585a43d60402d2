"""The command line's words: commands, options and their help. What a command does is `cli`'s."""

from __future__ import annotations

import argparse
from typing import Any

from springfit.version import __version__

__all__ = ["parser"]


def parser() -> argparse.ArgumentParser:
    """The parser of `springfit`; `command` in what it gives is the name of the command."""
    whole = argparse.ArgumentParser(
        prog="springfit", description="Springback of spun brass bells, learned from a shop's own records."
    )
    whole.add_argument("--version", action="version", version=f"springfit {__version__}")
    commands = whole.add_subparsers(required=True, metavar="COMMAND", dest="command")
    _add_book_commands(commands)
    _add_train(commands)
    _add_predict(commands)
    _add_correct(commands)
    _add_survey(commands)
    _add_watch(commands)
    _add_bench(commands)
    demo = _command(commands, "demo", "the whole job on an invented shop")
    demo.add_argument("--out", default="springfit-demo")
    demo.add_argument("--target", default="WREN-bell", help=argparse.SUPPRESS)
    return whole


def _add_book_commands(commands: Any) -> None:
    check = _command(commands, "check", "list every problem and doubt in a record book")
    check.add_argument("book")
    check.add_argument("--out", help="folder for the same list as a page")
    check.add_argument(
        "--accept", metavar="ID", help="this mandrel or target was looked at and is right as it stands"
    )
    check.add_argument(
        "--days",
        choices=("day-first", "month-first"),
        help="how days such as 3/8/2025 are written; kept in the book",
    )

    new = _command(commands, "new", "start an empty record book")
    new.add_argument("book")

    add = _command(commands, "add", "merge a batch's sheets into a book, all or nothing")
    add.add_argument("book")
    add.add_argument("sheets")
    add.add_argument("--dry-run", action="store_true", help="only show what would change")
    add.add_argument("--like", metavar="BATCH", help="fill blanks of new batches from this batch")

    add.add_argument(
        "--replace", action="store_true", help="put the sheets' values in place of those in the book; old ones are kept"
    )
    add.add_argument("--reason", default="", metavar="WORDS", help="why, with --replace; noted in the journal")

    undo = _command(commands, "undo", "take back what was added last")
    undo.add_argument("book")

    show = _command(commands, "show", "a batch, bell, mandrel, target or the shop in a screenful")
    show.add_argument("book")
    show.add_argument("name", nargs="?", metavar="ID", help="what to show (default: the whole shop)")


def _add_train(commands: Any) -> None:
    train = _command(commands, "train", "learn a book and store a new version of the model")
    train.add_argument("book")
    _store(train)


def _add_predict(commands: Any) -> None:
    predict = _command(commands, "predict", "forecast the bell of a draft mandrel")
    predict.add_argument("profile")
    predict.add_argument(
        "--conditions", required=True, help="how it will be spun: columns of batches, a row each"
    )
    predict.add_argument("--stage", choices=("trimmed", "spun"), default="trimmed")
    predict.add_argument("--book", help="the record book, to see whether the model has learned all of it")
    _learn_first(predict)
    _store(predict)
    _version(predict)
    predict.add_argument("--out", default="prediction")


def _add_correct(commands: Any) -> None:
    correct = _command(commands, "correct", "the correction report for a target's mandrel")
    correct.add_argument("book")
    correct.add_argument("--target", required=True, metavar="ID")
    correct.add_argument("--conditions", help="how it will be spun; default: as its newest batch")
    correct.add_argument(
        "--cost-ratio",
        type=_positive,
        help="cost of cutting too much over too little (default 10, 20 plated)",
    )
    correct.add_argument(
        "--skive",
        type=_length,
        metavar="LENGTH",
        help="stock left for skiving, per side, in the unit of what is written or its own, as 4thou (default 0.1 mm)",
    )
    _learn_first(correct)
    _store(correct)
    _version(correct)
    correct.add_argument("--out", default="correction")


def _add_survey(commands: Any) -> None:
    survey = _command(commands, "survey", "one target from several originals, or a mandrel's first line")
    survey.add_argument("book")
    asked = survey.add_mutually_exclusive_group(required=True)
    asked.add_argument("--family", metavar="NAME", help="family of the table specimens")
    asked.add_argument("--mandrel", metavar="ID", help="its revisions into the line of a new one")
    survey.add_argument("--add-target", action="store_true", help="add the target to the book, as `add` does")
    _store(survey)
    survey.add_argument("--out", default="survey")


def _add_watch(commands: Any) -> None:
    watch = _command(commands, "watch", "is a batch normal; the shop at a glance, faults, wear")
    watch.add_argument("book")
    watch.add_argument("--batch", metavar="ID", help="the batch the page is of (default: the newest)")
    watch.add_argument(
        "--reports", action="append", default=[], metavar="DIR", help="folder of a correction's report; may be repeated"
    )
    _learn_first(watch)
    _store(watch)
    _version(watch)
    watch.add_argument("--out", default="watch")


def _add_bench(commands: Any) -> None:
    bench = _command(commands, "bench", "the page at the bench: readings entered at the lathe, reports, what-if")
    bench.add_argument("book")
    bench.add_argument("--port", type=int, default=8765, help="port to listen on (default 8765; 0: any that is free)")
    bench.add_argument(
        "--share", action="store_true", help="for tablets on the shop's network, who are asked for a code"
    )
    _store(bench)


def _command(commands: Any, name: str, what: str) -> argparse.ArgumentParser:
    command: argparse.ArgumentParser = commands.add_parser(name, help=what, description=what)
    command.add_argument(
        "--units", choices=("mm", "in"), help="of what is written (default: those of the book)"
    )
    command.add_argument("--json", action="store_true", help="print the summary as JSON")
    command.add_argument(
        "--decimal-comma", action="store_true", help="numbers in the input have a decimal comma"
    )
    return command


def _store(command: argparse.ArgumentParser) -> None:
    command.add_argument("--store", default="models", help="folder of trained versions (default models)")


def _learn_first(command: argparse.ArgumentParser) -> None:
    command.add_argument("--train", action="store_true", help="learn first what the model has not learned")


def _version(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "--version", metavar="NAME", help="version to ask, such as v0001 (default: the one in use)"
    )


def _length(text: str) -> tuple[float, str]:
    """A number above 0 and the unit after it, empty where none is."""
    unit = next((one for one in ("thou", "mm", "in") if text.strip().endswith(one)), "")
    return _positive(text.strip().removesuffix(unit)), unit


def _positive(text: str) -> float:
    value = float(text)
    if not 0 < value < float("inf"):
        raise argparse.ArgumentTypeError(f"found {text}, expected a number above 0")
    return value
