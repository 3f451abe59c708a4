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
