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
      if (style === "solid")
        for (const more of ["solid-hatch", "solid-edge"]) make(layer, "path", { class: more, d: path });
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
    this.letter();
  }

  write(z, x, text, style = "", anchor = "middle", rise = 0) {
    const size = 14 * this.scale;
    make(
      this.letters,
      "text",
      {
        x: number(z),
        y: number(-x - rise * this.scale),
        "font-size": size,
        "text-anchor": anchor,
        class: `halo ${style}`,
      },
      text,
    );
  }

  letter() {
    this.letters.replaceChildren();
    const { view, scale: s } = this,
      [low, , high] = this.corners;
    for (const [name, polygon] of view.obstacles) this.nameOf(name, polygon);
    const top = high[1] - 22 * s;
    this.write(low[0] + 8 * s, top, `\u2190 ${view.kind === "mill" ? "collet" : "headstock"}`, "soft-text", "start");
    if (0 > low[0] && 0 < high[0])
      this.write(5 * s, low[1] + 8 * s, view.kind === "mill" ? "X 0" : "Z 0", "near-text", "start");
    this.write(high[0] - 8 * s, low[1] + 8 * s, `${view.right} \u2192`, "soft-text", "end");
    this.bar(low);
    this.sections(low, high);
    this.nearLetters();
    this.marks();
  }

  nameOf(name, polygon) {
    const seen = clipped(polygon, this.corners);
    if (seen.length < 3) return;
    const z = seen.map((p) => p[0]),
      x = seen.map((p) => p[1]);
    const wide = (Math.max(...z) - Math.min(...z)) / this.scale,
      high = (Math.max(...x) - Math.min(...x)) / this.scale;
    const middle = [z, x].map((v) => v.reduce((a, b) => a + b) / v.length);
    if (wide > 8 * name.length && high > 18) this.write(middle[0], middle[1], name, "", "middle", -5);
  }

  // a bar of a round length to measure by
  bar([left, low]) {
    const unit = units.now === "in" ? perInch : 1,
      wish = (110 * this.scale) / unit,
      power = 10 ** Math.floor(Math.log10(wish));
    const round = [5, 2, 1].map((m) => m * power).find((v) => v <= wish);
    const z = left + 12 * this.scale,
      x = low + 12 * this.scale,
      high = x + 6 * this.scale,
      end = z + round * unit;
    const digits = Math.max(0, -Math.floor(Math.log10(round) + 1e-9));
    make(this.letters, "path", { class: "bar", d: `M${z} ${-high}V${-x}H${end}V${-high}` });
    this.write(end + 6 * this.scale, x, `${fixed(round, digits)} ${units.now}`, "", "start");
  }

  nearLetters() {
    const near = this.seen && this.seen.near;
    if (!near) return;
    const into = near.distance < 0,
      s = this.scale;
    for (const [z, x] of [near.onBody, near.onOther]) {
      make(this.letters, "circle", { class: "near-spot", cx: z, cy: -x, r: 3 * s });
    }
    const [low, , high] = this.corners,
      [z, x] = near.onOther.map((v, k) => (v + near.onBody[k]) / 2);
    if (z < low[0] || z > high[0] || x < low[1] || x > high[1]) return;
    const text = into ? `${length(-near.distance)} INTO the ${near.obstacle}` : length(near.distance);
    const room = (9 * text.length + 20) * s,
      style = into ? "hit-text" : "near-text";
    if (high[0] - low[0] < 2 * room) this.write((low[0] + high[0]) / 2, x, text, style, "middle", 16);
    else if (z > high[0] - room) this.write(z - 12 * s, x, text, style, "end", 14);
    else this.write(z + 12 * s, x, text, style, "start", 14);
  }

  // a ring about what was found in the block in hand, small crosses on all else that was found
  marks() {
    const s = this.scale,
      line = this.seen ? this.seen.line : 0;
    for (const finding of this.view.findings) {
      const at = finding.at || finding.tip;
      if (!at) continue;
      const [z, y] = [at[0], -at[1]],
        r = 4 * s;
      if (finding.line === line) make(this.letters, "circle", { class: "hit-ring", cx: z, cy: y, r: 14 * s });
      else
        make(this.letters, "path", {
          class: "hit-small",
          d: `M${z - r} ${y - r}L${z + r} ${y + r}M${z - r} ${y + r}L${z + r} ${y - r}`,
        });
    }
  }

  // the sections in a row below the work, those of this setting in strong letters
  sections(low, high) {
    const s = this.scale,
      x = low[1] + 40 * s;
    for (const [name, start, end, mine] of this.view.sections) {
      const from = Math.max(start, low[0]),
        to = Math.min(end, high[0]);
      if (to <= from) continue;
      make(this.letters, "path", {
        class: "span",
        d: `M${from} ${-x - 5 * s}V${-x + 5 * s}M${from} ${-x}H${to}M${to} ${-x - 5 * s}V${-x + 5 * s}`,
      });
      if ((to - from) / s > 7.5 * name.length)
        this.write((from + to) / 2, x + 5 * s, name, mine ? "strong" : "soft-text");
    }
  }
}
