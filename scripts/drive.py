"""Runs the parts of a study on many machines, or on all cores of one, until all are there; then says what became of them.

    python scripts/drive.py STUDY --out FOLDER [--parts N] [--engine dask|ray|here] [--scheduler ADDRESS]

Without --parts, `hosewright parts STUDY` suggests a number. Engines: `here` starts the program on this machine and needs nothing else;
`dask` (pip install dask distributed) and `ray` (pip install ray) send the parts to the cluster at the address, or to one that they
start on this machine. All machines need the program, and the study and the folder under the same paths. A part that was lost
with its machine, or whose program was killed, is sent again; finished parts are found and not made again, so a
driver that was stopped is started again as it was.

Exit codes: 0 all parts are there, 1 some are not.
"""

import argparse
import json
import os
import subprocess
import sys
import time
from pathlib import Path

# The study itself is at fault, and would be again: 1 a script failed, 2 usage.
FINAL_CODES = (1, 2)


def run_part(command, name):
    """Runs the program for one part, wherever this is called; gives why it failed, or nothing. Raises where another attempt may help."""
    import subprocess

    done = subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True, errors="replace")
    if done.returncode and done.returncode not in FINAL_CODES:
        raise RuntimeError(f"{name}: exit code {done.returncode}: {done.stderr.strip()[-500:]}")
    return done.stderr.strip() if done.returncode else None


class Here:
    """As many programs at a time as this machine has cores."""

    def __init__(self, address, retries):
        from concurrent.futures import ThreadPoolExecutor

        if address:
            sys.exit("drive.py: a --scheduler needs --engine dask or ray")
        self.retries = retries
        self.pool = ThreadPoolExecutor(os.cpu_count())

    def run(self, tasks):
        """Does all tasks; yields the name of each as it ends, with what it gave or the error that it raised."""
        from concurrent.futures import as_completed

        futures = {self.pool.submit(self.attempts, command, name): name for name, command in tasks.items()}
        for future in as_completed(futures):
            yield futures[future], future.exception() or future.result()

    def attempts(self, command, name):
        for left in reversed(range(self.retries + 1)):
            try:
                return run_part(command, name)
            except RuntimeError:
                if left == 0:
                    raise

    def close(self):
        self.pool.shutdown(cancel_futures=True)


class Dask:
    """Tasks of Dask, at the address of a scheduler such as tcp://host:8786."""

    def __init__(self, address, retries):
        from dask.distributed import Client

        self.retries = retries
        self.client = Client(address) if address else Client(threads_per_worker=1, dashboard_address=None)

    def run(self, tasks):
        from dask.distributed import as_completed

        submit = self.client.submit
        futures = {submit(run_part, command, name, pure=False, retries=self.retries): name for name, command in tasks.items()}
        for future in as_completed(futures):
            yield futures[future], future.exception() or future.result()

    def close(self):
        self.client.close()


class Ray:
    """Tasks of Ray, at the address of a cluster such as ray://host:10001."""

    def __init__(self, address, retries):
        import ray

        self.ray = ray
        ray.init(address=address, log_to_driver=False)
        self.remote = ray.remote(max_retries=retries, retry_exceptions=True)(run_part)

    def run(self, tasks):
        waiting = {self.remote.remote(command, name): name for name, command in tasks.items()}
        while waiting:
            (future, *_), _ = self.ray.wait(list(waiting))
            name = waiting.pop(future)
            try:
                yield name, self.ray.get(future)
            except self.ray.exceptions.RayError as error:
                yield name, error

    def close(self):
        self.ray.shutdown()


ENGINES = {"here": Here, "dask": Dask, "ray": Ray}


def suggested(program, study):
    """The number of parts that the program suggests for a study."""
    done = subprocess.run([program, "parts", str(study), "--json"], stdout=subprocess.PIPE, text=True)
    answer = json.loads(done.stdout or "{}")
    if done.returncode or not answer.get("sweeps"):
        reason = (answer.get("error") or {}).get("message", "it has no sweep to divide")
        sys.exit(f"drive.py: {study} cannot be divided: {reason}")
    return answer["parts"]


def records(out, parts):
    """The record files of this division in a folder."""
    found = []
    for path in sorted(out.glob("sweep-*-part-*-of-*.json")):
        record = json.loads(path.read_text())
        if record["parts"] == parts:
            found.append(record)
    return found


def say(text, stays):
    """A line of progress; in a terminal the next one takes its place unless it stays."""
    in_place = sys.stderr.isatty()
    if stays or in_place:
        sys.stderr.write(("\r\033[K" if in_place else "") + text + ("\n" if stays else ""))
        sys.stderr.flush()


def drive(engine, tasks):
    """Does all tasks, with progress; gives those that failed and why."""
    began, last, failed, done = time.time(), 0.0, {}, 0
    for name, answer in engine.run(tasks):
        done += 1
        if answer is not None:
            failed[name] = str(answer)
            say(f"{name} failed: {failed[name].splitlines()[0] if failed[name] else 'no reason'}", True)
        spent = time.time() - began
        if done == len(tasks) or spent - last > (1 if sys.stderr.isatty() else 30):
            last = spent
            left = spent / done * (len(tasks) - done)
            say(f"{done} of {len(tasks)} parts, {spent:.0f} s, about {left:.0f} s left", done == len(tasks))
    return failed


def main():
    reader = argparse.ArgumentParser(description=__doc__.split("\n\n")[0], epilog="The top of the file has more.")
    reader.add_argument("study", type=Path, help="the study, NAME.rhai")
    reader.add_argument("--out", type=Path, required=True, help="the folder of the parts, which all machines share")
    reader.add_argument("--parts", type=int, help="the number of parts; by default as hosewright suggests")
    reader.add_argument("--engine", choices=ENGINES, help="what runs the parts; default dask with a scheduler, else here")
    reader.add_argument("--scheduler", metavar="ADDRESS", help="the cluster; by default one on this machine")
    reader.add_argument("--retries", type=int, default=3, help="how often a part that was lost is sent again; default 3")
    reader.add_argument("--threads", type=int, default=1, help="threads of each part; default 1")
    reader.add_argument("--program", default="hosewright", help="the program on all machines; default hosewright")
    given = reader.parse_args()
    study, out = given.study.resolve(), given.out.resolve()
    parts = given.parts or suggested(given.program, study)
    out.mkdir(parents=True, exist_ok=True)
    rest = ["--out", str(out), "--threads", str(given.threads)]
    command = lambda part: [given.program, "run", str(study), "--part", f"{part}/{parts}", *rest]
    tasks = {f"part {part} of {parts}": command(part) for part in range(1, parts + 1)}
    began = time.time()
    name = given.engine or ("dask" if given.scheduler else "here")
    try:
        engine = ENGINES[name](given.scheduler, given.retries)
    except ImportError as error:
        sys.exit(f"drive.py: --engine {name} needs a package that is not installed: {error}")
    try:
        failed = drive(engine, tasks)
    except KeyboardInterrupt:
        say("stopped; start it again as it was to go on with the parts that are left", True)
        sys.exit(130)
    finally:
        engine.close()
    spent, found = time.time() - began, records(out, parts)
    total = lambda key: sum(record[key] for record in found)
    print(f"{parts - len(failed)} of {parts} parts are in {out}")
    print(f"{total('rows'):,} cases, of which {total('failed'):,} failed; {total('seconds'):.1f} s of solving in {spent:.1f} s")
    for name, reason in sorted(failed.items()):
        print(f"{name}: {reason}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
