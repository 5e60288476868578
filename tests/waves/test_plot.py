"""Pictures show the finding: what is due where it differs, and what is out of turn."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import numpy as np
from tests.waves.lines import lines_of_cycle
from tests.waves.played import ONE_ON

from halfsplit.waves.account import account
from halfsplit.waves.plot import picture_of, svg_text

SVG = "{http://www.w3.org/2000/svg}"


def test_a_stuck_line_is_drawn_with_what_is_due(rng: np.random.Generator) -> None:
    lines = lines_of_cycle(ONE_ON, rng, fault="stuck off", which=(1,), names="A&CD")
    found = account(lines, phases=4, active_low=False)
    picture = picture_of(found)
    root = ElementTree.fromstring(svg_text(picture))  # well-formed XML 1.0, names escaped
    due = [path for path in root.iter(f"{SVG}path") if path.get("class") == "due"]
    assert len(due) == 1
    assert len(picture.lanes[1].due.edges) == 2 * 15
    marked = [r for r in root.iter(f"{SVG}rect") if r.get("class") == "mark"]
    assert len(marked) == len(found.ledger.oddities) == 15
    assert root.find(f"{SVG}title").text == "& never comes on (low all the time)."  # type: ignore[union-attr]
    # Times lie on the axis in proportion: a mark at a third of the record stands at a third.
    one = picture.marks[5]
    share = (one.begin - picture.begin) / (picture.end - picture.begin)
    assert float(marked[5].get("x", "0")) == round(90 + 900 * share, 2)


def test_a_right_pattern_is_drawn_plain_and_a_part_of_it_too(rng: np.random.Generator) -> None:
    found = account(lines_of_cycle(ONE_ON, rng), phases=4, active_low=False)
    picture = picture_of(found, 0.05, 0.1)
    text = svg_text(picture)
    assert 'class="due" d' not in text
    assert 'class="mark" x' not in text
    data = picture.to_json()
    assert json.loads(json.dumps(data)) == data
    assert all(0.05 <= time < 0.1 for time, _ in picture.ticks)
