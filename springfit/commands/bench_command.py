"""The command `bench`: the page at the bench, served until it is stopped."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from springfit.bench.serving import MISSING, serve
from springfit.findings import BookError, Finding

__all__ = ["run_bench"]


def run_bench(options: argparse.Namespace) -> int:
    """Serve the book's page; a folder is needed, for sheets are added to folders only."""
    book = Path(options.book)
    if not book.is_dir():
        what, remedy = "the page at the bench needs a record book's folder", "start one with springfit new"
        raise BookError([Finding("error", str(book), None, None, what, "a folder of CSV files", remedy)])
    try:
        serve(book, Path(options.store), port=options.port, share=options.share, said=lambda s: print(s, flush=True))
    except ImportError as missing:
        print(f"{MISSING} ({missing})", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        pass
    return 0
