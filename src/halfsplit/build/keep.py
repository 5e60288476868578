"""Predictions kept on disk between runs: arrays only, in numpy's own file format.

A kept file is a convenience: whatever is wrong with it (missing, cut, of another board or
version), the predictions are simply made again.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import zipfile
from dataclasses import fields
from pathlib import Path

import numpy as np

from halfsplit.build.compiled import Compiled, Pairs
from halfsplit.build.power_off import PairReading
from halfsplit.build.sweep import StateResult
from halfsplit.build.world import MeterSource

__all__ = ["kept_name", "load", "save"]

_ROOT = Path(__file__).resolve().parent.parent
_FLOORS = ("build", "parts", "solve")
_OF_PAIRS = {"value": np.float32, "spread": np.float32, "resolved": np.bool_}
"""What is kept of the readings between pairs of nodes, and how."""


def kept_name(world: Compiled) -> str:
    """File name for the predictions of this board, by its text, its faults, and the very program
    that makes them (size and time of its files)."""
    digest = hashlib.sha256()
    files = sorted(
        path
        for floor in _FLOORS
        for path in (_ROOT / floor).rglob("*")
        if path.suffix in (".py", ".c", ".so", ".toml")
    )
    stamps = [(path.name, (stat := path.stat()).st_size, stat.st_mtime_ns) for path in files]
    for piece in (world.board.text, repr(stamps), repr(world.overlays)):
        digest.update(piece.encode())
        digest.update(b"\0")
    return f"{digest.hexdigest()[:32]}.npz"


def save(world: Compiled, folder: Path) -> bool:
    """Write what has been predicted so far; False when the folder cannot be written."""
    arrays: dict[str, np.ndarray] = {}
    for name, state in world.predicted_states().items():
        for field in fields(StateResult):
            value = getattr(state, field.name)
            small = value if value.dtype == bool else value.astype(np.float32)
            arrays[f"state/{name}/{field.name}"] = small
    for number, ((sort, source), readings) in enumerate(world.predicted_pairs().items()):
        if not readings:
            continue
        keys = sorted(readings)
        stem = f"{sort}/{number}"
        arrays[f"{stem}/source"] = np.asarray([getattr(source, f.name) for f in fields(source)])
        arrays[f"{stem}/pairs"] = np.asarray(keys, dtype=np.int64)
        for what, dtype in _OF_PAIRS.items():
            found = np.stack([getattr(readings[key], what) for key in keys])
            arrays[f"{stem}/{what}"] = found.astype(dtype)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        handle, scratch = tempfile.mkstemp(dir=folder, suffix=".part")
        with os.fdopen(handle, "wb") as file:
            np.savez(file, **arrays)  # type: ignore[arg-type]
        os.replace(scratch, folder / kept_name(world))
    except OSError:
        return False
    return True


def load(world: Compiled, folder: Path) -> bool:
    """Take over predictions kept earlier; False when there are none that fit."""
    path = folder / kept_name(world)
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as found:
            arrays = {name: found[name] for name in found.files}
        states = _states(arrays)
        stems = [name.rpartition("/")[0] for name in arrays if name.endswith("/pairs")]
        pairs = dict(_pairs(arrays, stem, len(world.faults)) for stem in stems)
    except (OSError, ValueError, TypeError, KeyError, EOFError, zipfile.BadZipFile):
        return False
    if any(state.nominal.shape[1] != len(world.faults) for state in states.values()):
        return False
    world.take_over(states, pairs)
    return True


def _states(arrays: dict[str, np.ndarray]) -> dict[str, StateResult]:
    names = {key.split("/", 2)[1] for key in arrays if key.startswith("state/")}
    return {
        name: StateResult(
            **{
                field.name: arrays[f"state/{name}/{field.name}"].astype(
                    bool if field.name == "resolved" else np.float64
                )
                for field in fields(StateResult)
            }
        )
        for name in names
    }


def _pairs(
    arrays: dict[str, np.ndarray], stem: str, count: int
) -> tuple[tuple[str, MeterSource], Pairs]:
    names = [field.name for field in fields(MeterSource)]
    given = dict(zip(names, arrays[f"{stem}/source"].tolist(), strict=True))
    source = MeterSource(**given | {"known": bool(given["known"])})
    keys = [(int(a), int(b)) for a, b in arrays[f"{stem}/pairs"]]
    value, spread, resolved = (arrays[f"{stem}/{what}"] for what in _OF_PAIRS)
    if value.shape != (len(keys), count):
        raise ValueError("kept for another list of faults")
    value, spread = value.astype(np.float64), spread.astype(np.float64)
    readings = {key: PairReading(value[k], spread[k], resolved[k]) for k, key in enumerate(keys)}
    return (stem.partition("/")[0], source), readings
