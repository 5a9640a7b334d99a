// The one step that finds room for labels in the drawing, in pixels: none over another, over a leader, or under a button.
// As in the printed picture, the most needed come first, and each takes the nearest free place.

const measuring = document.createElement("canvas").getContext("2d");

function textWidth(text, bold) {
  measuring.font = `${bold ? "700 " : ""}14px "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif`;
  return measuring.measureText(text).width + 4;
}

const boxesMeet = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];

// whether a straight line has anything in common with a box (Liang, Barsky, ACM TOG 3, 1984)
function lineMeetsBox([[x0, y0], [x1, y1]], [left, top, right, bottom]) {
  let low = 0,
    high = 1;
  for (const [step, start, least, most] of [
    [x1 - x0, x0, left, right],
    [y1 - y0, y0, top, bottom],
  ]) {
    if (!step) {
      if (start <= least || start >= most) return false;
      continue;
    }
    const [a, b] = [(least - start) / step, (most - start) / step].sort((p, q) => p - q);
    low = Math.max(low, a);
    high = Math.min(high, b);
    if (low >= high) return false;
  }
  return true;
}

// labels of a row moved apart, each as little as may be, in their order: their middles, or null where there is no room
function spread(wanted, widths, low, high) {
  if (widths.reduce((a, b) => a + b, 0) > high - low) return null;
  const groups = [];
  const joined = (members) => {
    let wide = 0,
      sum = 0;
    for (const k of members) {
      sum += wanted[k] - widths[k] / 2 - wide;
      wide += widths[k];
    }
    return { left: Math.min(Math.max(sum / members.length, low), high - wide), wide, members };
  };
  wanted.forEach((_, k) => {
    let group = joined([k]);
    while (groups.length && groups.at(-1).left + groups.at(-1).wide > group.left)
      group = joined([...groups.pop().members, ...group.members]);
    groups.push(group);
  });
  const places = [];
  for (const { left, members } of groups)
    members.reduce((at, k) => {
      places[k] = at + widths[k] / 2;
      return at + widths[k];
    }, left);
  return places;
}

class Labels {
  // parent: a group whose unit is the pixel. taken: boxes of what lies over the drawing
  constructor(parent, [width, height], taken) {
    Object.assign(this, { parent, width, height, taken: [...taken], leaders: [] });
  }

  boxOf(text, style, x, y) {
    const half = textWidth(text, /strong|near|hit/.test(style)) / 2;
    return [x - half, y - 13, x + half, y + 5];
  }

  isFree(box) {
    return (
      box[0] >= 2 && box[1] >= 2 && box[2] <= this.width - 2 && box[3] <= this.height - 2 &&
      !this.taken.some((other) => boxesMeet(box, other)) &&
      !this.leaders.some((line) => lineMeetsBox(line, box))
    ); // prettier-ignore
  }

  // letters about x on the line y, where they are free; whether they were
  write(text, style, x, y) {
    const box = this.boxOf(text, style, x, y);
    if (!this.isFree(box)) return false;
    this.taken.push(box);
    make(
      this.parent,
      "text",
      { x: number(x), y: number(y), "font-size": 14, "text-anchor": "middle", class: `halo ${style}` },
      text,
    );
    return true;
  }

  // letters in the first of some places [x, y] that is free
  writeAt(text, style, places) {
    return places.some(([x, y]) => this.write(text, style, x, y));
  }

  // letters as near to a place as there is room, with a leader to it; first: the way to look first, radians from the right
  lead(text, style, [x, y], first = 0.6) {
    const half = textWidth(text, true) / 2;
    for (let away = 14; away < 400; away += 10) {
      for (let k = 0; k < 16; k++) {
        const way = first + ((k % 2 ? -1 : 1) * Math.ceil(k / 2) * Math.PI) / 8,
          at = [x + Math.cos(way) * (away + half), y - Math.sin(way) * (away + 9)];
        const foot = [Math.min(Math.max(x, at[0] - 0.6 * half), at[0] + 0.6 * half), at[1] > y ? at[1] - 13 : at[1] + 5];
        const line = [foot, [x, y]];
        if (this.taken.some((box) => lineMeetsBox(line, box))) continue;
        if (!this.write(text, style, ...at)) continue;
        this.line("leader", line);
        return;
      }
    }
  }

  line(style, points) {
    make(this.parent, "path", { class: style, d: `M${points.map((p) => p.map(number).join(" ")).join("L")}` });
    for (let k = 1; k < points.length; k++) this.leaders.push([points[k - 1], points[k]]);
  }

  // names in a row below y, each under its stretch [name, from, to, style]; where all have no room, those of other
  // settings are left out first, then the shortest
  row(stretches, y) {
    const most = [...stretches];
    for (;;) {
      const widths = most.map(([name, , , style]) => textWidth(name, style === "strong") + 8),
        middles = most.map(([, from, to]) => (from + to) / 2);
      const places = spread(middles, widths, 4, this.width - 4);
      if (places) {
        most.forEach(([name, , , style], k) => {
          const at = places[k],
            x = Math.min(Math.max(middles[k], at - widths[k] / 3), at + widths[k] / 3);
          if (this.write(name, style, at, y + 26)) this.line("leader thin", [[middles[k], y + 5], [x, y + 12]]); // prettier-ignore
        });
        return;
      }
      const own = (row) => (row[3] === "strong" ? 1e6 : 0) + row[2] - row[1],
        least = most.reduce((a, b) => (own(b) < own(a) ? b : a));
      most.splice(most.indexOf(least), 1);
    }
  }
}
