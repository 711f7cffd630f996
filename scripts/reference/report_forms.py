"""Reads the kept reports of tests/report as other programs do.

Every report.json must hold by procedures/report.schema.json, judged by the jsonschema package; every
report.csv must read back with Python's csv module and say of each reading what the JSON form says.
"""

import csv
import json
import pathlib
import sys

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
SAME = ("number", "at", "ms", "procedure", "step", "quantity", "value", "unit", "judged", "standing")


def main() -> int:
    schema = json.loads((ROOT / "procedures/report.schema.json").read_text())
    validator = jsonschema.validators.validator_for(schema)
    validator.check_schema(schema)
    reports = sorted((ROOT / "tests/report").glob("*/report.json"))
    if not reports:
        print("found no reports")
        return 1
    for path in reports:
        report = json.loads(path.read_text())
        validator(schema).validate(report)
        with path.with_suffix(".csv").open(newline="") as table:
            rows = list(csv.DictReader(table, strict=True))
        if len(rows) != len(report["readings"]):
            print(f"{path}: {len(rows)} rows, expected {len(report['readings'])}")
            return 1
        for row, reading in zip(rows, report["readings"]):
            for name in SAME:
                expected = "" if reading[name] is None else str(reading[name])
                if row[name] != expected:
                    print(f"{path}: reading {reading['number']}: {name} is {row[name]}, expected {expected}")
                    return 1
        broken = dict(report, version="one")
        if validator(schema).is_valid(broken):
            print(f"{path}: the schema takes a wrong version")
            return 1
    print(f"{len(reports)} reports read back")
    return 0


sys.exit(main())
