"""Drives the parts of a study as tasks of Dask over several worker processes, kills one worker in the middle, and checks
that nothing is lost: the joined table is byte for byte that of an undivided run.

Needs: python -m pip install dask distributed; cargo build --release.
Run:   python benches/at_scale/drive.py target/release/hosewright
"""

import filecmp
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time

from dask.distributed import Client, LocalCluster, as_completed

STUDY = pathlib.Path(__file__).with_name("study.rhai")
PARTS = 24


def part(program, folder, number):
    """Evaluates one part; a part that is finished already is found and not made again."""
    out = os.path.join(folder, "parts")
    command = [program, "run", os.path.join(folder, "study.rhai"), "--part", f"{number}/{PARTS}", "--out", out, "--threads", "1"]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    return number, os.getpid()


def join(program, folder, parts, name):
    script = f'gather("{parts}").save("{name}")'
    subprocess.run([program, "eval", script], check=True, cwd=folder, stdout=subprocess.DEVNULL)


def main():
    program = os.path.abspath(sys.argv[1])
    folder = tempfile.mkdtemp(prefix="at-scale-")
    shutil.copy(STUDY, os.path.join(folder, "study.rhai"))
    with LocalCluster(n_workers=3, threads_per_worker=1, processes=True, dashboard_address=None) as cluster, Client(cluster) as client:
        began = time.time()
        tasks = [client.submit(part, program, folder, number, pure=False, retries=3) for number in range(1, PARTS + 1)]
        killed, done = None, []
        for task in as_completed(tasks):
            done.append(task.result())
            if killed is None and len(done) == 4:
                # The worker that was busiest last dies without a word, as when a machine is lost.
                killed = done[-1][1]
                os.kill(killed, 9)
                print(f"killed worker process {killed} after {len(done)} of {PARTS} parts")
        spent = time.time() - began
    workers = sorted({pid for _, pid in done})
    print(f"{len(done)} parts from {len(workers)} worker processes in {spent:.1f} s")
    join(program, folder, "parts", "divided.parquet")
    whole = ["run", "study.rhai", "--part", "1/1", "--out", "whole"]
    began = time.time()
    subprocess.run([program, *whole], check=True, cwd=folder, stdout=subprocess.DEVNULL)
    print(f"undivided in {time.time() - began:.1f} s")
    join(program, folder, "whole", "whole.parquet")
    same = filecmp.cmp(os.path.join(folder, "divided.parquet"), os.path.join(folder, "whole.parquet"), shallow=False)
    print("nothing is lost: the tables are the same, byte for byte" if same else "THE TABLES DIFFER")
    shutil.rmtree(folder)
    sys.exit(0 if same else 1)


if __name__ == "__main__":
    main()
