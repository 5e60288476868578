"""Rows of tests/truth/motion_examples.csv, each with its source beside it."""

import csv
from pathlib import Path

Row = tuple[dict[str, float], float]


def rows(what: str) -> list[Row]:
    path = Path(__file__).parents[1] / "truth" / "motion_examples.csv"
    with path.open(encoding="utf-8", newline="") as file:
        found = [
            (
                {key: float(value) for key, value in (x.split("=") for x in row["inputs"].split())},
                float(row["result"]),
            )
            for row in csv.DictReader(file)
            if row["what"] == what
        ]
    assert found
    return found
