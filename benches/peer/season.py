"""Sets thirty years of ten beds in hosewright beside pandas and numpy, in one run, and prints the ratio.

    python -m venv VENV && VENV/bin/pip install numpy pandas
    VENV/bin/python benches/peer/season.py

Both evaluate Penman-Monteith for each day and close the balance of each bed; what each bed is given must agree to 1e-9. Python works on all beds of
a day at once. One thread each.
"""

import json
import os
import subprocess
import time

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[name] = "1"

import numpy as np
import pandas as pd

COMMAND = ["cargo", "bench", "--locked", "--quiet", "--no-default-features", "--bench", "season", "--", "--answers"]
DAYS = 10_957
LATITUDE, ELEVATION = 45.0, 100.0
RUNS = 3


def native():
    out = subprocess.run(COMMAND, check=True, capture_output=True, text=True).stdout
    return json.loads(next(line for line in out.splitlines() if line.startswith("{")))


def weather():
    step = np.arange(DAYS)
    season = np.cos(step / 365.25 * 2.0 * np.pi)
    tenth = lambda values: np.array([float(f"{value:.1f}") for value in values])
    low, high = 8.0 - 7.0 * season, 18.0 - 10.0 * season
    frame = pd.DataFrame({"low": tenth(low), "high": tenth(high), "dew": tenth(low - 1.0)})
    frame["rain"] = tenth(np.where(step % 5 == 0, 7.0 + 5.0 * season, 0.0))
    frame["wind"] = 2.3
    frame.index = pd.date_range("1990-01-01", periods=DAYS)
    return frame


def saturation(celsius):
    return 0.6108 * np.exp(17.27 * celsius / (celsius + 237.3))


def reference_et(days):
    """FAO-56 equations 6 to 52 on whole columns."""
    angle = 2.0 * np.pi * days.index.day_of_year / 365.0
    latitude = np.radians(LATITUDE)
    declination = 0.409 * np.sin(angle - 1.39)
    sunset = np.arccos(np.clip(-np.tan(latitude) * np.tan(declination), -1.0, 1.0))
    height = sunset * np.sin(latitude) * np.sin(declination) + np.cos(latitude) * np.cos(declination) * np.sin(sunset)
    above = 24.0 * 60.0 / np.pi * 0.0820 * (1.0 + 0.033 * np.cos(angle)) * height
    mean = (days.low + days.high) / 2.0
    sun = 0.16 * np.sqrt(days.high - days.low) * above
    clear = (0.75 + 2e-5 * ELEVATION) * above
    vapor = saturation(days.dew)
    fourth = ((days.high + 273.16) ** 4 + (days.low + 273.16) ** 4) / 2.0
    longwave = 4.903e-9 * fourth * (0.34 - 0.14 * np.sqrt(vapor)) * (1.35 * np.minimum(sun / clear, 1.0) - 0.35)
    net = 0.77 * sun - longwave
    slope = 4098.0 * saturation(mean) / (mean + 237.3) ** 2
    constant = 0.665e-3 * 101.3 * ((293.0 - 0.0065 * ELEVATION) / 293.0) ** 5.26
    wind = days.wind * 4.87 / np.log(67.8 * 2.0 - 5.42)
    deficit = (saturation(days.low) + saturation(days.high)) / 2.0 - vapor
    return (0.408 * slope * net + constant * 900.0 / (mean + 273.0) * wind * deficit) / (slope + constant * (1.0 + 0.34 * wind))


def given(days):
    """What ten lawns are given, mm, by the daily balance."""
    et0 = reference_et(days).to_numpy()
    rain = days.rain.to_numpy()
    reservoir = 1000.0 * (0.25 - 0.12) * np.minimum(0.75, 0.2 + 0.05 * np.arange(10))
    missing, total = np.zeros(10), np.zeros(10)
    for would, fell in zip(0.95 * et0, rain):
        share = min(max(0.4 + 0.04 * (5.0 - would), 0.1), 0.8)
        limit = share * reservoir
        stress = np.where(missing <= limit, 1.0, np.clip((reservoir - missing) / ((1.0 - share) * reservoir), 0.0, 1.0))
        used = np.minimum(stress * would, reservoir - missing + fell)
        left = np.maximum(missing + used - fell, 0.0)
        due = left >= limit
        total += np.where(due, left, 0.0)
        missing = np.where(due, 0.0, left)
    return total


def main():
    ours = native()
    days = weather()
    times = []
    for _ in range(RUNS):
        start = time.perf_counter()
        theirs = given(days)
        times.append(time.perf_counter() - start)
    difference = np.max(np.abs(theirs - np.array(ours["given_mm"])) / theirs)
    assert difference < 1e-9, f"they differ by {difference:.1e}"
    print(f"thirty years of ten beds: hosewright {1e3 * ours['seconds']:.1f} ms, pandas and numpy {1e3 * min(times):.0f} ms")
    print(f"ratio {min(times) / ours['seconds']:.0f}, answers agree to {difference:.1e}")


main()
