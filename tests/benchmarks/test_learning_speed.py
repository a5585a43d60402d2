"""Speed of learning, by hand: `pytest -m benchmark -s tests/benchmarks/test_learning_speed.py`.

Times are seconds of processor time of one process, so that other work on the machine does not enter; on a machine with
nothing else to do they are seconds of the clock. A fit is from the book as read to the posterior: steel, readings,
shells, regression, faults, spreads; beside the Gaussian process, which is given rows ready made, it is the regression,
faults and spreads alone. The large shops are copies of a smaller one (`large_shop`).
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest

from springfit.learning.experience import Experience, experience_of
from springfit.learning.features.station_features import flare_coordinate
from springfit.learning.fitting import fit_model
from springfit.learning.versions.store import ModelStore
from springfit.learning.versions.training import train
from springfit.records.reading import read_book
from tests.benchmarks.large_shop import large_book

ROWS, TIMES_FASTER = 3000, 20.0
FOUR_TIMES = 4.6
BATCHES, BELLS, READINGS = 1000, 8000, 600_000
SECONDS, GIBIBYTES, PART_OF_A_FIT = 150.0, 2.5, 0.05
TRAINING_SECONDS = 30.0

MEASURE = """
import json, resource, sys, time
from springfit.learning.regression.estimation import running_squares
from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model
from springfit.learning.memory import Memory, why_refit
from springfit.learning.versions.updating import updated
from springfit.records.part import batch_digests, part_of
from springfit.records.reading import read_book

def seconds():
    return sum(resource.getrusage(who).ru_utime + resource.getrusage(who).ru_stime
               for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))

def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20

book, findings = read_book(sys.argv[1])
new = str(book.batches.sort_values("spun_on", kind="stable")["batch_id"].iloc[-1])
digests = batch_digests(book)
old = part_of(book, [batch for batch in digests if batch != new])
told = {"batches": len(old.batches), "bells": len(old.bells), "readings": len(old.measurements)}
begin, clock = seconds(), time.perf_counter()
fit = fit_model(experience_of(old, findings))
told.update(fit=seconds() - begin, fit_clock=time.perf_counter() - clock, gibibytes=peak())
known = {batch: digest for batch, digest in digests.items() if batch != new}
squares = {one.structure.name: running_squares(fit.summaries, fit.layout, one.posterior) for one in fit.solved}
memory, model = Memory(known, squares, 0, "v0001", len(known)), fit.model("v0001")
del fit
begin = seconds()
digests = batch_digests(book)
assert why_refit(memory, digests) is None and memory.new_batches(digests) == (new,)
fresh = experience_of(part_of(book, [new]), findings, known=model.layout.columns)
told["digests"] = seconds() - begin
grown = updated(model, squares, fresh).model("v0002")
told.update(update=seconds() - begin, grown=len(grown.batches))
print(json.dumps(told))
"""


def measured(book: Path) -> dict[str, float]:
    """What a process of its own says of fitting all but the last batch of a book, and of adding that."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, str(book)], capture_output=True, text=True, check=True
    )
    told: dict[str, float] = json.loads(done.stdout)
    print(
        f"{told['batches']} batches, {told['bells']} bells, {told['readings']} readings: fit {told['fit']:.1f} s",
        end="",
    )
    print(f" ({told['fit_clock']:.1f} s by the clock), {told['gibibytes']:.2f} GiB; one batch more", end="")
    print(
        f" {told['update']:.2f} s ({told['update'] / told['fit']:.1%}), {told['digests']:.2f} s of it looking"
    )
    assert told["grown"] == told["batches"] + 1
    return told


@pytest.mark.benchmark
def test_a_thousand_batches_and_one_more(tmp_path: Path) -> None:
    told = measured(large_book(tmp_path / "book", batches=BATCHES + 1, readings_a_bell=READINGS / BELLS))
    assert told["batches"] == BATCHES and told["bells"] == BELLS and told["readings"] > 0.99 * READINGS
    assert told["fit"] < SECONDS and told["gibibytes"] < GIBIBYTES
    assert told["update"] < PART_OF_A_FIT * told["fit"]


@pytest.mark.benchmark
def test_four_times_the_bells_cost_four_times_as_much(tmp_path: Path) -> None:
    one, four = (measured(large_book(tmp_path / str(n), batches=n, readings_a_bell=75.0)) for n in (101, 401))
    print(
        f"{four['bells'] / one['bells']:.2f} times the bells cost {four['fit'] / one['fit']:.2f} times as much"
    )
    assert four["fit"] < FOUR_TIMES * one["fit"]


def _rows(made: Experience) -> tuple[np.ndarray, np.ndarray]:
    """Features and gaps of the first rows of the bells, spread evenly over them."""
    features, gaps = [], []
    for bell in made.bells:
        slope = bell.slope
        batch = np.nan_to_num(made.facts[bell.batch_id].features)
        place = np.column_stack((flare_coordinate(slope), bell.arc / 100.0))
        features.append(np.hstack((place, np.broadcast_to(batch, (len(slope), len(batch))))))
        gaps.append(bell.gap)
    few = np.linspace(0, sum(map(len, gaps)) - 1, ROWS).astype(int)
    return np.vstack(features)[few], np.concatenate(gaps)[few]


@pytest.mark.benchmark
def test_a_fit_is_far_faster_than_an_exact_gaussian_process(shared: Path) -> None:
    from sklearn.gaussian_process import GaussianProcessRegressor
    from sklearn.gaussian_process.kernels import RBF, ConstantKernel, WhiteKernel

    book, findings = read_book(shared / "sample-shop")
    experience = experience_of(book, findings)
    begin = time.process_time()
    fit = fit_model(experience)
    ours = time.process_time() - begin
    assert fit is not None
    rows, gaps = _rows(experience)
    kernel = ConstantKernel(1.0) * RBF(3.0) + WhiteKernel(0.05)
    taken = {}
    for name, optimizer in (("without its optimiser", None), ("as it is", "fmin_l_bfgs_b")):
        begin = time.process_time()
        GaussianProcessRegressor(kernel, normalize_y=True, optimizer=optimizer).fit(rows, gaps)
        taken[name] = time.process_time() - begin
    print(
        f"{len(rows)} rows: ours, of {sum(map(len, (b.gap for b in experience.bells)))} rows, {ours:.2f} s",
        end="",
    )
    print(
        "".join(
            f"; exact Gaussian process {name} {t:.1f} s, {t / ours:.1f} times" for name, t in taken.items()
        )
    )
    assert taken["as it is"] > TIMES_FASTER * ours


@pytest.mark.benchmark
def test_training_the_sample_shop_with_full_validation(shared: Path, tmp_path: Path) -> None:
    book, findings = read_book(shared / "sample-shop")
    begin = time.perf_counter()
    done = train(book, findings, ModelStore(tmp_path / "store"))
    seconds = time.perf_counter() - begin
    print(
        f"{done.batches} batches, {done.bells} bells: trained and validated in {seconds:.1f} s by the clock"
    )
    assert done.validation is not None and seconds < TRAINING_SECONDS
