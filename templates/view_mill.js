// A program of the mill: from the side in the machine's X and Z, and beside the tip the section end-on, seen from the tip.

// ---- the floor that a flat end mill leaves, in closed form: sweeps are [x0, y0, z0, x1, y1, z1, radius]

function floorUnder([x0, y0, z0, x1, y1, z1, r], x, y) {
  const dx = x1 - x0,
    dy = y1 - y0,
    square = dx * dx + dy * dy,
    px = x - x0,
    py = y - y0;
  if (!square) return px * px + py * py <= r * r ? Math.min(z0, z1) : Infinity;
  const along = (px * dx + py * dy) / square,
    aside = px * dy - py * dx,
    room = r * r - (aside * aside) / square;
  if (room < 0) return Infinity;
  const half = Math.sqrt(room / square),
    low = Math.max(along - half, 0),
    high = Math.min(along + half, 1);
  return low > high ? Infinity : z0 + (z1 - z0) * (z1 < z0 ? high : low);
}

function floorOf(sweeps, x, y) {
  let least = Infinity;
  for (const sweep of sweeps) least = Math.min(least, floorUnder(sweep, x, y));
  return least;
}

const toMachine = ([cos, sin, about], x, z) => [about + (x - about) * cos - z * sin, (x - about) * sin + z * cos];

// the floor over the work's axis at its station x, in the work's own axes; near: about that height
function floorAt(sweeps, frame, x, y, near) {
  const [cos, sin, about] = frame;
  if (!sin) return floorOf(sweeps, x, y);
  let z = near;
  for (let k = 0; k < 3; k++) {
    const floor = floorOf(sweeps, toMachine(frame, x, z)[0], y);
    if (floor === Infinity) return Infinity;
    z = (floor - (x - about) * sin) / cos;
  }
  return z;
}

const radians = (degrees) => (degrees * Math.PI) / 180;
const turnedFrom = (angle, other) => 180 - ((((180 - angle + other) % 360) + 360) % 360);

function sectionAt(work, x) {
  for (let k = work.sections.length - 1; k >= 0; k--)
    if (work.sections[k][1] <= x && x <= work.sections[k][2]) return work.sections[k];
  return null;
}

// how far the work reaches from its axis at a station, along a ray in degrees clockwise from flat 1, seen from the tip
function radiusAt(faces, work, x, ray) {
  const section = sectionAt(work, x);
  if (!section) return 0;
  let radius = section[3];
  for (let turn = 0; turn < 2; turn++) {
    // twice: what one face left uncut beside its cut another may have taken
    for (const [angle, sweeps] of faces) {
      const way = radians(turnedFrom(ray, angle)),
        upright = Math.cos(way),
        aside = Math.sin(way);
      if (upright <= 1e-6) continue;
      let reach = radius;
      for (let k = 0; k < 8; k++) {
        const next = Math.min(radius, floorAt(sweeps, work.frame, x, reach * aside, reach * upright) / upright);
        if (Math.abs(next - reach) < 1e-12) break;
        reach = next;
      }
      radius = reach;
    }
  }
  return radius;
}

// what has been cut once some motions are done, and of one more a share: faces by angle, and holes
function millCuts(view, done, motion, share) {
  const faces = new Map(),
    bores = new Map();
  const take = (k, part) => {
    const row = view.motions[k],
      tool = view.tools[row[2]],
      [y0, y1] = view.across[k];
    if (row[1] !== "line" || !tool || !isKnown(row) || y0 === null || y1 === null) return;
    const [x, z] = placeOn(row, part),
      y = y0 + part * (y1 - y0),
      angle = view.angles[k];
    if (tool.kind === "end mill") {
      if (!faces.has(angle)) faces.set(angle, []);
      faces.get(angle).push([row[3], y0, row[4], x, y, z, tool.radius]);
    } else if (row[3] === row[5] && y0 === y1 && z < row[4]) {
      const key = [angle, row[2], x, y].join(),
        tip = Math.min(z, bores.has(key) ? bores.get(key).tip : Infinity);
      bores.set(key, { angle, x, tip, tool });
    }
  };
  for (let k = 0; k < done; k++) take(k, 1);
  if (motion !== null && share > 0) take(motion, share);
  return { faces: [...faces], bores: [...bores.values()] };
}

// where along the work its outline is looked up: closely, and on both sides of every step
function stationsOf(work, faces) {
  const found = [],
    edge = 1e-6;
  for (const [, start, end] of work.sections) {
    for (let x = start + 0.25; x < end; x += 0.25) found.push(x);
    found.push(start + edge, end - edge);
  }
  for (const [, sweeps] of faces) {
    for (const [x0, , , x1, , , r] of sweeps) {
      for (const x of [Math.min(x0, x1) - r, Math.max(x0, x1) + r]) found.push(x - 1e-4, x + 1e-4);
    }
  }
  return found.filter((x) => sectionAt(work, x)).sort((a, b) => a - b);
}

class MillFigure extends Figure {
  // the same picture and its layers, with a window of its own
  static beside(figure) {
    return Object.assign(Object.create(MillFigure.prototype), figure);
  }

  show(view) {
    this.view = view;
    this.seen = null;
    for (const layer of Object.values(this.layers)) layer.replaceChildren();
    const { back, metal, holes, solids, paths, tool, over } = this.layers;
    for (const [, polygon] of view.obstacles) {
      for (const style of ["solid", "solid-hatch", "solid-edge"])
        make(back, "path", { class: style, d: polygonPath(polygon) });
    }
    this.metal = ["work", "work-hatch", "work-edge"].map((name) => make(metal, "path", { class: name }));
    this.metal[2].id = "metal";
    this.bores = make(holes, "path", { class: "hole" });
    make(holes, "path", { class: "stock", d: view.work.sections.map((s) => this.barPath(s)).join("") });
    this.wanted = make(holes, "path", { class: "wanted" });
    this.axis = make(solids, "path", { class: "axis" });
    this.datum = make(solids, "path", { class: "datum" });
    const [low, high] = [-1.5, 1.5].map((share) => share * Math.max(...view.work.sections.map((s) => s[3])));
    make(solids, "path", { class: "wanted", d: `M${view.work.station} ${-low}V${-high}` });
    make(solids, "path", { class: "axis", d: `M${view.end_on} ${-low}V${-high}` });
    this.paths = makePaths(paths);
    this.tools = {};
    for (const [n, data] of Object.entries(view.tools)) {
      this.tools[n] = [0, 1].map(() => {
        const group = make(tool, "g", { class: "tool", visibility: "hidden" });
        for (const body of data.bodies) make(group, "path", { class: body.cuts ? "nose" : "holder", d: body.path });
        return group;
      });
    }
    this.overlap = make(over, "path", { class: "overlap", id: "overlap", d: "" });
    this.paint();
  }

  barPath([, start, end, top]) {
    const { frame } = this.view.work,
      corner = (x, z) => toMachine(frame, x, z);
    return polygonPath([corner(start, -top), corner(end, -top), corner(end, top), corner(start, top)]);
  }

  // seen: {tool, tip, across, angle, faces, bores}
  draw(seen) {
    this.seen = seen;
    const { view } = this,
      { work } = view,
      xs = stationsOf(work, seen.faces);
    const side = [
      ...xs.map((x) => toMachine(work.frame, x, radiusAt(seen.faces, work, x, seen.angle))),
      ...xs.reverse().map((x) => toMachine(work.frame, x, -radiusAt(seen.faces, work, x, seen.angle + 180))),
    ];
    const end = [];
    for (let k = 0; k < 720; k++) {
      const r = radiusAt(seen.faces, work, work.station, k / 2),
        way = radians(k / 2 - seen.angle);
      end.push([view.end_on + r * Math.sin(way), r * Math.cos(way)]);
    }
    for (const element of this.metal) element.setAttribute("d", polygonPath(side) + polygonPath(end));
    this.bores.setAttribute("d", seen.bores.map((b) => this.borePaths(b, seen.angle)).join(""));
    this.wanted.setAttribute("d", this.flats(seen.angle));
    for (const [n, groups] of Object.entries(this.tools)) {
      const shown = Number(n) === seen.tool && seen.tip;
      const places = shown ? [seen.tip, [view.end_on + (seen.across || 0), seen.tip[1]]] : [];
      groups.forEach((group, k) => {
        group.setAttribute("visibility", shown ? "visible" : "hidden");
        if (shown) group.setAttribute("transform", `translate(${number(places[k][0])} ${number(-places[k][1])})`);
      });
    }
    this.letter();
  }

  flats(angle) {
    if (!this.view.work.flats) return "";
    const [count, half] = this.view.work.flats,
      far = half / Math.cos(Math.PI / count),
      corners = [];
    for (let k = 0; k < count; k++) {
      const way = radians((360 * (k + 0.5)) / count - angle);
      corners.push([this.view.end_on + far * Math.sin(way), far * Math.cos(way)]);
    }
    return polygonPath(corners);
  }

  // a hole from the side, where it is on top or below, and end-on, where the section is looked at
  borePaths({ angle, x, tip, tool }, up) {
    const { work, end_on: middle } = this.view,
      section = sectionAt(work, x);
    if (!section) return "";
    const top = section[3],
      wide = (z) => (tool.point ? Math.min(tool.radius, ((z - tip) * tool.radius) / tool.point) : tool.radius);
    const shoulder = Math.min(tip + tool.point, top),
      corners = [
        [-wide(top), top],
        [-wide(shoulder), shoulder],
        [0, tip],
        [wide(shoulder), shoulder],
        [wide(top), top],
      ];
    let path = "";
    const turn = turnedFrom(angle, up),
      sign = Math.abs(turn) < 1e-6 ? 1 : Math.abs(turn) > 180 - 1e-6 ? -1 : 0;
    if (sign) path += polygonPath(corners.map(([u, w]) => toMachine(work.frame, x + u, sign * w)));
    if (Math.abs(x - work.station) < tool.radius) {
      const way = radians(turn),
        [cos, sin] = [Math.cos(way), Math.sin(way)];
      path += polygonPath(corners.map(([u, w]) => [middle + u * cos + w * sin, w * cos - u * sin]));
    }
    return path;
  }

  // under the end-on view, what is on top and where it is cut
  nearLetters() {
    const { work, end_on: middle } = this.view,
      most = Math.max(...work.sections.map((s) => s[3])),
      [x, y] = this.pixel([middle, -1.5 * most]);
    const lines = [
      ["from the tip,", "soft-text"],
      [`cut at X ${plainLength(work.station)}`, "soft-text"],
      ...(this.seen ? [[upWords(this.view, this.seen.angle), "strong"]] : []),
    ];
    lines.forEach(([text, style], k) => this.labels.write(text, style, x, y + 18 * (k + 1)));
  }
}

// which flat is on top, or how far the work is turned
function upWords(view, angle) {
  const hole = view.work.holes.find((h) => Math.abs(turnedFrom(h[2], angle)) < 1e-6);
  if (hole) return `${hole[0]} on top`;
  const { flats } = view.work,
    step = flats ? 360 / flats[0] : 0,
    flat = step ? angle / step + 1 : 0;
  return flats && Math.abs(flat - Math.round(flat)) < 1e-6
    ? `flat ${Math.round(flat)} on top`
    : `turned to ${fixed(angle, 1)} degrees`;
}

function millWords(view, k, cuts) {
  const [, kind, , x0, z0, x1, z1] = view.motions[k],
    [y0, y1] = view.across[k],
    to = [];
  const verb = kind === "rapid" ? "moves rapidly" : cuts ? "cuts" : "moves at feed, in air,";
  if (x1 !== null && x1 !== x0)
    to.push(`${x0 === null ? "" : x1 > x0 ? "toward the tip " : "toward the collet "}to X ${length(x1)}`);
  if (y1 !== null && y1 !== y0) to.push(`across to Y ${length(y1)}`);
  if (z1 !== null && z1 !== z0) to.push(`${z0 === null ? "" : z1 > z0 ? "up " : "down "}to Z ${length(z1)}`);
  const feed = kind === "rapid" ? "" : feedWords(view.motions[k]);
  return to.length ? `${verb} ${to.join(" and ")}${feed ? `, at ${feed}` : ""}` : "stays where it is";
}
