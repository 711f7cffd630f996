#!/usr/bin/env python3
"""Writes the saturation table that superheat and subcooling are read from, and its check points.

    python3 -m venv .venv && .venv/bin/pip install CoolProp==8.0.0
    .venv/bin/python scripts/reference/saturation.py

`src/measure/saturation.csv` is the table the program carries; `tests/reference/saturation.csv`
holds points between its rows.
"""

from importlib.metadata import version
from pathlib import Path

from CoolProp.CoolProp import PropsSI

ROOT = Path(__file__).resolve().parents[2]
FLUIDS = {"R-134a": "R134a", "R-410A": "R410A", "R-404A": "R404A", "R-290": "R290", "R-407C": "R407C"}
TABLE = range(-50, 66, 2)
BETWEEN = [-49.0, -37.3, -20.9, -5.1, 0.7, 13.9, 24.6, 39.2, 48.7, 57.1, 63.0]


def pressure(fluid, celsius, quality):
    return PropsSI("P", "T", celsius + 273.15, "Q", quality, fluid) / 1000.0


def rows(temperatures):
    for name, fluid in FLUIDS.items():
        for celsius in temperatures:
            bubble, dew = (pressure(fluid, celsius, quality) for quality in (0, 1))
            yield f"{name},{celsius},{bubble:.3f},{dew:.3f}"


def write(path, temperatures):
    head = f"# made by scripts/reference/saturation.py with CoolProp {version('CoolProp')}"
    columns = "refrigerant,temperature_degC,bubble_kPa_absolute,dew_kPa_absolute"
    path.write_text("\n".join([head, columns, *rows(temperatures)]) + "\n")


write(ROOT / "src/measure/saturation.csv", TABLE)
write(ROOT / "tests/reference/saturation.csv", BETWEEN)
