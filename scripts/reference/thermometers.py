#!/usr/bin/env python3
"""Writes check points for thermocouples K, J and T, and for Pt100 and thermistors.

    python3 -m venv .venv
    .venv/bin/pip install thermocouples_reference==0.20 "numpy<2" scipy
    .venv/bin/python scripts/reference/thermometers.py

The thermocouples come from the package's own tables of NIST Monograph 175. Pt100 temperatures are
found by scipy's root finder on the IEC 60751 polynomial, thermistor temperatures likewise.
"""

import math
import warnings
from importlib.metadata import version
from pathlib import Path

warnings.simplefilter("ignore")

from scipy.optimize import brentq
from thermocouples_reference import thermocouples

REFERENCE = Path(__file__).resolve().parents[2] / "tests/reference"
NAMES = ("numpy", "scipy", "thermocouples_reference")
VERSIONS = ", ".join(f"{name} {version(name)}" for name in NAMES)
SPANS = {"K": (-260, 1371), "J": (-209, 1199), "T": (-260, 399)}


def write(name, columns, rows):
    head = f"# made by scripts/reference/thermometers.py with {VERSIONS}"
    (REFERENCE / name).write_text("\n".join([head, columns, *rows]) + "\n")


def thermocouple_rows():
    for kind, (low, high) in SPANS.items():
        for celsius in [*range(low, high, 37), high]:
            millivolts = thermocouples[kind].emf_mVC(celsius, Tref=0.0)
            yield f"{kind},{celsius},{millivolts:.6f}"


def pt100(t):
    below = -4.183e-12 * (t - 100) * t**3 if t < 0 else 0.0
    return 100 * (1 + 3.9083e-3 * t - 5.775e-7 * t * t + below)


def pt100_rows():
    for step in range(21):
        ohms = 19 + 18.5 * step
        yield f"{ohms:.3f},{brentq(lambda t: pt100(t) - ohms, -201, 851, xtol=1e-12):.6f}"


def steinhart_hart(t):
    """The resistance whose Steinhart-Hart temperature is t."""

    def celsius(log):
        return 1 / (1.129148e-3 + 2.34125e-4 * log + 8.76741e-8 * log**3) - 273.15

    return math.exp(brentq(lambda log: celsius(log) - t, 0, 20, xtol=1e-14))


def beta(value, t):
    return 10000 * math.exp(value * (1 / (t + 273.15) - 1 / 298.15))


def ntc_rows():
    for t in range(-39, 125, 14):
        yield f"10k_beta_3950,{t},{beta(3950, t):.4f}"
        yield f"10k_beta_3435,{t},{beta(3435, t):.4f}"
        yield f"10k_steinhart_hart,{t},{steinhart_hart(t):.4f}"


write("thermocouples.csv", "type,temperature_degC,voltage_mV", thermocouple_rows())
write("pt100.csv", "resistance_ohm,temperature_degC", pt100_rows())
write("ntc.csv", "curve,temperature_degC,resistance_ohm", ntc_rows())
