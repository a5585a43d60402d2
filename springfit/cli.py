"""The command line: its words are `arguments`', its work is in `commands`; here one is handed to the other."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence

from springfit.arguments import parser
from springfit.commands.saying import say_findings
from springfit.findings import BookError

__all__ = ["main"]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run `springfit` with `arguments` (the command line's own when None): 0 done, 1 input at fault, 2 wrong usage."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if any("\0" in word for word in words):
        print("an argument has a zero byte in it, expected a name or a path as it is typed", file=sys.stderr)
        return 2
    options = parser().parse_args(words)
    # The matrices are small: threads of a linear-algebra library would spend their time waiting for one another.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        return _RUN[options.command](options)
    except BookError as failed:
        say_findings(failed.findings, as_json=options.json)
        return 1
    except BrokenPipeError:
        # Whoever reads our words has read enough; the work itself was done before they were said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as failed:
        place = failed.filename or "."
        said = f"{place}: {failed.strerror or failed}, expected a place that can be read and written"
        print(said, file=sys.stderr)
        return 1


# Imports stand inside: `springfit --help` waits for no library that one command alone needs.


def _check(options: argparse.Namespace) -> int:
    from springfit.commands.book_commands import run_check

    return run_check(options)


def _new(options: argparse.Namespace) -> int:
    from springfit.commands.book_commands import run_new

    return run_new(options)


def _add(options: argparse.Namespace) -> int:
    from springfit.commands.book_commands import run_add

    return run_add(options)


def _undo(options: argparse.Namespace) -> int:
    from springfit.commands.book_commands import run_undo

    return run_undo(options)


def _show(options: argparse.Namespace) -> int:
    from springfit.commands.book_commands import run_show

    return run_show(options)


def _train(options: argparse.Namespace) -> int:
    from springfit.commands.model_commands import run_train

    return run_train(options)


def _predict(options: argparse.Namespace) -> int:
    from springfit.commands.model_commands import run_predict

    return run_predict(options)


def _correct(options: argparse.Namespace) -> int:
    from springfit.commands.correct_command import run_correct

    return run_correct(options)


def _survey(options: argparse.Namespace) -> int:
    from springfit.commands.survey_command import run_survey

    return run_survey(options)


def _watch(options: argparse.Namespace) -> int:
    from springfit.commands.watch_command import run_watch

    return run_watch(options)


def _bench(options: argparse.Namespace) -> int:
    from springfit.commands.bench_command import run_bench

    return run_bench(options)


def _demo(options: argparse.Namespace) -> int:
    from springfit.commands.demo_command import run_demo

    return run_demo(options, main)


_RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "check": _check,
    "new": _new,
    "add": _add,
    "undo": _undo,
    "show": _show,
    "train": _train,
    "predict": _predict,
    "correct": _correct,
    "survey": _survey,
    "watch": _watch,
    "bench": _bench,
    "demo": _demo,
}


if __name__ == "__main__":
    sys.exit(main())
