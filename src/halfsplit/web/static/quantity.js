// Numbers as the trade writes them.

const PREFIXES = [[1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"], [1e-12, "p"]];

// 0.00123 s -> "1.23 ms".
export function quantity(value, unit, digits = 4) {
  if (!Number.isFinite(value)) return "unresolved";
  if (value === 0) return `0 ${unit}`;
  const [scale, prefix] = PREFIXES.find(([one]) => Math.abs(value) >= one * 0.9999999) ?? PREFIXES.at(-1);
  return `${Number((value / scale).toPrecision(digits))} ${prefix}${unit}`;
}

// A time as exactly as steps of `each` need.
export function inSeconds(time, each) {
  if (Math.abs(time) < each / 2) return "0 s";
  const [scale, prefix] = PREFIXES.find(([one]) => Math.abs(time) >= one * 0.9999999) ?? PREFIXES.at(-1);
  const digits = Math.min(9, Math.max(0, Math.ceil(-Math.log10(each / scale) - 1e-9)));
  return `${(time / scale).toFixed(digits)} ${prefix}s`;
}
