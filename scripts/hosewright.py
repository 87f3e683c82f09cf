"""Studies of hosewright from Python: study and parameters in, values and tables out.

One file without dependencies; `frame` needs pandas or polars, whichever is asked for. The program `hosewright` must be on the path, or its
path be given. Example:

    from hosewright import Hosewright

    with Hosewright("scripts") as hw:
        hw.run(text='let line = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);')
        print(hw.get('line.run().pressure("spray")'))
        table = hw.get('sweep(line, vary("feed.length", steps(50.ft, 200.ft, 50.ft)))')
        print(table["spray.pressure"], table.frame("pandas"))
"""

import json
import subprocess
from collections import namedtuple


class HosewrightError(Exception):
    """What a study or a request did wrong; `answer` is the whole error as the program gave it."""

    def __init__(self, answer):
        self.answer = answer
        place = answer.get("place") or {}
        where = f" ({place['source']}:{place['line']}:{place['column']})" if place else ""
        hint = f"; {answer['hint']}" if answer.get("hint") else ""
        super().__init__(f"{answer.get('message', answer)}{where}{hint}")


class Quantity(namedtuple("Quantity", "value unit si")):
    """A number with its unit as shown, and its value in SI units."""

    __slots__ = ()

    def __float__(self):
        return float(self.value)

    def __str__(self):
        return f"{self.value:g} {self.unit}"


class Table:
    """A table: `table["column"]` is a list of values, `table.units` the unit of each column or None."""

    def __init__(self, answer):
        self.columns = {column["name"]: column["values"] for column in answer["columns"]}
        self.units = {column["name"]: column.get("unit") for column in answer["columns"]}
        self.rows = answer["rows"]

    def __getitem__(self, name):
        return self.columns[name]

    def __len__(self):
        return self.rows

    def frame(self, library="pandas"):
        """The table as a frame of pandas or polars; units stand in the names of columns."""
        if library not in ("pandas", "polars"):
            raise ValueError("frame: choose 'pandas' or 'polars'")
        named = {f"{name} ({self.units[name]})" if self.units[name] else name: values for name, values in self.columns.items()}
        return __import__(library).DataFrame(named)


def _value(answer):
    """A value of an answer: quantities and tables as such, lists and maps with what is in them, the rest as JSON has it."""
    if isinstance(answer, list):
        return [_value(item) for item in answer]
    if isinstance(answer, dict):
        if set(answer) == {"value", "unit", "si"}:
            return Quantity(**answer)
        if answer.get("kind") == "table":
            return Table(answer)
        return {name: _value(item) for name, item in answer.items()}
    return answer


class Hosewright:
    """A session of hosewright in a folder. Variables stay until `reset`; close it, or use it in `with`."""

    def __init__(self, folder=".", program="hosewright", arguments=()):
        command = [program, "talk", str(folder), *arguments]
        self._process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8")

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def ask(self, **request):
        """Sends a request, and gives the answer as it came. Errors: HosewrightError."""
        self._process.stdin.write(json.dumps(request) + "\n")
        self._process.stdin.flush()
        line = self._process.stdout.readline()
        if not line:
            raise HosewrightError({"message": "the program has ended"})
        answer = json.loads(line)
        if answer["error"]:
            raise HosewrightError(answer["error"])
        return answer

    def run(self, file=None, text=None, set=None, get=()):
        """Evaluates a file of the folder or a text. `set` sets controls, as in {"feed length": "150 ft"}.

        Gives the values of `get`, names or expressions, as a dictionary."""
        request = {"file": file, "text": text, "set": set, "get": list(get)}
        answer = self.ask(**{name: value for name, value in request.items() if value})
        return {name: _value(value) for name, value in answer["values"].items()}

    def get(self, name):
        """The value of a variable or an expression."""
        return _value(self.ask(get=name)["values"][name])

    def reset(self):
        """Forgets all variables, and the values of controls."""
        self.ask(reset=True)

    def close(self):
        """Ends the program."""
        if self._process.poll() is None:
            self._process.stdin.close()
            self._process.wait()
        self._process.stdout.close()
