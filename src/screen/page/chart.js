// Draws a series against its bands. Everything comes in shares of the picture; here they become
// points of the space there is.

const SVG = "http://www.w3.org/2000/svg";

function shape(name, attributes, text) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text !== undefined) made.textContent = text;
  return made;
}

// Labels from the bottom up, each at least `gap` above the one below it.
function spread(labels, gap, lowest) {
  let below = lowest + gap;
  for (const label of [...labels].sort((a, b) => b.y - a.y)) {
    label.y = Math.min(label.y, below - gap);
    below = label.y;
  }
}

export function draw(picture, chart, now) {
  const width = picture.clientWidth || 640;
  const height = picture.clientHeight || 300;
  const letter = Math.max(14, Math.min(20, height / 18));
  const left = letter * 3.2;
  const right = width - letter * (chart.bands.length ? 7.4 : 1.5);
  const top = letter * 1.4;
  const bottom = height - letter * 1.9;
  const x = (share) => left + Math.min(1, Math.max(0, share)) * (right - left);
  const y = (share) => bottom - share * (bottom - top);
  const last = chart.points.findLast((point) => !point.withdrawn && point.y);
  const parts = [];
  const labels = [];

  for (const band of chart.bands) {
    const middle = last ? (last.y[0] + last.y[1]) / 2 : -1;
    const inside = middle >= band.low && middle <= band.high;
    const box = { x: left, y: y(band.high), width: right - left, height: y(band.low) - y(band.high) };
    parts.push(shape("rect", { ...box, class: inside ? "band inside" : "band" }));
    labels.push({ y: (y(band.low) + y(band.high)) / 2, text: band.label, inside });
  }
  spread(labels, letter * 1.15, bottom);
  for (const label of labels) {
    const place = { x: right + letter * 0.5, y: label.y + letter * 0.35, "font-size": letter };
    parts.push(shape("text", { ...place, class: label.inside ? "label inside" : "label" }, label.text));
  }
  if (chart.limits) {
    for (const limit of chart.limits) {
      parts.push(shape("path", { d: `M${left} ${y(limit)}H${right}`, class: "limit" }));
    }
  }
  for (const tick of chart.y_ticks) {
    const place = { x: left - letter * 0.5, y: y(tick.at) + letter * 0.35, "text-anchor": "end" };
    parts.push(shape("path", { d: `M${left} ${y(tick.at)}H${right}`, class: "grid" }));
    parts.push(shape("text", { ...place, class: "tick", "font-size": letter }, tick.text));
  }
  for (const tick of chart.x_ticks) {
    const place = { x: x(tick.at), y: bottom + letter * 1.4, "text-anchor": "middle" };
    parts.push(shape("text", { ...place, class: "tick", "font-size": letter }, tick.text));
  }
  parts.push(shape("path", { d: `M${left} ${top}V${bottom}H${right}`, class: "axis" }));
  if (now >= 0 && now <= 1) {
    parts.push(shape("path", { d: `M${x(now)} ${top}V${bottom}`, class: "now" }));
  }
  parts.push(...readings(chart.points, x, y, top, letter));
  picture.setAttribute("viewBox", `0 0 ${width} ${height}`);
  picture.setAttribute("aria-label", inWords(chart));
  picture.replaceChildren(...parts);
}

function readings(points, x, y, top, letter) {
  const parts = [];
  const counted = points.filter((point) => point.y && !point.withdrawn);
  const middle = (point) => (y(point.y[0]) + y(point.y[1])) / 2;
  const line = counted.map((point) => `${x(point.x)} ${middle(point)}`).join("L");
  if (counted.length > 1) parts.push(shape("path", { d: `M${line}`, class: "series" }));
  for (const point of points) {
    if (!point.y) {
      const place = { x: x(point.x), y: top, "text-anchor": "middle", "font-size": letter };
      parts.push(shape("text", { ...place, class: "tick" }, "×"));
      continue;
    }
    const state = point.withdrawn ? "withdrawn" : point.open ? "open" : "counted";
    const [low, high] = point.y;
    parts.push(shape("path", { d: `M${x(point.x)} ${y(low)}V${y(high)}`, class: "spread" }));
    const dot = { cx: x(point.x), cy: middle(point), r: letter * 0.42 };
    parts.push(shape("circle", { ...dot, class: `reading ${state}` }));
  }
  return parts;
}

function inWords(chart) {
  const texts = chart.points.map((point) => point.withdrawn ? `${point.text}, taken back` : point.text);
  return texts.length ? `${chart.name}, readings in order: ${texts.join("; ")}` : `${chart.name}, no reading yet`;
}
