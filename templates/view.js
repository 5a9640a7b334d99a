// The page: what is shown (which view, which block, where within it), and everything that can change that.

const job = JSON.parse(byId("job").textContent);
const still = window.matchMedia("(prefers-reduced-motion: reduce)");
const figure = new Figure(byId("figure"), byId("figure-words"));
const trace = new Trace(byId("trace"));
const books = new Map(); // view -> what is worked out of it once
const now = { view: null, step: 0, motion: null, share: 1, playing: 0, visit: -1 };

function bookOf(view) {
  if (!books.has(view)) {
    const { blocks, heads } = readBlocks(view);
    const done = [0];
    blocks.forEach((block, k) => { if (k) done.push(Math.max(done[k - 1], ...block.motions.map((m) => m + 1))); });
    const rows = blocks.map((block) => ({ fixed: leastOf(view, block, 0), work: leastOf(view, block, 4) }));
    let time = 0;
    const until = blocks.map((block) => (time += block.motions.reduce((sum, m) => sum + ((view.moments[m] || [0])[0] || 0), 0)));
    books.set(view, { blocks, heads, done, rows, until, states: metalStates(view) });
  }
  return books.get(view);
}

// the least distance in a block: [distance, body, of what, motion, share, points]; from 0 to what stands still, from 4 the work
function leastOf(view, block, from) {
  let best = null;
  for (const m of block.motions) {
    const row = view.near[m];
    if (!row || row[from] === null || row[from] === undefined || (best && best[0] <= row[from])) continue;
    best = from ? [row[4], row[5], "work", m, row[6], row.slice(7)] : [row[0], row[1], row[2], m, row[3], null];
  }
  return best;
}

// ---- where the tool is

function tipAt(view, step, motion, share) {
  const { blocks } = bookOf(view);
  if (motion !== null && isKnown(view.motions[motion])) return placeOn(view.motions[motion], share);
  let z = null, x = null;
  for (let k = 0; k <= step; k++) {
    for (const m of blocks[k].motions) if (goes(view.motions[m])) [z, x] = view.motions[m].slice(5, 7);
  }
  return z === null || x === null ? null : [z, x];
}

function toolAt(view, step) {
  const { done } = bookOf(view), last = view.motions[done[step] - 1];
  return last ? last[2] : 0;
}

function nearHere(view, tool, tip) {
  const row = now.motion === null ? null : view.near[now.motion];
  if (row && row.length > 4 && row[6] === now.share && now.share < 1) {
    return { distance: row[4], body: row[5], obstacle: "work", onBody: row.slice(7, 9), onOther: row.slice(9, 11) };
  }
  let best = null;
  if (!tip || !view.tools[tool]) return best;
  for (const body of view.tools[tool].bodies) {
    for (const [obstacle, polygon] of view.obstacles) {
      const found = between(moved(body.core, tip), body.round, polygon);
      if (!best || found.distance < best.distance) best = { ...found, body: body.name, obstacle };
    }
  }
  return best;
}

function sweptPath(view, motion, share) {
  const row = view.motions[motion], body = view.tools[row[2]] && view.tools[row[2]].bodies.find((b) => b.cuts);
  if (!body) return "";
  const count = isArc(row) ? 12 : 1;
  let path = "", last = placeOn(row, 0);
  for (let k = 1; k <= count; k++) {
    const next = placeOn(row, share * k / count);
    path += polygonPath(hull([...moved(body.corners, last), ...moved(body.corners, next)]));
    last = next;
  }
  return path;
}

// ---- showing it

function seenNow() {
  const { view, step, motion, share } = now, { blocks, done, states } = bookOf(view);
  const tool = toolAt(view, step), tip = tipAt(view, step, motion, share), block = blocks[step];
  const seen = { line: block.line, tool, tip, swept: "", rapid: false, near: nearHere(view, tool, tip), pieces: null, before: null };
  if (!states.length) return seen;
  if (motion !== null && share < 1) {
    seen.pieces = states[motion];
    if (states[motion + 1] !== states[motion]) seen.swept = sweptPath(view, motion, share);
    return seen;
  }
  seen.pieces = states[step === blocks.length - 1 ? states.length - 1 : done[step]];
  if (block.motions.length) seen.before = states[block.motions[0]];
  seen.rapid = block.motions.some((m) => view.motions[m][1] === "rapid" && states[m] !== states[m + 1]);
  return seen;
}

function show({ quiet = false } = {}) {
  const { view, step } = now, book = bookOf(view), block = book.blocks[step];
  const seen = seenNow();
  figure.draw(seen);
  if (now.painted !== `${view.key}/${step}/${units.now}`) {
    now.painted = `${view.key}/${step}/${units.now}`;
    figure.drawPaths(book.done[step], block);
    byId("slider").value = step;
    trace.at(step);
    tell(view, block, step, book);
    tellPlace(seen);
    mark(block);
    remember();
  } else tellPlace(seen);
  if (!quiet) speak(block);
}

const setText = (id, text) => { byId(id).textContent = text; };

function tell(view, block, step, book) {
  const words = blockWords(view, block), head = book.heads[block.head];
  const where = block.line ? `line ${block.line}, block ${step} of ${book.blocks.length - 1}, ${head.text}` : head.text;
  setText("now-where", where);
  byId("now-code").firstElementChild.textContent = block.text || "\u00a0";
  setText("now-does", words);
  const stops = block.motions.some((m) => ["stop", "optional stop", "tool"].includes(view.motions[m][1]));
  setText("now-remarks", stops ? block.remarks.join("\n") : "");
  byId("slider").setAttribute("aria-valuetext", `${where}: ${words}`);
  setText("figure-words", `${where}: ${words}`);
}

function tellPlace(seen) {
  const { view, step } = now, book = bookOf(view), row = book.rows[step], facts = [];
  if (seen.tip) facts.push(["tool", `${seen.tool} at diameter ${length(2 * seen.tip[1])}, Z ${length(seen.tip[0])}`]);
  else facts.push(["tool", "its place has not been said yet"]);
  if (row.fixed) facts.push(["nearest in block", nearWords(...row.fixed.slice(0, 3)), row.fixed[0] < view.clearance]);
  if (row.work) facts.push(["", nearWords(...row.work.slice(0, 3)), row.work[0] < 0]);
  if (seen.near && !(row.fixed && Math.abs(row.fixed[0] - seen.near.distance) < 1e-5)) facts.push(["here", nearWords(seen.near.distance, seen.near.body, seen.near.obstacle), seen.near.distance < view.clearance]);
  const took = book.until[step] - (step ? book.until[step - 1] : 0);
  facts.push(["time", `${seconds(took)}; ${seconds(book.until[step])} of ${seconds(book.until[book.until.length - 1])}, stops not counted`]);
  for (const f of findingsOf(view, book.blocks[step].line)) facts.push(["found", f.what, true]);
  const list = byId("now-facts");
  list.replaceChildren();
  for (const [name, text, bad] of facts) {
    list.append(Object.assign(document.createElement("dt"), { textContent: name }),
      Object.assign(document.createElement("dd"), { textContent: text, className: bad ? "bad" : "" }));
  }
}

const findingsOf = (view, line) => (line ? view.findings.filter((f) => f.line === line) : []);

function speak(block) {
  if (now.playing) return;
  const { view, step } = now, row = bookOf(view).rows[step];
  const near = row.fixed ? ` Nearest ${nearWords(...row.fixed.slice(0, 3))}.` : "";
  setText("spoken", `${block.line ? `Line ${block.line}. ` : ""}${blockWords(view, block)}${near}`);
}

function remember() {
  try {
    history.replaceState(null, "", `#${now.view.key}/${now.step}`);
  } catch { /* a browser that keeps no address of a file on disk shows the page all the same */ }
}

// ---- the text

function writeText(view) {
  const { blocks, heads } = bookOf(view), box = byId("text"), steps = new Map(blocks.map((b, k) => [b.line, k]));
  const headings = new Set(heads.map((h) => h.line));
  box.replaceChildren();
  setText("program-name", view.file ? `${view.file}, ${view.lines.length} lines` : "no program");
  let after = blocks.length - 1;
  const rows = view.lines.map((text, k) => {
    const line = k + 1, row = document.createElement("div");
    row.id = `line-${line}`;
    row.setAttribute("role", "option");
    row.className = [headings.has(line) ? "heading" : steps.has(line) ? "" : "remark",
      findingsOf(view, line).length ? "hit" : "", view.unread && line >= view.unread ? "unread" : ""].join(" ").trim();
    const count = Object.assign(document.createElement("span"), { className: "line-number", textContent: line });
    row.append(count, Object.assign(document.createElement("span"), { textContent: text || "\u00a0" }));
    return row;
  });
  for (let k = rows.length; k >= 1; k--) { // a remark leads to the block after it
    if (steps.has(k)) after = steps.get(k);
    rows[k - 1].dataset.step = after;
  }
  box.append(...rows);
}

function mark(block) {
  const box = byId("text"), old = box.querySelector("[aria-selected=true]"), row = block.line ? byId(`line-${block.line}`) : null;
  if (old) old.setAttribute("aria-selected", "false");
  for (const element of box.children) element.classList.toggle("done", Number(element.dataset.step) <= now.step);
  if (!row) {
    box.removeAttribute("aria-activedescendant");
    box.scrollTop = 0;
    return;
  }
  row.setAttribute("aria-selected", "true");
  box.setAttribute("aria-activedescendant", row.id);
  box.scrollTop = row.offsetTop - box.clientHeight / 2 + row.offsetHeight;
}

// ---- going somewhere

function go(step, { motion = null, share = 1, quiet = false } = {}) {
  const { blocks } = bookOf(now.view), block = blocks[now.step = Math.min(Math.max(step, 0), blocks.length - 1)];
  now.motion = motion !== null ? motion : block.motions.length ? block.motions[block.motions.length - 1] : null;
  now.share = share;
  show({ quiet });
}

function goNear(step) {
  const row = bookOf(now.view).rows[step], near = row.work && row.fixed ? (row.work[0] < row.fixed[0] ? row.work : row.fixed) : row.fixed || row.work;
  go(step, near ? { motion: near[3], share: near[4] } : {});
}

function goPass(way) {
  const { heads, blocks } = bookOf(now.view), starts = [0, ...heads.map((h) => h.block).filter(Boolean), blocks.length - 1];
  const to = way > 0 ? starts.find((s) => s > now.step) : starts.findLast((s) => s < now.step);
  if (to !== undefined) go(to);
}

// a line of the text and, if known, the tool's place then
function goLine(line, tip) {
  const { blocks } = bookOf(now.view), step = blocks.findIndex((b) => b.line === line);
  if (step < 0) return go(blocks.length - 1);
  let best = { away: Infinity };
  for (const m of tip ? blocks[step].motions : []) {
    if (!isKnown(now.view.motions[m])) continue;
    const near = nearestOn(now.view.motions[m], tip);
    if (near.away < best.away) best = { ...near, motion: m };
  }
  return go(step, best.motion === undefined ? {} : { motion: best.motion, share: best.share });
}

// where it hits, one after another; where it clears, the nearest to what stands still, then the nearest of all
function goNearest() {
  const { view } = now, places = view.findings.length ? view.findings : [view.fixed, view.closest].filter(Boolean);
  if (!places.length) return;
  now.visit = (now.visit + 1) % places.length;
  const place = places[now.visit], at = place.at || place.tip;
  goLine(place.line, place.tip);
  const row = now.motion === null ? null : view.near[now.motion];
  if (row && place.obstacle === "work" && row.length > 4 && !view.findings.length) go(now.step, { motion: now.motion, share: row[6] });
  if (at) lookAt(at, Math.abs(place.amount || place.distance || 0));
}

function lookAt(at, size) {
  const [width] = figure.size, whole = (now.view.whole[2] - now.view.whole[0]) / width;
  figure.centre = [...at];
  figure.scale = Math.min(Math.max(size / 45, whole / 9), whole);
  figure.paint();
}

// ---- playing

const SPEEDS = [1, 5, 20, 60, 200];
const HOLD = { stop: 1.2, "optional stop": 0.3, tool: 0.5 };

function play(on) {
  now.playing = on ? now.playing + 1 : 0;
  byId("play").setAttribute("aria-pressed", String(on));
  byId("play").textContent = on ? "stop" : "play";
  if (!on) return show();
  if (now.step >= bookOf(now.view).blocks.length - 1) go(0, { quiet: true });
  return still.matches ? playByBlock(now.playing) : playOn(now.playing, performance.now());
}

function playByBlock(turn) {
  setTimeout(() => {
    if (turn !== now.playing) return;
    if (now.step >= bookOf(now.view).blocks.length - 1) return play(false);
    go(now.step + 1, { quiet: true });
    playByBlock(turn);
  }, 700);
}

function playOn(turn, since) {
  requestAnimationFrame((time) => {
    if (turn !== now.playing) return;
    advance(Math.min((time - since) / 1000, 0.25) * Number(byId("speed").value));
    if (now.playing) playOn(turn, time);
  });
}

function takes(view, motion) {
  const speed = Number(byId("speed").value), kind = view.motions[motion][1];
  return Math.max((view.moments[motion] || [0])[0] || 0, speed * (HOLD[kind] || 0.05));
}

function advance(left) {
  const { view } = now, { blocks } = bookOf(view);
  while (left > 0) {
    if (now.motion !== null && now.share < 1) {
      const whole = takes(view, now.motion), rest = (1 - now.share) * whole;
      now.share = rest <= left ? 1 : now.share + left / whole;
      left -= Math.min(rest, left);
      if (now.share < 1) break;
    }
    const list = blocks[now.step].motions, next = list[list.indexOf(now.motion) + 1];
    if (now.motion !== null && next !== undefined) [now.motion, now.share] = [next, 0];
    else if (now.step >= blocks.length - 1) return play(false);
    else {
      now.step += 1;
      now.motion = blocks[now.step].motions.length ? blocks[now.step].motions[0] : null;
      now.share = now.motion === null ? 1 : 0;
      if (now.motion === null) left -= 0.02 * Number(byId("speed").value);
    }
  }
  show({ quiet: true });
  if (byId("look-tool").getAttribute("aria-pressed") === "true") follow();
  return null;
}

function follow() {
  const tip = tipAt(now.view, now.step, now.motion, now.share);
  if (!tip) return;
  const [low, , high] = figure.corners;
  if (tip.some((v, k) => v < low[k] + 0.2 * (high[k] - low[k]) || v > high[k] - 0.2 * (high[k] - low[k]))) {
    figure.centre = tip;
    figure.paint();
  }
}

// ---- what is chosen

function choose(view, step = 0) {
  if (now.playing) play(false);
  now.view = view;
  now.visit = -1;
  now.painted = "";
  const { blocks, heads, rows } = bookOf(view);
  for (const tab of byId("tabs").children) {
    tab.setAttribute("aria-selected", String(tab.dataset.key === view.key));
    tab.tabIndex = tab.dataset.key === ownOf(view).key ? 0 : -1;
  }
  byId("slider").max = blocks.length - 1;
  setText("look-beside", view.right === "tailstock" ? "centre" : "free end");
  setText("go-nearest", view.findings.length ? "where it hits" : "nearest");
  setText("figure-title", `${view.title}: half-section, the headstock on the left, the ${view.right} on the right`);
  figure.show(view);
  figure.look(view.whole);
  trace.show(view, blocks, heads, rows);
  setText("trace-title", traceWords(view));
  writeText(view);
  why(view);
  now.step = 0;
  if (step || !(view.findings.length || view.mends)) go(step);
  else goNearest();
}

// the job's own view of the same setting
const ownOf = (view) => job.views.find((v) => !v.mends && v.number === view.number && v.kind === view.kind) || view;

function traceWords(view) {
  const near = view.fixed, title = "Distance to the nearest of what stands still, block by block";
  return near ? `${title}; the least ${nearWords(near.distance, near.body, near.obstacle)}, line ${near.line}` : title;
}

function why(view) {
  const box = byId("why");
  box.replaceChildren();
  box.hidden = !job.problems.length && !view.note;
  const add = (parent, name, text = "") => parent.appendChild(Object.assign(document.createElement(name), { textContent: text }));
  if (view.note) add(box, "p", view.note).className = "note";
  box.classList.toggle("after", Boolean(view.mends));
  for (const problem of job.problems) {
    add(box, "h2", problem.what);
    const rows = add(box, "dl");
    for (const [name, text] of [["in", problem.where], ["given", problem.given], ["allowed", problem.allowed]]) {
      if (text) [add(rows, "dt", name), add(rows, "dd", text)];
    }
    if (problem.mend.length) {
      const shown = problem.mend.some((way) => job.views.some((v) => v.mends === way));
      add(box, "p", shown ? "what would clear it; press one to see the job so changed:" : "what would clear it:");
      const list = add(box, "ul");
      for (const way of problem.mend) mendRow(add(list, "li"), way);
    }
  }
}

// a way out; where its job was worked out too, a button that shows it
function mendRow(row, way) {
  const after = job.views.find((v) => v.mends === way);
  if (!after) {
    row.textContent = way;
    return;
  }
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: way });
  button.setAttribute("aria-pressed", String(after === now.view));
  button.addEventListener("click", () => {
    const { key } = after;
    choose(key === now.view.key ? ownOf(after) : after);
    byId("why").querySelectorAll("button").forEach((b) => { if (b.textContent === way) b.focus(); });
  });
  row.append(button);
}

function setUnit(unit) {
  units.now = unit;
  for (const name of ["mm", "in"]) byId(`unit-${name}`).setAttribute("aria-pressed", String(name === unit));
  keep("unit", unit);
  if (!now.view) return;
  trace.paint();
  setText("trace-title", traceWords(now.view));
  figure.letter();
  now.painted = "";
  show({ quiet: true });
  verdict();
}

function setTheme(theme) {
  if (theme === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = theme;
  byId("theme").value = theme;
  keep("theme", theme);
}

function keep(name, value) {
  try {
    localStorage.setItem(`endshake-${name}`, value);
  } catch { /* nothing is kept where a browser keeps nothing */ }
}

function kept(name, fallback) {
  try {
    return localStorage.getItem(`endshake-${name}`) || fallback;
  } catch {
    return fallback;
  }
}

function verdict() {
  const fixed = own.map((v) => v.fixed || v.closest).filter(Boolean).sort((a, b) => a.distance - b.distance)[0];
  const clear = fixed ? `clears everything: ${nearWords(fixed.distance, fixed.body, fixed.obstacle)} at the nearest` : "nothing moves";
  setText("verdict", job.problems.length ? "may NOT be cut" : clear);
}

// ---- hands

function pick(event) {
  const place = figure.placeAt(event), within = (event.pointerType === "touch" ? 24 : 10) * figure.scale;
  const near = figure.waysNear(place, within);
  if (!near.length) return;
  const { blocks } = bookOf(now.view), stepOf = (m) => blocks.findIndex((b) => b.motions.includes(m));
  const found = near.filter((n) => n[2] <= near[0][2] + 2 * figure.scale).map(([m, share]) => ({ step: stepOf(m), motion: m, share }));
  found.sort((a, b) => a.step - b.step);
  const { step, motion, share } = found.find((f) => f.step > now.step) || found[0];
  go(step, { motion, share });
}

function handleFigure() {
  const svg = byId("figure"), fingers = new Map();
  let far = 0, spread = 0;
  svg.addEventListener("pointerdown", (event) => {
    svg.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (fingers.size === 1) far = 0;
    spread = 0;
  });
  svg.addEventListener("pointermove", (event) => {
    const last = fingers.get(event.pointerId);
    if (!last) return;
    const [dx, dy] = [event.clientX - last[0], event.clientY - last[1]];
    far += Math.abs(dx) + Math.abs(dy);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
    if (fingers.size === 2) {
      const [a, b] = [...fingers.values()], wide = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (spread) figure.zoom(spread / wide, figure.placeAt({ clientX: (a[0] + b[0]) / 2, clientY: (a[1] + b[1]) / 2 }));
      spread = wide;
      figure.pan(dx / 2, dy / 2);
    } else if (far > 6) figure.pan(dx, dy);
  });
  svg.addEventListener("pointerup", (event) => {
    if (fingers.size === 1 && far <= 6) pick(event);
    fingers.delete(event.pointerId);
    spread = 0;
  });
  svg.addEventListener("pointercancel", (event) => fingers.delete(event.pointerId));
  svg.addEventListener("wheel", (event) => {
    event.preventDefault();
    figure.zoom(1.0015 ** event.deltaY, figure.placeAt(event));
  }, { passive: false });
}

const changeSpeed = (way) => {
  const k = SPEEDS.indexOf(Number(byId("speed").value)) + way;
  if (SPEEDS[k]) byId("speed").value = SPEEDS[k];
};

const dark = () => getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim() === "#12191e";

const ACTS = {
  ArrowLeft: () => go(now.step - 1), ArrowRight: () => go(now.step + 1), PageUp: () => goPass(-1), PageDown: () => goPass(1),
  Home: () => go(0), End: () => go(Infinity), " ": () => play(!now.playing), "[": () => changeSpeed(-1), "]": () => changeSpeed(1),
  n: goNearest, "+": () => figure.zoom(0.8), "=": () => figure.zoom(0.8), "-": () => figure.zoom(1.25),
  w: () => figure.look(now.view.whole), c: () => figure.look(now.view.beside), t: () => lookTool(),
  u: () => setUnit(units.now === "mm" ? "in" : "mm"), d: () => setTheme(dark() ? "light" : "dark"),
  "?": () => { byId("help").open = true; byId("help").querySelector("summary").focus(); byId("help").scrollIntoView(); },
};
const SHIFTED = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] };

function lookTool() {
  const button = byId("look-tool"), on = button.getAttribute("aria-pressed") !== "true";
  button.setAttribute("aria-pressed", String(on));
  const tip = tipAt(now.view, now.step, now.motion, now.share);
  if (on && tip) lookAt(tip, 0);
}

function press(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("select")) return;
  const plain = event.key.length === 1, { target } = event;
  if (plain && !byId("keys").checked) return;
  if (event.key === " " && target.closest("button, summary, input:not([type=range])")) return;
  if (target.getAttribute("role") === "tab" && /^Arrow/.test(event.key)) return;
  let act = ACTS[plain ? event.key.toLowerCase() : event.key];
  if (event.shiftKey && SHIFTED[event.key]) act = () => figure.pan(...SHIFTED[event.key]);
  else if (target.id === "text" && event.key === "ArrowUp") act = ACTS.ArrowLeft;
  else if (target.id === "text" && event.key === "ArrowDown") act = ACTS.ArrowRight;
  else if (/^[1-9]$/.test(event.key) && own[event.key - 1]) act = () => choose(own[event.key - 1]);
  if (!act) return;
  event.preventDefault();
  if (now.playing && event.key !== " " && !"[]tudwc+-=?".includes(event.key.toLowerCase())) play(false);
  act();
}

const own = job.views.filter((view) => !view.mends); // the job's own; the others show a way out

function makeTabs() {
  own.forEach((view) => {
    const tab = Object.assign(document.createElement("button"), { type: "button", textContent: view.title });
    tab.setAttribute("role", "tab");
    tab.setAttribute("aria-controls", "bench");
    tab.dataset.key = view.key;
    tab.addEventListener("click", () => choose(view));
    byId("tabs").append(tab);
  });
  byId("tabs").addEventListener("keydown", (event) => {
    const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (!way) return;
    event.preventDefault();
    const k = (own.indexOf(ownOf(now.view)) + way + own.length) % own.length;
    choose(own[k]);
    byId("tabs").children[k].focus();
  });
}

const SIGNS = [
  ["work", "the work, cut through above the axis"], ["wanted", "what is wanted after this setting"],
  ["stock", "the stock before it"], ["solid", "centre, carrier and all that must not be touched"],
  ["nose", "the tool's cutting end"], ["holder", "its holder and post"], ["cut", "moves at feed; thick: the block in hand"],
  ["rapid", "rapid moves"], ["taken", "what this block takes off"], ["overlap", "one thing inside another: a hit"],
  ["far-line", "on the trace: nearest to what stands still"], ["work-dot", "on the trace: nearer to the work than to that"],
  ["least", "on the trace: what must stay clear"],
];

function makeSigns() {
  for (const [style, words] of SIGNS) {
    const row = document.createElement("p");
    row.className = "sign";
    byId("signs").append(row);
    const svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("viewBox", "0 0 52 26");
    svg.setAttribute("aria-hidden", "true");
    row.append(svg, words);
    const flat = ["wanted", "stock", "cut", "rapid", "far-line", "least"].includes(style);
    const shape = style === "work-dot" ? "M26 8L31 13L26 18L21 13Z" : flat ? "M3 13H49" : "M4 4H48V22H4Z";
    make(svg, "path", { class: style, d: shape });
    if (style === "work" || style === "solid") for (const more of ["hatch", "edge"]) make(svg, "path", { class: `${style}-${more}`, d: shape });
  }
}

function listen() {
  const on = (id, act) => byId(id).addEventListener("click", act), halt = (act) => () => { play(false); act(); };
  on("go-first", halt(ACTS.Home));
  on("go-last", halt(ACTS.End));
  on("go-back", halt(ACTS.ArrowLeft));
  on("go-on", halt(ACTS.ArrowRight));
  on("go-pass-back", halt(ACTS.PageUp));
  on("go-pass-on", halt(ACTS.PageDown));
  on("go-nearest", halt(goNearest));
  on("play", () => play(!now.playing));
  on("look-whole", ACTS.w);
  on("look-beside", ACTS.c);
  on("look-tool", lookTool);
  on("look-in", ACTS["+"]);
  on("look-out", ACTS["-"]);
  on("unit-mm", () => setUnit("mm"));
  on("unit-in", () => setUnit("in"));
  byId("theme").addEventListener("change", (event) => setTheme(event.target.value));
  byId("slider").addEventListener("input", (event) => { play(false); go(Number(event.target.value)); });
  byId("text").addEventListener("click", (event) => {
    const row = event.target.closest("[data-step]");
    if (row) halt(() => go(Number(row.dataset.step)))();
  });
  byId("trace").addEventListener("click", (event) => halt(() => goNear(trace.pick(event)))());
  document.addEventListener("keydown", press);
  window.addEventListener("resize", () => { figure.paint(); trace.paint(); });
  handleFigure();
}

function start() {
  setTheme(kept("theme", "auto"));
  setUnit(kept("unit", job.unit));
  makeTabs();
  makeSigns();
  listen();
  verdict();
  if (!job.views.length) return;
  const [key, step] = location.hash.slice(1).split("/");
  choose(job.views.find((v) => v.key === key) || job.views[0], Number(step) || 0);
}

start();
