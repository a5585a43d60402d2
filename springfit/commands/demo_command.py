"""The command `demo`: the whole job on an invented shop, by the very commands a shop would give."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path

from springfit.demo.locate import demo_folder

__all__ = ["run_demo"]


def run_demo(options: argparse.Namespace, call: Callable[[Sequence[str]], int]) -> int:
    """Give each command in turn to `call`, the command line itself; stops at the first that fails."""
    source, out = demo_folder(), Path(options.out)
    book, store = str(source / "demo-shop"), str(out / "models")
    older = str(source / "demo-old-shop")
    steps = (
        ("check the book", ["check", book, "--out", str(out / "check")]),
        ("train on it", ["train", book, "--store", store]),
        (
            "predict a draft mandrel's bell",
            ["predict", str(source / "draft_mandrel.csv"), "--conditions", str(source / "draft_conditions.csv"),
             "--store", store, "--out", str(out / "prediction")],
        ),
        ("correct a mandrel", ["correct", book, "--target", options.target, "--store", store,
                               "--out", str(out / "correction")]),
        ("watch the batches", ["watch", book, "--store", store, "--reports", str(out / "correction"),
                               "--out", str(out / "watch")]),
        # Nothing was measured of the older shop's bells, so no model of it can be named: its one mandrel is not asked.
        ("one target from five originals", ["survey", older, "--family", "LINNET",
                                            "--store", str(out / "none"), "--out", str(out / "survey")]),
        ("copy a worn mandrel", ["survey", older, "--mandrel", "DUNLIN", "--out", str(out / "copy")]),
    )  # fmt: skip
    for title, arguments in steps:
        print(f"\n== {title}: springfit {' '.join(arguments[:1])}", flush=True)
        done = call(arguments)
        if done:
            return done
    print(f"\nopen {out / 'watch' / 'watch.html'}")
    print(f"open {out / 'correction' / 'correction.html'}")
    print(f"open {out / 'survey' / 'survey.html'}")
    print(f"open {out / 'copy' / 'copy.html'}")
    return 0
