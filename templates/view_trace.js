// The trace: for every block how near anything comes to what stands still, over the whole program.

const TICKS = { mm: [0, 0.1, 0.5, 2, 10, 50], in: [0, 0.0254, 0.127, 0.508, 2.54, 12.7, 50.8] };

class Trace {
  constructor(svg) {
    this.svg = svg;
  }

  // rows: for each block {fixed, work}: [distance, body, obstacle, motion, share] or null
  show(view, blocks, heads, rows) {
    Object.assign(this, { view, blocks, heads, rows });
    this.paint();
  }

  get size() {
    return [this.svg.clientWidth || 600, this.svg.clientHeight || 110];
  }

  // small distances get the room: the scale is even near zero and in tens beyond
  down(mm) {
    const bend = (v) => Math.asinh(v / 0.1),
      low = bend(this.low),
      high = bend(this.high);
    return this.size[1] - 16 - ((this.size[1] - 22) * (bend(Math.max(mm, this.low)) - low)) / (high - low);
  }

  across(step) {
    return this.left + ((this.size[0] - this.left - this.right) * step) / Math.max(this.blocks.length - 1, 1);
  }

  paint() {
    if (!this.view) return;
    const { svg, rows } = this,
      [width, height] = this.size,
      all = rows.flatMap((r) => [r.fixed, r.work]).filter(Boolean);
    svg.querySelectorAll(":scope > :not(title)").forEach((e) => e.remove());
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    Object.assign(this, {
      left: 52,
      right: 8,
      low: Math.min(0, ...all.map((r) => r[0])) * 1.2,
      high: Math.max(1, ...all.map((r) => r[0])),
    });
    this.heads.forEach((head, k) => {
      if (k % 2 || !head.block) return;
      const next = this.heads[k + 1],
        from = this.across(head.block - 0.5);
      make(svg, "rect", {
        class: "band",
        x: from,
        y: 4,
        width: this.across((next ? next.block : this.blocks.length) - 0.5) - from,
        height: height - 20,
      });
    });
    let last = Infinity;
    for (const tick of TICKS[units.now]) {
      const y = this.down(tick);
      if (tick <= this.high && last - y >= 12) [last] = [y, this.grid(tick, width)];
    }
    this.line("least", this.view.clearance, width);
    make(svg, "path", { class: "far-line", d: this.steps() });
    rows.forEach((row, k) => this.mark(row, k));
    this.cursor = make(svg, "path", { class: "cursor" });
    const label = units.now === "in" ? "inch to the nearest" : "mm to the nearest";
    make(
      svg,
      "text",
      { x: width - this.right, y: height - 3, "font-size": 11, "text-anchor": "end", class: "soft-text" },
      `${label}, block by block`,
    );
    this.at(this.step || 0);
  }

  grid(mm, width) {
    this.line("grid", mm, width);
    const text = units.now === "in" ? String(+(mm / perInch).toFixed(3)) : String(mm);
    make(
      this.svg,
      "text",
      { x: this.left - 6, y: this.down(mm) + 4, "font-size": 11, "text-anchor": "end", class: "soft-text" },
      text,
    );
  }

  line(style, mm, width) {
    make(this.svg, "path", { class: style, d: `M${this.left} ${this.down(mm)}H${width - this.right}` });
  }

  steps() {
    let path = "",
      open = false;
    this.rows.forEach((row, k) => {
      if (row.fixed) {
        path += `${open ? "L" : "M"}${number(this.across(k - 0.5))} ${number(this.down(row.fixed[0]))}H${number(this.across(k + 0.5))}`;
      }
      open = Boolean(row.fixed);
    });
    return path;
  }

  mark(row, k) {
    const x = this.across(k);
    if (row.work) {
      const y = this.down(row.work[0]);
      make(this.svg, "path", {
        class: "work-dot",
        d: `M${x} ${y - 3.5}L${x + 3.5} ${y}L${x} ${y + 3.5}L${x - 3.5} ${y}Z`,
      });
    }
    for (const near of [row.fixed, row.work]) {
      if (near && near[0] < 0) {
        const y = this.down(near[0]);
        make(this.svg, "path", {
          class: "hit-cross",
          d: `M${x - 4} ${y - 4}L${x + 4} ${y + 4}M${x - 4} ${y + 4}L${x + 4} ${y - 4}`,
        });
      }
    }
  }

  at(step) {
    this.step = step;
    if (this.cursor) this.cursor.setAttribute("d", `M${number(this.across(step))} 2V${this.size[1] - 14}`);
  }

  // the block at a place of the screen; under a finger the lowest within its width
  pick(event) {
    const box = this.svg.getBoundingClientRect(),
      x = event.clientX - box.left;
    const share = (x - this.left) / Math.max(this.size[0] - this.left - this.right, 1);
    const middle = Math.min(Math.max(Math.round(share * (this.blocks.length - 1)), 0), this.blocks.length - 1);
    if (event.pointerType !== "touch") return middle;
    const reach = Math.ceil((10 / Math.max(this.size[0] - this.left - this.right, 1)) * this.blocks.length);
    let best = middle;
    for (let k = Math.max(middle - reach, 0); k <= Math.min(middle + reach, this.rows.length - 1); k++) {
      const least = (row) => Math.min(...[row.fixed, row.work].filter(Boolean).map((r) => r[0]), Infinity);
      if (least(this.rows[k]) < least(this.rows[best])) best = k;
    }
    return best;
  }
}
