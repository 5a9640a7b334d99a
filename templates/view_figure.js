// The drawing: one picture in mm that is looked at through a window (centre and mm to the pixel), and letters over it.

const SVG = "http://www.w3.org/2000/svg";
const byId = (id) => document.getElementById(id);

function make(parent, name, attributes = {}, text = "") {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (text) element.textContent = text;
  parent.append(element);
  return element;
}

const HATCHES = { work: [9, 45], solid: [11, -45], hit: [7, 90], taken: [6, 0] };

/** The lines of a program by what they are: done and still to do, in air and in metal, and the block in hand. */
function makePaths(layer) {
  const found = {};
  for (const name of ["rapid ahead", "cut ahead", "rapid", "cut", "here"])
    found[name] = make(layer, "path", { class: name });
  found.here.id = "path-here";
  return found;
}

class Figure {
  constructor(svg) {
    this.svg = svg;
    this.centre = [0, 0];
    this.scale = 0.1; // mm to the pixel
    this.seen = null;
    this.patterns = [];
    const defs = make(svg, "defs");
    for (const [name, [gap, angle]] of Object.entries(HATCHES)) {
      const pattern = make(defs, "pattern", {
        id: `hatch-${name}`,
        patternUnits: "userSpaceOnUse",
        width: gap,
        height: gap,
      });
      make(pattern, "line", { x1: 0, y1: 0, x2: gap, y2: 0, class: `hatch-${name}-line` });
      this.patterns.push([pattern, angle]);
    }
    const clip = make(defs, "clipPath", { id: "above" });
    make(clip, "rect", { x: -1e5, y: -1e5, width: 2e5, height: 1e5 });
    this.layers = {};
    for (const name of ["back", "metal", "air", "holes", "solids", "paths", "tool", "over"]) {
      this.layers[name] = make(svg, "g", { class: `layer-${name}` });
    }
    this.letters = make(svg, "g", { class: "letters" });
  }

  // everything that stays through a program
  show(view) {
    this.view = view;
    for (const layer of Object.values(this.layers)) layer.replaceChildren();
    const { back, metal, air, holes, solids, paths, tool, over } = this.layers;
    this.back = make(back, "path", { class: "work-back" });
    this.metal = ["work", "work-hatch", "work-edge"].map((name) => make(metal, "path", { class: name }));
    this.metal[2].id = "metal";
    this.air = ["", "scale(1,-1)"].map((turned) =>
      make(make(air, "g", { "clip-path": "url(#above)", transform: turned }), "path", { class: "air" }),
    );
    this.taken = make(air, "path", { class: "taken" });
    make(holes, "path", { class: "wanted", d: view.wanted });
    for (const [style, path] of view.still) {
      const layer = style === "hole" || style === "stock" ? holes : solids;
      make(layer, "path", { class: style, d: path });
      if (style === "solid" || style === "work")
        for (const more of ["hatch", "edge"]) make(layer, "path", { class: `${style}-${more}`, d: path });
    }
    this.axis = make(solids, "path", { class: "axis" });
    this.datum = make(solids, "path", { class: "datum" });
    this.paths = makePaths(paths);
    this.tools = {};
    for (const [n, data] of Object.entries(view.tools)) {
      const group = (this.tools[n] = make(tool, "g", { class: "tool", visibility: "hidden" }));
      for (const body of [...data.bodies].reverse())
        make(group, "path", { class: body.cuts ? "nose" : "holder", d: body.path });
    }
    this.overlap = make(over, "path", { class: "overlap", id: "overlap" });
    this.overlapHatch = make(over, "path", { class: "overlap-hatch" });
    this.nearLine = make(over, "path", { class: "near-line" });
    this.paint();
  }

  // ---- the window

  get size() {
    return [this.svg.clientWidth || 600, this.svg.clientHeight || 400];
  }

  // show a box [z, x, z, x] whole
  look([z0, x0, z1, x1]) {
    const [width, height] = this.size;
    this.scale = Math.max((z1 - z0) / width, (x1 - x0) / height);
    this.centre = [(z0 + z1) / 2, (x0 + x1) / 2];
    this.paint();
  }

  zoom(factor, at = null) {
    const scale = Math.min(Math.max(this.scale * factor, 2e-5), 3);
    if (at) this.centre = this.centre.map((c, k) => at[k] + ((c - at[k]) * scale) / this.scale);
    this.scale = scale;
    this.paint();
  }

  pan(right, down) {
    this.centre = [this.centre[0] - right * this.scale, this.centre[1] + down * this.scale];
    this.paint();
  }

  placeAt(event) {
    const box = this.svg.getBoundingClientRect(),
      [width, height] = this.size;
    return [
      this.centre[0] + (event.clientX - box.left - width / 2) * this.scale,
      this.centre[1] - (event.clientY - box.top - height / 2) * this.scale,
    ];
  }

  get corners() {
    const [width, height] = this.size,
      [z, x] = this.centre,
      a = (width / 2) * this.scale,
      b = (height / 2) * this.scale;
    return [
      [z - a, x - b],
      [z + a, x - b],
      [z + a, x + b],
      [z - a, x + b],
    ];
  }

  // ---- what changes from step to step

  // seen: {tool, tip, pieces (the metal), swept (paths of hulls of what is being cut), before (pieces), rapid, here, done}
  draw(seen) {
    this.seen = seen;
    const { view } = this,
      path = seen.pieces ? outlinePath(view.metal, seen.pieces) : "";
    for (const element of this.metal) element.setAttribute("d", path);
    this.back.setAttribute("d", path);
    this.back.setAttribute("transform", "scale(1,-1)");
    for (const element of this.air) element.setAttribute("d", seen.swept);
    const taken = seen.before && seen.before !== seen.pieces ? outlinePath(view.metal, seen.before) + path : "";
    this.taken.setAttribute("d", taken);
    this.taken.setAttribute("fill-rule", "evenodd");
    this.taken.setAttribute("class", seen.rapid ? "overlap" : "taken");
    for (const [n, group] of Object.entries(this.tools)) {
      const shown = Number(n) === seen.tool && seen.tip;
      group.setAttribute("visibility", shown ? "visible" : "hidden");
      if (shown) group.setAttribute("transform", `translate(${number(seen.tip[0])} ${number(-seen.tip[1])})`);
    }
    this.overlaps(seen);
    this.nearest(seen);
    this.letter();
  }

  overlaps({ tool, tip, pieces }) {
    const { view } = this,
      found = [];
    if (tip && view.tools[tool]) {
      const metal = pieces ? outlineCorners(view.metal, pieces) : [];
      for (const body of view.tools[tool].bodies) {
        const outline = moved(body.corners, tip);
        const targets = view.obstacles.map(([, polygon]) => polygon);
        if (!body.cuts && metal.length) targets.push([...metal].reverse());
        for (const target of targets) {
          const common = clipped(target, outline);
          if (common.length > 2 && Math.abs(area(common)) > 1e-7) found.push(common);
        }
      }
    }
    const path = found.map(polygonPath).join("");
    this.overlap.setAttribute("d", path);
    this.overlapHatch.setAttribute("d", path);
  }

  nearest({ near }) {
    this.nearLine.setAttribute(
      "d",
      near ? `M${near.onBody[0]} ${-near.onBody[1]}L${near.onOther[0]} ${-near.onOther[1]}` : "",
    );
  }

  // the ways of all motions, those done apart from those ahead, and the block in hand
  drawPaths(done, block) {
    const parts = { rapid: "", cut: "", "rapid ahead": "", "cut ahead": "" };
    this.view.motions.forEach((motion, k) => {
      if (!isKnown(motion)) return;
      const name = motion[1] === "rapid" ? "rapid" : "cut";
      parts[k < done ? name : `${name} ahead`] += this.way(motion);
    });
    for (const [name, path] of Object.entries(parts)) this.paths[name].setAttribute("d", path);
    const here = block.motions.map((k) => this.view.motions[k]).filter(isKnown);
    this.paths.here.setAttribute("d", here.map((m) => this.way(m)).join(""));
    this.paths.here.setAttribute("class", here.length && here.every((m) => m[1] === "rapid") ? "here-rapid" : "here");
  }

  shiftOf(motion) {
    return this.view.tools[motion[2]] ? this.view.tools[motion[2]].nose : [0, 0];
  }

  way(motion) {
    return motionPath(motion, this.shiftOf(motion));
  }

  // the motions whose way lies near a place, the nearest first: [motion, share of its way, distance]
  waysNear(place, within) {
    const found = [];
    this.view.motions.forEach((motion, k) => {
      if (!isKnown(motion)) return;
      const [dz, dx] = this.shiftOf(motion);
      const { away, share } = nearestOn(motion, [place[0] - dz, place[1] - dx]);
      if (away <= within) found.push([k, share, away]);
    });
    return found.sort((a, b) => a[2] - b[2]);
  }

  // ---- letters, always of one size

  paint() {
    if (!this.view) return;
    const [width, height] = this.size,
      [z, x] = this.centre,
      s = this.scale;
    this.svg.setAttribute("viewBox", `${z - (width / 2) * s} ${-x - (height / 2) * s} ${width * s} ${height * s}`);
    for (const [pattern, angle] of this.patterns)
      pattern.setAttribute("patternTransform", `rotate(${angle}) scale(${s})`);
    const [low, , high] = this.corners;
    this.axis.setAttribute("d", `M${low[0]} 0H${high[0]}`);
    this.datum.setAttribute("d", `M0 ${-low[1]}V${-high[1]}`);
    this.datum.setAttribute("class", this.view.kind === "end-on" ? "axis" : "datum");
    this.letter();
  }

  // pixels from the left upper corner of a place in mm
  pixel([z, x]) {
    const [low, , high] = this.corners;
    return [(z - low[0]) / this.scale, (high[1] - x) / this.scale];
  }

  // buttons that lie over the drawing, in its pixels
  get covered() {
    const own = this.svg.getBoundingClientRect();
    return [...byId("looks").children].map((button) => {
      const box = button.getBoundingClientRect();
      return [box.left - own.left - 4, box.top - own.top - 4, box.right - own.left + 4, box.bottom - own.top + 4];
    });
  }

  letter() {
    this.letters.replaceChildren();
    const { view, scale: s } = this,
      [low, , high] = this.corners,
      [width, height] = this.size;
    this.letters.setAttribute("transform", `translate(${low[0]} ${-high[1]}) scale(${s})`);
    const labels = (this.labels = new Labels(this.letters, this.size, this.covered));
    this.bar(height - 12);
    this.ends(labels, width, height);
    if (view.kind !== "end-on" && 0 > low[0] && 0 < high[0]) {
      const [x] = this.pixel([0, 0]);
      labels.writeAt(view.kind === "mill" ? "X 0" : "Z 0", "near-text", [24, -24].map((off) => [x + off, height - 8])); // prettier-ignore
    }
    this.marks();
    this.nearLetters();
    for (const [words, mm, z, x] of view.named || [])
      labels.lead(`${words} ${length(mm)}`, "strong", this.pixel([z, x]), Math.atan2(x, z));
    this.sections(low, high, height);
    for (const [name, polygon] of view.obstacles) this.nameOf(name, polygon);
  }

  // which side is which
  ends(labels, width, height) {
    const { kind, right } = this.view,
      left = `\u2190 ${kind === "mill" ? "collet" : "headstock"}`;
    if (kind === "end-on") return;
    labels.write(left, "soft-text", 8 + textWidth(left) / 2, 22);
    const words = `${right} \u2192`;
    labels.write(words, "soft-text", width - 8 - textWidth(words) / 2, height - 8);
  }

  // a name in the middle of what is seen of a thing, or above or below that
  nameOf(name, polygon) {
    const seen = clipped(polygon, this.corners);
    if (seen.length < 3) return;
    const x = seen.map((p) => this.pixel(p)[0]),
      y = seen.map((p) => this.pixel(p)[1]);
    const [left, right, top, bottom] = [Math.min(...x), Math.max(...x), Math.min(...y), Math.max(...y)];
    if (right - left < textWidth(name) || bottom - top < 20) return;
    const middle = [x, y].map((v) => v.reduce((a, b) => a + b) / v.length),
      shares = [0, -0.2, 0.2, -0.35, 0.35];
    const places = shares.flatMap((down) =>
      shares.map((across) => [middle[0] + across * (right - left), middle[1] + 5 + down * (bottom - top)]),
    );
    const within = ([a, b]) =>
      a - textWidth(name) / 2 >= left && a + textWidth(name) / 2 <= right && b - 13 >= top && b + 4 <= bottom;
    this.labels.writeAt(name, "", places.filter(within));
  }

  // a bar of a round length to measure by
  bar(y) {
    const unit = units.now === "in" ? perInch : 1,
      wish = (Math.min(110, this.size[0] / 4) * this.scale) / unit,
      power = 10 ** Math.floor(Math.log10(wish));
    const round = [5, 2, 1].map((m) => m * power).find((v) => v <= wish),
      end = 12 + (round * unit) / this.scale;
    const digits = Math.max(0, -Math.floor(Math.log10(round) + 1e-9)),
      text = `${fixed(round, digits)} ${units.now}`;
    make(this.letters, "path", { class: "bar", d: `M12 ${y - 6}V${y}H${end}V${y - 6}` });
    this.labels.taken.push([8, y - 8, end + 4, y + 2]);
    this.labels.write(text, "", end + 6 + textWidth(text) / 2, y);
  }

  nearLetters() {
    const near = this.seen && this.seen.near;
    if (!near) return;
    const into = near.distance < 0,
      ends = [near.onBody, near.onOther].map((p) => this.pixel(p));
    for (const [cx, cy] of ends) make(this.letters, "circle", { class: "near-spot", cx, cy, r: 3 });
    const [x, y] = [0, 1].map((k) => (ends[0][k] + ends[1][k]) / 2),
      [width, height] = this.size;
    if (x < 0 || x > width || y < 0 || y > height) return;
    const text = into ? `${length(-near.distance)} INTO the ${near.obstacle}` : length(near.distance);
    this.labels.lead(text, into ? "hit-text" : "near-text", [x, y]);
  }

  // a ring about what was found in the block in hand, small crosses on all else that was found
  marks() {
    const line = this.seen ? this.seen.line : 0,
      r = 4;
    for (const finding of this.view.findings) {
      const at = finding.at || finding.tip;
      if (!at) continue;
      const [x, y] = this.pixel(at);
      this.labels.taken.push([x - 2 * r, y - 2 * r, x + 2 * r, y + 2 * r]);
      if (finding.line === line) make(this.letters, "circle", { class: "hit-ring", cx: x, cy: y, r: 14 });
      else
        make(this.letters, "path", {
          class: "hit-small",
          d: `M${x - r} ${y - r}L${x + r} ${y + r}M${x - r} ${y + r}L${x + r} ${y - r}`,
        });
    }
  }

  // the sections in a row below the work, those of this setting in strong letters
  sections(low, high, height) {
    const y = height - 62,
      named = [];
    for (const [name, start, end, mine] of this.view.sections) {
      if (Math.min(end, high[0]) <= Math.max(start, low[0])) continue;
      const [from, to] = [Math.max(start, low[0]), Math.min(end, high[0])].map((z) => this.pixel([z, 0])[0]);
      make(this.letters, "path", { class: "span", d: `M${from} ${y - 5}V${y + 5}M${from} ${y}H${to}M${to} ${y - 5}V${y + 5}` }); // prettier-ignore
      named.push([name, from, to, mine ? "strong" : "soft-text"]);
    }
    named.sort((a, b) => a[1] - b[1]);
    this.labels.row(named, y);
  }
}
