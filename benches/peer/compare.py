"""Sets hosewright's sweep of three heads against plain numerical Python, in one run, and prints the ratios.

    python -m venv VENV && VENV/bin/pip install -r benches/peer/requirements.txt
    VENV/bin/python benches/peer/compare.py

All three must agree to 1e-6. Each is given one thread; hosewright is shown on two as well.
"""

import json
import os
import subprocess
import sys
import tempfile
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np

import three_heads as heads

ROOT_CASES = 2000
RUNS = 5


def native(folder):
    """Runs the Rust bench; its figures and its answers."""
    path = os.path.join(folder, "answers.f64")
    command = ["cargo", "bench", "--locked", "--quiet", "--bench", "peer", "--", "--answers", path]
    out = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    figures = json.loads(next(line for line in out.splitlines() if line.startswith("{")))
    return figures, np.fromfile(path, dtype="<f8").reshape(-1, 6)


def best(work, runs):
    """Seconds of the best run, and its answer."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        answer = work()
        times.append(time.perf_counter() - start)
    return min(times), answer


def furthest(answers, reference):
    """Largest relative difference."""
    return float(np.max(np.abs(answers - reference) / np.abs(reference)))


def main():
    with tempfile.TemporaryDirectory() as folder:
        figures, reference = native(folder)
    n_lengths, n_bores = figures["lengths"], figures["diameters"]
    lengths = np.repeat(np.linspace(25.0, 300.0, n_lengths) * heads.FT, n_bores)
    diameters = np.tile(np.linspace(0.5, 1.0, n_bores) * heads.INCH, n_lengths)
    cases = len(lengths)

    block, vector_s, vector = min(
        ((size, *best(lambda: heads.all_at_once(lengths, diameters, size), 2)) for size in (1024, 4096, 16384, cases)),
        key=lambda row: row[1],
    )
    vector_s = min(vector_s, best(lambda: heads.all_at_once(lengths, diameters, block), RUNS)[0])
    picked = slice(0, cases, cases // ROOT_CASES)
    root_s, root = best(lambda: heads.one_by_one(lengths[picked], diameters[picked]), 1)

    rows = [
        ("hosewright, one thread", cases / figures["one_thread_s"], 0.0),
        ("hosewright, two threads", cases / figures["two_threads_s"], 0.0),
        (f"numpy, all at once in blocks of {block}", cases / vector_s, furthest(vector, reference)),
        (f"scipy.optimize.root, case by case ({len(root)} cases)", len(root) / root_s, furthest(root, reference[picked])),
    ]
    ours = rows[0][1]
    print(f"{cases} cases of three heads; rates are of the best of several runs")
    print(f"{'':52} {'cases/s':>12} {'times slower':>13} {'furthest off':>13}")
    for name, rate, off in rows:
        print(f"{name:52} {rate:12,.0f} {ours / rate:13.2f} {off:13.1e}")
    if max(off for _, _, off in rows) > 1e-6:
        sys.exit("the answers differ by more than 1e-6")


main()
