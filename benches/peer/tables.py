"""Sets columns and files of hosewright against a table library of Python in one run, and prints the ratios.

    python -m venv VENV && VENV/bin/pip install -r benches/peer/requirements.txt
    VENV/bin/python benches/peer/tables.py

Both use all cores. The answers must agree.
"""

import json
import os
import subprocess
import sys
import tempfile
import time

import numpy as np
import polars as pl

ROWS = 900_000
RUNS = 9
ZONES = ["beds", "berries", "lawn", "hedge", "herbs"]
COMMAND = ["cargo", "bench", "--locked", "--quiet", "--bench", "tables", "--"]


def native(*arguments):
    out = subprocess.run([*COMMAND, *arguments], check=True, capture_output=True, text=True).stdout
    return json.loads(next(line for line in out.splitlines() if line.startswith("{")))


def spread(shift):
    return ((np.arange(ROWS) + shift) * 0.6180339887498949) % 1.0


def best(work):
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        answer = work()
        times.append(time.perf_counter() - start)
    return min(times), answer


def write_text(path):
    columns = {f"p{n} [psi]": np.round(20 + 30 * spread(n), 5) for n in range(10)}
    pl.DataFrame({"zone": [ZONES[row % 5] for row in range(ROWS)], **columns}).write_csv(path)


READ = """
import sys, time
import polars as pl
start = time.perf_counter()
frame = pl.read_csv(sys.argv[1])
print(time.perf_counter() - start, frame.height)
print(next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1])
"""


def main():
    frame = pl.DataFrame({"p": 20 + 30 * spread(0), "q": 8 * spread(7), "zone": [ZONES[row % 5] for row in range(ROWS)]})
    ours = native()
    theirs = {}
    theirs["filter"], kept = best(lambda: frame.filter((pl.col("p") > 30) & (pl.col("q") > 2)))
    theirs["with"], wider = best(lambda: frame.with_columns((pl.col("p") - 30).alias("margin")))
    theirs["group"], grouped = best(lambda: frame.group_by("zone").agg(pl.col("p").mean()))
    assert kept.height == ours["kept"] and grouped.height == ours["groups"]
    assert abs(kept["p"].mean() - ours["mean_kept"]) < 1e-9
    assert abs(wider["margin"].mean() - ours["mean_margin"]) < 1e-9
    for what in ("filter", "with", "group"):
        print(f"{what}: {1e3 * ours[what]:.2f} ms, peer {1e3 * theirs[what]:.2f} ms, {ours[what] / theirs[what]:.1f} times")
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "long.csv")
        write_text(path)
        ours = native("--read", path)
        out = subprocess.run([sys.executable, "-c", READ, path], check=True, capture_output=True, text=True).stdout.split()
        seconds, rows, memory_mb = float(out[0]), int(out[1]), int(out[2]) / 1024
        assert rows == ours["rows"]
        print(f"read {os.path.getsize(path) / 1e6:.0f} MB: {ours['read']:.2f} s and {ours['memory_mb']:.0f} MB,", end=" ")
        print(f"peer {seconds:.2f} s and {memory_mb:.0f} MB, {ours['read'] / seconds:.1f} times")


if __name__ == "__main__":
    main()
