// Belief over time: one line for each leading suspect, told apart by dashes and by its name.

import { $, percent } from "./dom.js";

const [WIDE, HIGH, LEFT, RIGHT, UPPER, LOWER] = [420, 170, 42, 240, 12, 140];
const NS = "http://www.w3.org/2000/svg";

export function showCourse(leaders, course) {
  const last = course.length - 1;
  $("course").hidden = last < 1;
  if (last < 1) return;
  const x = (at) => LEFT + ((RIGHT - LEFT) * at) / last;
  const top = [0.25, 0.5, 1].find((most) => course.flat().every((share) => share <= most)) ?? 1;
  const y = (share) => LOWER - ((LOWER - UPPER) * share) / top;
  const svg = draw("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img", "aria-label": `Probability of ${leaders.join(", ")} over ${last} readings` });
  for (const share of [0, top / 2, top]) {
    svg.append(draw("line", { x1: LEFT, y1: y(share), x2: RIGHT, y2: y(share) }));
    svg.append(draw("text", { x: LEFT - 6, y: y(share) + 4, "text-anchor": "end" }, `${100 * share} %`));
  }
  const ends = apart(leaders.map((_, n) => y(course[last][n])));
  leaders.forEach((name, n) => {
    const spots = course.map((row, at) => `${x(at).toFixed(1)},${y(row[n]).toFixed(1)}`);
    svg.append(draw("path", { class: `line line-${n}`, d: `M${spots.join(" L")}` }));
    svg.append(draw("text", { x: RIGHT + 8, y: ends[n] + 4 }, `${name.replace("something-else", "something else")} ${percent(course[last][n])}`));
  });
  svg.append(draw("text", { x: LEFT, y: HIGH - 8 }, last === 1 ? "after one reading" : `after each of ${last} readings`));
  $("course").replaceChildren(svg);
}

function draw(tag, given, text = "") {
  const element = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(given)) element.setAttribute(name, value);
  element.textContent = text;
  return element;
}

// Names moved up so that none lies on another.
function apart(heights) {
  let free = Infinity;
  const placed = [];
  for (const n of heights.map((_, at) => at).sort((a, b) => heights[b] - heights[a])) {
    free = Math.min(heights[n], free - 16);
    placed[n] = free;
  }
  return placed;
}
