"""Judgements beside the model store, by content: what was said of a batch before it was learned stays as it was said.

A judgement is found again by the records of its batch and of all measured batches before it. As long as none of these
is changed it is not made anew, whatever versions were trained since: a later model has learned the batch, and what it
would say of it is hindsight. A changed record, or a batch entered late among the old ones, makes those after it anew.
Files here can always be deleted; batches are then judged again by the batches before them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from springfit.files import write_files
from springfit.watching.kept.judgement_text import Judgement, judgement_of, text_of

__all__ = ["KeptJudgements", "judgement_keys"]

FORMAT = 4  # raised when a judgement comes to be made or written otherwise: those kept before are then not found
FOLDER = "judged"


def judgement_keys(digests: Mapping[str, str], order: Sequence[str]) -> dict[str, str]:
    """The key of each batch of `order` (oldest first) by the `digests` of its records and of those before it."""
    keys, chain = {}, f"springfit judgement {FORMAT}"
    for batch in order:
        chain = hashlib.sha256(f"{chain}\n{batch}\n{digests[batch]}".encode()).hexdigest()
        keys[batch] = chain
    return keys


@dataclass(frozen=True)
class KeptJudgements:
    """The judgements kept beside the versions of a store in `folder`."""

    folder: Path

    def read(self, key: str) -> Judgement | None:
        """The judgement kept under `key`; None where there is none, or none that can be read."""
        try:
            return judgement_of(self._place(key).read_text(encoding="utf-8"))
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return None

    def write(self, judgements: Mapping[str, Judgement]) -> None:
        """Keep judgements by key. A folder that cannot be written keeps none, and the work goes on."""
        if not judgements:
            return
        contents = {self._place(key).name: text_of(one).encode("utf-8") for key, one in judgements.items()}
        try:
            write_files(contents, self.folder / FOLDER)
        except OSError:
            return

    def _place(self, key: str) -> Path:
        return self.folder / FOLDER / f"{key}.json"
