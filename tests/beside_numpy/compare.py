"""Once per turn beside what a user of numpy and scipy would take: an FFT bin, and least squares in the angle domain.

Where the others are valid all must agree; where they are not, the difference is shown and must be there. The records are
seeded and invented. Called by `.ci/run` as

    python compare.py PATH_OF_THE_EXAMPLE_extract_record
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from scipy.interpolate import CubicSpline

PROGRAM = sys.argv[1]
FAILED = []


def counterpoise(samples, pulses, rate, orders):
    """What the library says: vectors, covariance of once per turn, samples per second in one piece and streamed."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / "samples", Path(folder) / "pulses"]
        for path, values in zip(paths, (samples, pulses)):
            np.asarray(values, "<f8").tofile(path)
        run = [PROGRAM, *map(str, paths), repr(float(rate)), str(orders)]
        lines = subprocess.run(run, check=True, capture_output=True, text=True).stdout.splitlines()
    vectors = [complex(float(line.split()[1]), float(line.split()[2])) for line in lines[:orders]]
    covariance = [float(x) for x in lines[orders].split()[1:]]
    speeds = [float(x) for x in lines[-1].split()[1:]]
    return np.array(vectors), covariance, speeds


def least_squares(samples, pulses, rate, orders):
    """The angle from a spline through the pulses, and numpy's least squares on all samples between the first and last."""
    t = np.arange(len(samples)) / rate
    inside = (t >= pulses[0]) & (t < pulses[-1])
    t = t[inside]
    turns = CubicSpline(pulses, np.arange(len(pulses)))(t)
    columns = [np.ones_like(t), t - t.mean()]
    for order in range(1, orders + 1):
        columns += [np.cos(2 * np.pi * order * turns), np.sin(2 * np.pi * order * turns)]
    x = np.linalg.lstsq(np.stack(columns, 1), samples[inside], rcond=None)[0]
    return x[2::2] - 1j * x[3::2]


def fft_bin(samples, pulses, rate):
    """The bin of the whole record nearest to the mean speed, turned to the first pulse."""
    hertz = (len(pulses) - 1) / (pulses[-1] - pulses[0])
    at = round(hertz * len(samples) / rate)
    z = 2 * np.fft.rfft(samples)[at] / len(samples)
    return z * np.exp(2j * np.pi * at * rate / len(samples) * pulses[0])


def record(rate, seconds, first, last, parts, noise, seed, lead=0.37):
    """A shaft that goes from a speed to another in turns a second; orders with amplitude and lag; white noise."""
    rng = np.random.default_rng(seed)
    t = np.arange(int(seconds * rate)) / rate
    turned = lambda t: lead + first * t + 0.5 * (last - first) * t * t / seconds
    grid = np.linspace(0, seconds, int(200 * seconds) + 1)
    whole = np.arange(np.ceil(lead), np.floor(turned(seconds)) + 1)
    pulses = np.interp(whole, turned(grid), grid)
    for _ in range(5):
        pulses -= (turned(pulses) - whole) / (first + (last - first) * pulses / seconds)
    theta = 2 * np.pi * turned(t)
    samples = sum(a * np.cos(o * theta - np.radians(lag)) for o, a, lag in parts) + noise * rng.normal(size=len(t))
    return samples, pulses


def check(name, met, figures):
    print(f"{'ok  ' if met else 'FAIL'} {name}: {figures}")
    if not met:
        FAILED.append(name)


def main():
    truth = 0.3 * np.exp(-1j * np.radians(50))
    parts = [(1, 0.3, 50), (2, 0.5, 10), (3, 0.2, 200)]

    # A whole number of turns at steady speed: everything is valid.
    samples, pulses = record(5000, 4.0, 40.0, 40.0, parts, 0.05, 1, lead=0.0)
    ours, covariance, _ = counterpoise(samples, pulses, 5000, 4)
    theirs, fft = least_squares(samples, pulses, 5000, 4), fft_bin(samples, pulses, 5000)
    deviation = np.sqrt(covariance[0] + covariance[2])
    check("steady, least squares", abs(ours - theirs).max() < 1e-9, f"differ by {abs(ours - theirs).max():.1e}")
    check("steady, whole bins, FFT", abs(ours[0] - fft) < deviation, f"differ by {abs(ours[0] - fft):.1e}, {deviation:.1e} stated")
    check("steady, truth", abs(ours[0] - truth) < 4 * deviation, f"off by {abs(ours[0] - truth):.1e}")

    # Between two bins: the FFT is off, and says nothing of it.
    samples, pulses = record(5000, 4.0, 40.1, 40.1, parts, 0.05, 2)
    ours, covariance, _ = counterpoise(samples, pulses, 5000, 4)
    theirs, fft = least_squares(samples, pulses, 5000, 4), fft_bin(samples, pulses, 5000)
    deviation = np.sqrt(covariance[0] + covariance[2])
    check("between bins, least squares", abs(ours - theirs).max() < 1e-9, f"differ by {abs(ours - theirs).max():.1e}")
    check("between bins, truth", abs(ours[0] - truth) < 4 * deviation, f"off by {abs(ours[0] - truth):.1e}")
    check("between bins, FFT not valid", abs(fft - truth) > 50 * deviation, f"FFT off by {abs(fft - truth):.1e}")

    # The speed rises by 3 %: the FFT smears, least squares in the angle do not.
    samples, pulses = record(4096, 10.0, 37.8, 38.9, parts, 0.04, 3)
    ours, covariance, _ = counterpoise(samples, pulses, 4096, 4)
    theirs, fft = least_squares(samples, pulses, 4096, 4), fft_bin(samples, pulses, 4096)
    deviation = np.sqrt(covariance[0] + covariance[2])
    check("rising speed, least squares", abs(ours - theirs).max() < 1e-6, f"differ by {abs(ours - theirs).max():.1e}")
    check("rising speed, truth", abs(ours[0] - truth) < 4 * deviation, f"off by {abs(ours[0] - truth):.1e}")
    check("rising speed, FFT not valid", abs(fft - truth) > 50 * deviation, f"FFT off by {abs(fft - truth):.1e}")

    # What least squares with numpy leaves to its user: pulses missing, and too many.
    rng = np.random.default_rng(5)
    gone, more = rng.choice(np.arange(5, 370), 20, replace=False), rng.choice(np.arange(5, 370), 20, replace=False)
    faulty = np.sort(np.append(np.delete(pulses, gone), pulses[more] + 0.011))
    mended, _, _ = counterpoise(samples, faulty, 4096, 4)
    naive = least_squares(samples, faulty, 4096, 4)
    check("faulty pulses, put right", abs(mended - ours).max() < 1e-4, f"differ by {abs(mended - ours).max():.1e}")
    check("faulty pulses, least squares not valid", abs(naive[0] - truth) > 20 * deviation, f"off by {abs(naive[0] - truth):.1e}")

    print("\nsamples per second, one thread; numpy with its angles by a spline, and the time to read the samples once")
    samples, pulses = record(10_000, 200.0, 40.0, 40.4, parts, 0.05, 4)
    start = time.perf_counter()
    samples.sum()
    read = len(samples) / (time.perf_counter() - start)
    for orders in (1, 4, 16):
        _, _, (block, stream) = counterpoise(samples, pulses, 10_000, orders)
        start = time.perf_counter()
        least_squares(samples, pulses, 10_000, orders)
        numpy = len(samples) / (time.perf_counter() - start)
        print(
            f"{orders:3} orders: {block / 1e6:6.1f} million in one piece, {stream / 1e6:6.1f} streamed; "
            f"numpy {numpy / 1e6:6.2f}; reading {read / 1e6:.0f}"
        )
    if FAILED:
        sys.exit(f"{len(FAILED)} failed: {', '.join(FAILED)}")


main()
