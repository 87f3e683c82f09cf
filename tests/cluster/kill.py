"""Runs a study in parts on a cluster, kills a worker in the middle, and checks that nothing is lost: the joined table is byte for byte that of
an undivided run, and polars reads the parts as they are.

    python tests/cluster/kill.py PROGRAM [CASES]
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import polars as pl
from dask.distributed import Client, LocalCluster

HOME = Path(__file__).resolve().parents[2]
DRIVER = HOME / "scripts" / "drive.py"
STUDY = HOME / "benches" / "at_scale" / "study.rhai"
PARTS = 16


def run(*command, folder):
    return subprocess.run([str(word) for word in command], check=True, cwd=folder, stdout=subprocess.PIPE, text=True).stdout


def kill_one_worker(client, parts, driver):
    """Kills a worker process once two parts are there; gives how many were."""
    pids = list(client.run(os.getpid).values())
    while len(done := list(parts.glob("*.json"))) < 2:
        assert driver.poll() is None, "the driver ended before two parts were there"
        time.sleep(0.01)
    os.kill(pids[0], signal.SIGKILL)
    return len(done)


def drive_and_kill(program, folder):
    """The lines that the driver prints at its end."""
    with LocalCluster(n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None) as cluster, Client(cluster) as client:
        address = cluster.scheduler_address
        command = [sys.executable, DRIVER, "study.rhai", "--parts", PARTS, "--out", "parts", "--scheduler", address, "--program", program]
        began = time.time()
        driver = subprocess.Popen([str(word) for word in command], cwd=folder, stdout=subprocess.PIPE, text=True)
        done = kill_one_worker(client, folder / "parts", driver)
        told, _ = driver.communicate(timeout=600)
        assert driver.returncode == 0, told
        print(f"killed one of 3 workers after {done} of {PARTS} parts; all parts after {time.time() - began:.1f} s")
    return told


def main():
    program = Path(sys.argv[1]).resolve()
    cases = int(sys.argv[2]) if len(sys.argv) > 2 else 200_000
    with tempfile.TemporaryDirectory(prefix="cluster-") as home:
        folder = Path(home)
        (folder / "study.rhai").write_text(STUDY.read_text().replace("1000000", str(cases)))
        print(drive_and_kill(program, folder).strip())
        began = time.time()
        run(program, "run", "study.rhai", "--part", "1/1", "--out", "whole", folder=folder)
        print(f"undivided in {time.time() - began:.1f} s")
        for parts in ("parts", "whole"):
            run(program, "eval", f'gather("{parts}").save("{parts}.parquet")', folder=folder)
        same = (folder / "parts.parquet").read_bytes() == (folder / "whole.parquet").read_bytes()
        assert same, "THE TABLES DIFFER"
        print("the joined tables are the same, byte for byte")
        each = run(program, "eval", 'gather_each("parts", |part| part["c.pressure"].min()).min().to("psi")', folder=folder)
        read = run(sys.executable, HOME / "scripts" / "read_parts.py", "parts", "c.pressure [psi]", folder=folder)
        lowest = pl.scan_parquet(folder / "parts" / "*.parquet").select(pl.col("c.pressure [psi]").min()).collect().item()
        assert abs(float(each.split()[0]) - lowest) < 0.01, (each, lowest)
        assert f"{cases:,} cases" in read, read
        print(read.strip())


if __name__ == "__main__":
    main()
