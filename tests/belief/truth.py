"""Worked examples from tests/truth/diagnosis_examples.csv; each row names its source."""

import csv
from pathlib import Path

ROWS = Path(__file__).parents[1] / "truth" / "diagnosis_examples.csv"


def truth() -> dict[str, float]:
    with ROWS.open(encoding="utf-8", newline="") as file:
        return {row["name"]: float(row["value"]) for row in csv.DictReader(file)}
