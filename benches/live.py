"""How long the live page takes from the move of a slider until the picture is there, measured over HTTP against the program.

    cargo build --release
    python3 benches/live.py target/release/hosewright [study.rhai] [moves]

Without a study: sixty heads on a trunk behind a feed hose, with a chart of their pressures and the table of the steady state. The first
slider of the study is moved to and fro. Beside the time stands what the program has computed meanwhile, which a busy machine does not change.
Needs nothing but Python's standard library; Linux, for the computed time.
"""

import http.client
import json
import os
import re
import statistics
import subprocess
import sys
import tempfile
import time

STUDY = """// # Sixty heads on a trunk
let length = slider("length", 20.ft, 200.ft, 100.ft);
let plot = supply(70.psi).measured(60.psi, 40.gpm) >> hose(length, 2.inch).named("feed");
let last = "feed";
for number in 1..=60 {
    let branch = hose(12.ft, (1/2).inch).named("h" + number) >> head("n" + number, 0.06.inch);
    plot = plot.branch(last, hose(10.ft, 1.5.inch).named("t" + number) >> branch);
    last = "t" + number;
}
// ## What the heads get
let steady = plot.run();
let numbers = [];
let pressures = [];
for number in 1..=60 { numbers.push(number); pressures.push(steady.pressure("n" + number)); }
chart(table(#{ head: numbers, pressure: pressures })).x("head").y("pressure");
steady;
"""


def computed_s(pid):
    with open(f"/proc/{pid}/stat") as file:
        fields = file.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


class Page:
    """A live page and its stream of events."""

    def __init__(self, program, study):
        quiet = dict(os.environ, BROWSER="true", DISPLAY="")
        self.server = subprocess.Popen(
            [program, "live", study], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, env=quiet
        )
        said = ""
        while not (found := re.search(r"http://([\d.]+:\d+)(/\S*/)\?key=([\w-]+)", said)):
            line = self.server.stdout.readline()
            if not line:
                sys.exit(f"no address in: {said}")
            said += line
        self.host, self.room, key = found.groups()
        self.cookie = {"Cookie": f"hosewright={key}"}
        stream = http.client.HTTPConnection(self.host)
        stream.request("GET", f"{self.room}events", headers=self.cookie)
        self.events = stream.getresponse()
        self.mover = http.client.HTTPConnection(self.host)

    def hear(self):
        """The next event of a run that is over."""
        size = 0
        while True:
            line = self.events.readline()
            size += len(line)
            if line.startswith(b"data:"):
                news = json.loads(line[5:])
                if not str(news.get("state", "running")).startswith("running"):
                    return news, size

    def move(self, name, value):
        body = json.dumps({"values": [[name, value]]})
        headers = {**self.cookie, "X-Hosewright": "page", "Content-Type": "application/json"}
        self.mover.request("POST", f"{self.room}set", body, headers)
        answer = self.mover.getresponse()
        answer.read()
        if answer.status != 202:
            sys.exit(f"the move of {name} was answered with {answer.status}")


def main():
    program = sys.argv[1]
    moves = int(sys.argv[3]) if len(sys.argv) > 3 else 100
    with tempfile.TemporaryDirectory() as folder:
        study = os.path.join(folder, "sixty.rhai")
        text = open(sys.argv[2]).read() if len(sys.argv) > 2 else STUDY
        with open(study, "w") as file:
            file.write(text)
        name, low, high = re.search(r'slider\("(\w+)", ([\d.]+?)\.\w+, ([\d.]+?)\.\w', text).groups()
        page = Page(program, study)
        try:
            page.hear()
            times_ms, sizes, begun_s = [], [], computed_s(page.server.pid)
            for move in range(moves):
                value = float(low) + (float(high) - float(low)) * ((7 * move) % 11 + 0.5) / 11
                begun = time.perf_counter()
                page.move(name, round(value, 3))
                news, size = page.hear()
                times_ms.append(1e3 * (time.perf_counter() - begun))
                sizes.append(size)
            each_ms = 1e3 * (computed_s(page.server.pid) - begun_s) / moves
        finally:
            page.server.terminate()
    times_ms.sort()
    print(f"{moves} moves, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"slider to picture: median {statistics.median(times_ms):.1f} ms, fastest {times_ms[0]:.1f} ms, "
          f"nine in ten below {times_ms[int(0.9 * moves)]:.1f} ms")
    print(f"computed: {each_ms:.1f} ms a move; {statistics.median(sizes) / 1e3:.0f} kB of news a move")


main()
