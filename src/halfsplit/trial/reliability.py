"""Whether what was said with 80 % was right in 80 % of cases: a table and a drawing of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from halfsplit.frozen import dataclass
from halfsplit.trial.report import Outcome

__all__ = ["Bin", "at_verdicts", "on_the_way", "reliability", "reliability_svg", "table"]

Said = tuple[float, bool, float]
"""A probability that was told, whether the suspect was truly at fault, and how often such a case
is met beside the others."""
EDGES = (0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.96, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Statements of a probability from ``low`` to below ``high``: how many, the mean of what was
    told, and the share that was right. Where some count for more than others, so many equal ones
    would be as sure (L. Kish, Survey Sampling, 1965)."""

    low: float
    high: float
    count: int
    told: float
    right: float

    @property
    def error(self) -> float:
        """Standard error of the share, were it the one told (binomial)."""
        return float((self.told * (1.0 - self.told) / self.count) ** 0.5)


def at_verdicts(outcomes: Iterable[Outcome]) -> list[Said]:
    """The suspects named at each first verdict, up to five."""
    return [
        (probability, _is_right(name, one), one.weight)
        for one in outcomes
        if one.visible and not one.failed
        for name, probability in one.named
    ]


def on_the_way(outcomes: Iterable[Outcome]) -> list[Said]:
    """The likeliest suspect as it stood before each check."""
    return [
        (probability, _is_right(name, one), one.weight)
        for one in outcomes
        for name, probability in one.led
    ]


def reliability(said: Sequence[Said]) -> tuple[Bin, ...]:
    """Bins that hold something, lowest first."""
    found = []
    for low, high in pairwise(EDGES):
        top = high if high < 1.0 else 2.0
        here = [one for one in said if low <= one[0] < top]
        whole = sum(weight for _, _, weight in here)
        if whole > 0.0:
            squares = sum(weight * weight for _, _, weight in here)
            found.append(
                Bin(
                    low=low,
                    high=high,
                    count=max(round(whole * whole / squares), 1),
                    told=sum(told * weight for told, _, weight in here) / whole,
                    right=sum(right * weight for _, right, weight in here) / whole,
                )
            )
    return tuple(found)


def table(verdicts: Sequence[Bin], way: Sequence[Bin]) -> str:
    """Both as text."""
    rows = ["told            at verdicts: count, right     on the way: count, right"]
    by_low = [{one.low: one for one in bins} for bins in (verdicts, way)]
    for low, high in pairwise(EDGES):
        cells = [
            f"{one.count:6} {one.right:7.1%}" if (one := bins.get(low)) else f"{'-':>6} {'-':>7}"
            for bins in by_low
        ]
        rows.append(f"{low:4.0%} to {high:4.0%}     {cells[0]:>24}  {cells[1]:>26}")
    return "\n".join(rows) + "\n"


_SIZE, _EDGE = 360.0, 60.0
_STYLE = (
    "text{font:12px sans-serif;fill:#222}path{fill:none;stroke:#777}"
    ".said{fill:#1f5f8b}.way{fill:none;stroke:#9a5b13;stroke-width:1.5}.bar{stroke:#1f5f8b}"
)


def reliability_svg(verdicts: Sequence[Bin], way: Sequence[Bin], title: str) -> str:
    """Share that was right over probability told: filled dots at verdicts, with counts and two
    standard errors either way; rings on the way to them. On the line both agree."""
    whole = _SIZE + 2.0 * _EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole:g} {whole:g}" role="img">',
        f"<title>{_text(title)}</title><style>{_STYLE}</style>",
        f'<rect width="{whole:g}" height="{whole:g}" fill="#fff"/>',
        f'<path d="M{_x(0):g} {_y(1):g}V{_y(0):g}H{_x(1):g}M{_x(0):g} {_y(0):g}L{_x(1):g} '
        f'{_y(1):g}"/>',
    ]
    for share in (0.0, 0.2, 0.4, 0.6, 0.8, 1.0):
        parts.append(
            f'<text x="{_x(share):g}" y="{_y(0) + 18:g}" text-anchor="middle">{share:.0%}</text>'
            f'<text x="{_x(0) - 8:g}" y="{_y(share) + 4:g}" text-anchor="end">{share:.0%}</text>'
        )
    for one in way:
        parts.append(
            f'<circle class="way" cx="{_x(one.told):.1f}" cy="{_y(one.right):.1f}" r="6"/>'
        )
    for one in verdicts:
        x, low, high = _x(one.told), one.told - 2.0 * one.error, one.told + 2.0 * one.error
        parts.append(
            f'<path class="bar" d="M{x:.1f} {_y(max(low, 0.0)):.1f}V{_y(min(high, 1.0)):.1f}"/>'
            f'<circle class="said" cx="{x:.1f}" cy="{_y(one.right):.1f}" r="4"/>'
            f'<text x="{x + 7:.1f}" y="{_y(one.right) + 14:.1f}">{one.count}</text>'
        )
    parts.append(
        f'<text x="{_x(0.5):g}" y="{whole - 14:g}" text-anchor="middle">told</text>'
        f'<text x="14" y="{_y(0.5):g}" transform="rotate(-90 14 {_y(0.5):g})" '
        'text-anchor="middle">right</text>'
        f'<text x="{_x(0):g}" y="24">{_text(title)}</text>'
        f'<text x="{_x(0):g}" y="42">dots: at verdicts, with counts; rings: on the way</text></svg>'
    )
    return "\n".join(parts) + "\n"


def _is_right(name: str, one: Outcome) -> bool:
    return set(name.split(" + ")) <= set(one.suspect.split(" + "))


def _x(share: float) -> float:
    return _EDGE + _SIZE * share


def _y(share: float) -> float:
    return _EDGE + _SIZE * (1.0 - share)


def _text(words: str) -> str:
    return words.replace("&", "&amp;").replace("<", "&lt;")
