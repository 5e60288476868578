// What a spreadsheet hands over: cells parted by tabs (else semicolons), lines, decimal commas.

export function cellsOf(text) {
  const lines = text.replace(/\r\n?/g, "\n").split("\n").filter((line) => line.trim());
  const sign = lines.some((line) => line.includes("\t")) ? "\t" : ";";
  return lines.map((line) => line.split(sign).map((cell) => cell.trim().replace(/^"(.*)"$/, "$1").trim()));
}

// 4,75 is 4.75 there; 1,234.5 and 1.234,5 are left for the program to refuse.
export function plainNumber(text) {
  return /^[-+]?\d+,\d+(\s*\S*)?$/.test(text) ? text.replace(",", ".") : text;
}
