"""What people write when they are not sure, put into the words that readings are understood in."""

from __future__ import annotations

import re

__all__ = ["loosely", "sure"]

_HEDGE = re.compile(
    r"^(?:probably|perhaps|possibly|looks like|seems(?: like| to be)?|i think|i guess|mostly)\s+"
    r"|(?:\s*\?+|,?\s+(?:i (?:think|guess|reckon)|probably|perhaps|maybe))$",
    re.IGNORECASE,
)
_RESTLESS = re.compile(
    r",?\s+(?:but )?(?:jumping|moving|bouncing|wobbling|wandering|unstable|unsteady)(?: about)?$",
    re.IGNORECASE,
)
_VAGUE = re.compile(
    r"^(?:under|below|less|lower|at |up to|no |not |over|above|more|greater|higher|between|about|"
    r"around|approx|roughly|some|~|≈|[<>≤≥])|\bto\b|\.\.|[–—±]",
    re.IGNORECASE,
)
_NUMBER = r"[-+]?[\d.,]+\S*(?:\s+[a-zΩµ]+)?"
_FORMS = tuple(
    (re.compile(form, re.IGNORECASE), into)
    for form, into in (
        (r"^(?:drops|falls|goes|climbs|rises|counts|comes)(?: up| down)? to\s+", ""),
        (r"^(?:sits|stuck|stays|settles|hovers|hovering|wobbles|held)\s+(?:at|on)\s+", ""),
        (r"^(?:sits|stays|settles|hovers|hovering|wobbles)\s+(?:around|about|near)\s+", "about "),
        (rf"^({_NUMBER})\s+or (?:more|above|over|higher|greater)$", r"over \1"),
        (rf"^({_NUMBER})(?:\s*\+|\s+(?:min|minimum|at least|upwards))$", r"over \1"),
        (rf"^({_NUMBER})\s+or (?:less|under|below|lower)$", r"under \1"),
        (rf"^({_NUMBER})\s+(?:max|maximum|at most|tops)$", r"under \1"),
        (rf"^({_NUMBER})\s+or\s+([\d.,].*)$", r"\1 to \2"),
        (r"^([\d.,]+)\s*-?ish\s+(\S+)$", r"about \1 \2"),
        (r"^(?:a )?few\s+", "2 to 7 "),
        (r"^several\s+", "3 to 9 "),
        (r"^tens of\s+", "10 to 100 "),
        (r"^hundreds of\s+", "100 to 1000 "),
        (r"^(?=(?:mega?|kil)ohms$|millivolts$)", "1 to 100 "),
        (r"\bmeg\s?ohms?$|\bmegs$", "meg"),
        (r"\bkilohms?$|\bkilo$", "k"),
        (r"\bmillivolts?$", "mV"),
    )
)
_SOMETHING = re.compile(r"^(\d+)\.(?:something|some|x+|\?)(.*)$", re.IGNORECASE)
_SMALL_V = re.compile(r"(?<=\d)(\s*)v(?=\d|\b)")
_NOTHING = dict.fromkeys(
    ("tiny", "next to nothing", "almost nothing", "hardly anything", "not much", "ground",
     "near ground", "at ground", "close to ground", "near zero", "grounded", "nothing much"),
    "-0.2 to 0.3",
)  # fmt: skip
_SHORT = dict.fromkeys(
    ("short", "a short", "dead short", "shorted", "near short", "direct short", "beeps", "beep",
     "it beeps"), "0 to 5"
)  # fmt: skip
_SAID = {
    "V": {**_NOTHING, "a diode drop": "0.5 to 0.8", "diode drop": "0.5 to 0.8",
          "under a diode drop": "under 0.5", "less than a diode drop": "under 0.5"},
    "Ω": {**_SHORT, "low": "under 100", "low-ish": "under 1k", "lowish": "under 1k",
          "very low": "under 5", "high": "over 10k", "high-ish": "over 1k", "highish": "over 1k",
          "very high": "over 1M"},
}  # fmt: skip
"""What single words stand for: common practice, no source."""
_TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "hundred": 100, "a hundred": 100,
    "fifteen": 15, "twenty four": 24, "twenty-four": 24,
}  # fmt: skip
_COUNTED = re.compile(
    rf"^(about |around |under |over )?({'|'.join(sorted(_TENS, key=len, reverse=True))})\b",
    re.IGNORECASE,
)


def sure(said: str) -> tuple[str, bool]:
    """The words without "probably", "I think", "?", and whether there were any."""
    plain = _HEDGE.sub("", _HEDGE.sub("", said)).strip(" ,")
    return (plain, True) if plain and plain != said else (said, False)


def loosely(said: str, unit: str) -> str:
    """A measurement as typed, in a form that is a number, a span, or a bound."""
    plain, unsure = sure(_RESTLESS.sub("", said) or said)
    stands_for = _SAID.get(unit, {}).get(plain.casefold())
    if stands_for:
        return stands_for
    if unit == "V":
        plain = _SMALL_V.sub(r"\1V", plain)
    for form, into in _FORMS:
        plain = form.sub(into, plain)
    plain = _COUNTED.sub(lambda found: f"{found[1] or ''}{_TENS[found[2].casefold()]}", plain)
    something = _SOMETHING.match(plain)
    if something:
        plain = f"{something[1]} to {int(something[1]) + 1}{something[2]}"
    return f"about {plain}" if unsure and not _VAGUE.search(plain) else plain
