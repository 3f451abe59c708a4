// Small helpers for drawing with SVG.

export function shape(name, attributes = {}, parent = null) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  parent?.append(made);
  return made;
}

/** Path data of points, closed or not. */
export function path(points, closed = false) {
  const text = points.map(([x, y], k) => `${k ? "L" : "M"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
  return closed ? `${text}Z` : text;
}

export function words(text, [x, y], kind, parent, anchor = "middle") {
  const made = shape("text", { x: x.toFixed(1), y: y.toFixed(1), class: kind, "text-anchor": anchor }, parent);
  made.textContent = text;
  return made;
}

/** The arrow to the north, `turn` degrees clockwise from up, with its letter. */
export function northArrow([x, y], turn, parent) {
  const arrow = shape("g", { class: "north-arrow", transform: `rotate(${turn} ${x} ${y - 6})` }, parent);
  shape("path", { d: `M${x} ${y - 20}L${x - 7} ${y + 4}L${x} ${y - 2}L${x + 7} ${y + 4}Z`, class: "north" }, arrow);
  words("N", [x, y + 20], "north-letter", arrow);
}
