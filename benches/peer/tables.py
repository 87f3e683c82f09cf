"""Sets columns and files of hosewright against a table library of Python in one run, and prints the ratios.

    python -m venv VENV && VENV/bin/pip install -r benches/peer/requirements.txt
    VENV/bin/python benches/peer/tables.py [PROGRAM]

PROGRAM is the bench once it is built (`cargo bench --no-run --bench tables` names it); without it cargo builds it. Both use all cores,
take turns, and the best run of each counts. The answers must agree.
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
ROUNDS = 3
CARGO = ["cargo", "bench", "--locked", "--quiet", "--bench", "tables", "--"]
COMMAND = sys.argv[1:2] or CARGO
WHAT = ["filter", "with", "group", "group many", "describe", "pivot", "sort"]


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


def theirs(frame):
    """Seconds of the best runs, and the answers."""
    times, answers = {}, {}
    works = {
        "filter": lambda: frame.filter((pl.col("p") > 30) & (pl.col("q") > 2)),
        "with": lambda: frame.with_columns((pl.col("p") - 30).alias("margin")),
        "group": lambda: frame.group_by("zone").agg(pl.col("p").mean()),
        "group many": lambda: frame.group_by("day").agg(pl.col("q").sum()),
        # Ours counts the different values, too.
        "describe": lambda: (frame.select("p", "q", "zone").describe(), frame.select(pl.col("p", "q", "zone").n_unique())),
        "pivot": lambda: frame.pivot("zone", index="day", values="p"),
        "sort": lambda: frame.sort("p"),
    }
    for what, work in works.items():
        times[what], answers[what] = best(work)
    return times, answers


def main():
    columns = {"p": 20 + 30 * spread(0), "q": 8 * spread(7), "zone": [ZONES[row % 5] for row in range(ROWS)]}
    frame = pl.DataFrame({**columns, "day": (np.arange(ROWS) // 5).astype(float)})
    ours, peer = {what: 1e9 for what in WHAT}, {what: 1e9 for what in WHAT}
    for _ in range(ROUNDS):
        found = native()
        times, answers = theirs(frame)
        ours = {what: min(ours[what], found[what]) for what in WHAT}
        peer = {what: min(peer[what], times[what]) for what in WHAT}
    near = lambda a, b: abs(a - b) < 1e-9 * abs(b)
    assert answers["filter"].height == found["kept"] and near(found["mean_kept"], answers["filter"]["p"].mean())
    assert near(found["mean_margin"], answers["with"]["margin"].mean())
    assert answers["group"].height == found["groups"] and answers["group many"].height == found["days"]
    assert near(found["median"], frame["p"].median()) and found["different"] == answers["describe"][1]["p"][0]
    assert list(answers["pivot"].shape) == found["wide"] and near(found["mean_wide"], answers["pivot"]["beds"].mean())
    assert near(found["first"], answers["sort"]["p"][0])
    print(f"{found['cores']} cores, {pl.thread_pool_size()} threads of the peer")
    for what in WHAT:
        print(f"{what}: {1e3 * ours[what]:.2f} ms, peer {1e3 * peer[what]:.2f} ms, {ours[what] / peer[what]:.1f} times")
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "long.csv")
        write_text(path)
        runs = []
        for _ in range(ROUNDS):
            own = native("--read", path)
            out = subprocess.run([sys.executable, "-c", READ, path], check=True, capture_output=True, text=True).stdout.split()
            assert int(out[1]) == own["rows"]
            runs.append((own["read"], own["memory_mb"], float(out[0]), int(out[2]) / 1024))
        own_s, own_mb, peer_s, peer_mb = (min(values) for values in zip(*runs))
        print(f"read {os.path.getsize(path) / 1e6:.0f} MB: {own_s:.2f} s and {own_mb:.0f} MB,", end=" ")
        print(f"peer {peer_s:.2f} s and {peer_mb:.0f} MB, {own_s / peer_s:.1f} times the time, {own_mb / peer_mb:.1f} times the memory")


if __name__ == "__main__":
    main()
