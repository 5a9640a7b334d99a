// The page: what is shown (which view, which block, where within it), and everything that can change that.

const job = JSON.parse(byId("job").textContent);
const own = job.views.filter((view) => !view.fixes); // the others each show a way out of a refusal
const still = window.matchMedia("(prefers-reduced-motion: reduce)");
const figures = { turning: new Figure(byId("figure")) };
figures.mill = MillFigure.beside(figures.turning);
let figure = figures.turning;
const trace = new Trace(byId("trace"));
const books = new Map(); // view -> what is worked out of it once
const now = { view: null, step: 0, motion: null, share: 1, playing: 0, turns: 0, visit: -1 };

function bookOf(view) {
  if (!books.has(view)) {
    const { blocks, heads } = readBlocks(view);
    const done = [0];
    blocks.forEach((block, k) => {
      if (k) done.push(Math.max(done[k - 1], ...block.motions.map((m) => m + 1)));
    });
    const rows = blocks.map((block) => ({ fixed: leastOf(view, block, 0), work: leastOf(view, block, 4) }));
    let time = 0;
    const until = blocks.map(
      (block) => (time += block.motions.reduce((sum, m) => sum + ((view.moments[m] || [0])[0] || 0), 0)),
    );
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
  let z = null,
    x = null;
  for (let k = 0; k <= step; k++) {
    for (const m of blocks[k].motions) if (goes(view.motions[m])) [z, x] = view.motions[m].slice(5, 7);
  }
  return z === null || x === null ? null : [z, x];
}

function toolAt(view, step) {
  const { done } = bookOf(view),
    last = view.motions[done[step] - 1];
  return last ? last[2] : 0;
}

function nearHere(view, tool, tip) {
  const row = now.motion === null ? null : view.near[now.motion];
  if (row && row.length > 4 && row[6] === now.share && (now.share < 1 || now.toWork)) {
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
  const row = view.motions[motion],
    body = view.tools[row[2]] && view.tools[row[2]].bodies.find((b) => b.cuts);
  if (!body) return "";
  const count = isArc(row) ? 12 : 1;
  let path = "",
    last = placeOn(row, 0);
  for (let k = 1; k <= count; k++) {
    const next = placeOn(row, (share * k) / count);
    path += polygonPath(hull([...moved(body.corners, last), ...moved(body.corners, next)]));
    last = next;
  }
  return path;
}

// ---- showing it

function seenNow() {
  const { view, step, motion, share } = now,
    { blocks, done, states } = bookOf(view);
  const tool = toolAt(view, step),
    tip = tipAt(view, step, motion, share),
    block = blocks[step];
  if (view.kind === "mill") return seenOnMill(view, { line: block.line, tool, tip });
  const seen = {
    line: block.line,
    tool,
    tip,
    swept: "",
    rapid: false,
    near: nearHere(view, tool, tip),
    pieces: null,
    before: null,
  };
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

// the last motion begun says how far across the cutter is, and which side of the work is on top
function seenOnMill(view, seen) {
  const { motion, share, step } = now,
    { done, blocks } = bookOf(view),
    within = motion !== null && share < 1;
  const count = within ? motion : done[step],
    last = within ? motion : count - 1;
  const row = view.across[last],
    part = within ? share : 1;
  let across = row && row[1] !== null && row[0] !== null ? row[0] + part * (row[1] - row[0]) : row ? row[1] : null;
  for (let k = last; across === null && k >= 0; k--) across = view.across[k][1];
  const angle = last >= 0 ? view.angles[last] : view.work.up;
  return { ...seen, line: blocks[step].line, across, angle, ...millCuts(view, count, within ? motion : null, share) };
}

function show({ quiet = false } = {}) {
  const { view, step } = now,
    book = bookOf(view),
    block = book.blocks[step];
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

const setText = (id, text) => {
  byId(id).textContent = text;
};

function tell(view, block, step, book) {
  const words = blockWords(view, block),
    head = book.heads[block.head];
  const where = block.line ? `line ${block.line}, block ${step} of ${book.blocks.length - 1}, ${head.text}` : head.text;
  setText("now-where", where);
  byId("now-code").firstElementChild.textContent = block.text || "\u00a0";
  setText("now-does", words);
  setText("now-remarks", stopsAt(view, block) ? block.remarks.join("\n") : "");
  tellStop(view, block, step, book);
  byId("slider").setAttribute("aria-valuetext", `${where}: ${words}`);
  setText("figure-words", `${where}: ${words}`);
}

const stopsAt = (view, block) =>
  block.motions.some((m) => ["stop", "optional stop", "tool"].includes(view.motions[m][1]));
const waitsAt = (view, block) => block.motions.some((m) => ["stop", "optional stop"].includes(view.motions[m][1]));
const nextStop = (view, step) => bookOf(view).blocks.findIndex((block, k) => k > step && waitsAt(view, block));

// what the control shows at a stop: the last remark before it, as it stands on one line there
function shownAt(block) {
  const last = block.remarks.findLastIndex((words) => !words.startsWith(".. "));
  return last < 0 ? "no words" : block.remarks.slice(last).join(" ").replace(/^- /, "").replaceAll(" .. ", " ");
}

function tellStop(view, block, step, book) {
  const here = waitsAt(view, block),
    k = here ? step : nextStop(view, step),
    left = book.until[book.until.length - 1] - book.until[step];
  setText("time-left", view.motions.length ? `time left ${seconds(left)}, stops not counted` : "");
  byId("stop-words").classList.toggle("here", here);
  if (!view.motions.length) return setText("stop-words", "");
  if (k < 0) return setText("stop-words", "no stop before the end");
  const { line } = book.blocks[k],
    away = book.until[k] - book.until[step];
  const words = shownAt(book.blocks[k]);
  return setText("stop-words", here ? `STOP: ${words}` : `next stop in ${seconds(away)}, line ${line}: ${words}`);
}

function tellPlace(seen) {
  const { view, step } = now,
    book = bookOf(view),
    row = book.rows[step],
    facts = [];
  if (view.kind === "end-on") return byId("now-facts").replaceChildren();
  if (view.kind === "mill") facts.push(...millFacts(view, seen));
  else if (seen.tip)
    facts.push(["tool", `${seen.tool} at diameter ${length(2 * seen.tip[1])}, Z ${length(seen.tip[0])}`]);
  else facts.push(["tool", "its place has not been said yet"]);
  if (row.fixed) facts.push(["nearest in block", nearWords(...row.fixed.slice(0, 3)), row.fixed[0] < view.clearance]);
  if (row.work) facts.push(["", nearWords(...row.work.slice(0, 3)), row.work[0] < 0]);
  if (seen.near && !(row.fixed && Math.abs(row.fixed[0] - seen.near.distance) < 1e-5))
    facts.push([
      "here",
      nearWords(seen.near.distance, seen.near.body, seen.near.obstacle),
      seen.near.distance < view.clearance,
    ]);
  if (view.unchecked) facts.push(["not checked", view.unchecked]);
  const took = book.until[step] - (step ? book.until[step - 1] : 0),
    whole = book.until[book.until.length - 1];
  facts.push([
    "time",
    `${seconds(took)}; ${seconds(book.until[step])} gone, ${seconds(whole - book.until[step])} left of ${seconds(whole)}, stops not counted`,
  ]);
  for (const f of findingsOf(view, book.blocks[step].line)) facts.push(["found", f.what, true]);
  const list = byId("now-facts");
  list.replaceChildren();
  for (const [name, text, bad] of facts) {
    list.append(
      Object.assign(document.createElement("dt"), { textContent: name }),
      Object.assign(document.createElement("dd"), { textContent: text, className: bad ? "bad" : "" }),
    );
  }
}

function millFacts(view, seen) {
  const across = seen.across === null ? "" : `, Y ${length(seen.across)}`;
  const place = seen.tip
    ? `${seen.tool} at X ${length(seen.tip[0])}${across}, Z ${length(seen.tip[1])}`
    : "its place has not been said yet";
  return [
    ["tool", place],
    ["work", upWords(view, seen.angle)],
  ];
}

const findingsOf = (view, line) => (line ? view.findings.filter((f) => f.line === line) : []);

// what is nearest in a block, the work or what stands still
const nearOf = ({ fixed: held, work }) => (work && held ? (work[0] < held[0] ? work : held) : held || work);

function speak(block) {
  if (now.playing) return;
  const { view, step } = now,
    near = nearOf(bookOf(view).rows[step]);
  const close = near ? ` Nearest ${nearWords(...near.slice(0, 3))}${uncheckedWords([view])}.` : "";
  setText("spoken", `${block.line ? `Line ${block.line}. ` : ""}${blockWords(view, block)}${close}`);
}

// once it has come to rest: browsers refuse an address that changes all the time
function remember() {
  clearTimeout(now.resting);
  now.resting = setTimeout(() => {
    try {
      history.replaceState(null, "", `#${now.view.key}/${now.step}`);
    } catch {
      /* a browser that keeps no address of a file on disk shows the page all the same */
    }
  }, 300);
}

// ---- the text

function writeText(view) {
  const { blocks, heads } = bookOf(view),
    box = byId("text"),
    steps = new Map(blocks.map((b, k) => [b.line, k]));
  const headings = new Set(heads.map((h) => h.line));
  box.replaceChildren();
  setText("program-name", view.file ? `${view.file}, ${view.lines.length} lines` : "no program");
  let after = blocks.length - 1;
  const rows = view.lines.map((text, k) => {
    const line = k + 1,
      row = document.createElement("div");
    row.id = `line-${line}`;
    row.setAttribute("role", "option");
    row.className = [
      headings.has(line) ? "heading" : steps.has(line) ? "" : "remark",
      findingsOf(view, line).length ? "hit" : "",
      view.unread && line >= view.unread ? "unread" : "",
    ]
      .join(" ")
      .trim();
    const count = Object.assign(document.createElement("span"), { className: "line-number", textContent: line });
    row.append(count, Object.assign(document.createElement("span"), { textContent: text || "\u00a0" }));
    return row;
  });
  for (let k = rows.length; k >= 1; k--) {
    // a remark leads to the block after it
    if (steps.has(k)) after = steps.get(k);
    rows[k - 1].dataset.step = after;
  }
  box.append(...rows);
  now.marked = 0;
}

function mark(block) {
  const box = byId("text"),
    old = box.querySelector("[aria-selected=true]"),
    row = block.line ? byId(`line-${block.line}`) : null;
  if (old) old.setAttribute("aria-selected", "false");
  const stepOf = (k) => Number(box.children[k].dataset.step);
  while (now.marked < box.children.length && stepOf(now.marked) <= now.step)
    box.children[now.marked++].classList.add("done");
  while (now.marked > 0 && stepOf(now.marked - 1) > now.step) box.children[--now.marked].classList.remove("done");
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

function go(step, { motion = null, share = 1, quiet = false, toWork = false } = {}) {
  setText("no-such", "");
  const { blocks } = bookOf(now.view),
    block = blocks[(now.step = Math.min(Math.max(step, 0), blocks.length - 1))];
  now.motion = motion !== null ? motion : block.motions.length ? block.motions[block.motions.length - 1] : null;
  now.share = share;
  now.toWork = toWork; // the work is what is looked at, where something else is as near
  show({ quiet });
}

function goNear(step) {
  const near = nearOf(bookOf(now.view).rows[step]);
  go(step, near ? { motion: near[3], share: near[4] } : {});
}

function goPass(way) {
  const { heads, blocks } = bookOf(now.view),
    starts = [0, ...heads.map((h) => h.block).filter(Boolean), blocks.length - 1];
  const to = way > 0 ? starts.find((s) => s > now.step) : starts.findLast((s) => s < now.step);
  if (to !== undefined) go(to);
}

function goStop() {
  const k = nextStop(now.view, now.step);
  if (k >= 0) go(k);
}

// "N700" is the block that says it, "812" that line of the text; true where there is one
function goTo(text) {
  const [, label, digits] = /^\s*(N?)\s*0*(\d+)\s*$/i.exec(text) || [];
  if (!digits) return false;
  const rows = now.view.lines,
    line = label ? rows.findIndex((row) => new RegExp(`^\\s*N0*${digits}(?!\\d)`, "i").test(row)) + 1 : Number(digits);
  if (line < 1 || line > rows.length) return false;
  go(Number(byId(`line-${line}`).dataset.step));
  return true;
}

// a line of the text and, if known, the tool's place then
function goLine(line, tip) {
  const { blocks } = bookOf(now.view),
    step = blocks.findIndex((b) => b.line === line);
  if (step < 0) return go(blocks.length - 1);
  let best = { away: Infinity };
  for (const m of tip ? blocks[step].motions : []) {
    if (!isKnown(now.view.motions[m])) continue;
    const near = nearestOn(now.view.motions[m], tip);
    if (near.away < best.away) best = { ...near, motion: m };
  }
  return go(step, best.motion === undefined ? {} : { motion: best.motion, share: best.share });
}

// where it hits, one after another; where it clears, the nearest of all, then the nearest to what stands still
function goNearest() {
  const { view } = now,
    places = view.findings.length ? view.findings : [view.closest, view.fixed].filter(Boolean);
  if (!places.length) return;
  now.visit = (now.visit + 1) % places.length;
  const place = places[now.visit],
    at = place.at || place.tip;
  goLine(place.line, place.tip);
  const row = now.motion === null ? null : view.near[now.motion];
  if (row && place.obstacle === "work" && row.length > 4 && !view.findings.length)
    go(now.step, { motion: now.motion, share: row[6], toWork: true });
  if (at) lookAt(at, Math.abs(place.amount || place.distance || 0));
}

function lookAt(at, size) {
  const [width] = figure.size,
    whole = (now.view.whole[2] - now.view.whole[0]) / width;
  figure.centre = [...at];
  figure.scale = Math.min(Math.max(size / 45, whole / 9), whole);
  figure.paint();
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
    if (tab.dataset.key === view.key) byId("tabs").scrollLeft = tab.offsetLeft - byId("tabs").offsetLeft - 20;
  }
  byId("slider").max = blocks.length - 1;
  setText("look-beside", view.right === "tailstock" ? "centre" : view.right || "end-on");
  setText("go-nearest", view.findings.length ? "where it hits" : "nearest");
  setText(
    "figure-title",
    view.kind === "mill"
      ? `${view.title}: from the side, the tip on the right, and end-on from the tip`
      : view.kind === "end-on"
        ? `${view.title}: end-on at the shoulder, from the tip`
      : `${view.title}: half-section, the headstock on the left, the ${view.right} on the right`,
  );
  figure = figures[view.kind] || figures.turning;
  figure.show(view);
  figure.look(view.whole);
  for (const id of ["along", "now"]) byId(id).classList.toggle("gone", view.kind === "end-on");
  trace.show(view, blocks, heads, rows);
  setText("trace-title", traceWords(view));
  writeText(view);
  why(view);
  verdict();
  now.step = 0;
  if (step || !(view.findings.length || view.fixes)) go(step);
  else goNearest();
}

// goes with every least distance: what is not known of the tools, and so was not checked
const uncheckedWords = (views) => {
  const words = new Set(views.map((v) => v.unchecked).filter(Boolean));
  return [...words].map((w) => `; ${w}`).join("");
};

// the job's own view of the same setting
const ownOf = (view) => job.views.find((v) => !v.fixes && view.fixes && v.number === view.number) || view;

function traceWords(view) {
  const near = view.fixed,
    title = "Distance to the nearest of what stands still, block by block";
  if (!near) return title + uncheckedWords([view]);
  const least = nearWords(near.distance, near.body, near.obstacle);
  return `${title}; the least ${least}, line ${near.line}${uncheckedWords([view])}`;
}

const add = (parent, name, text = "") =>
  parent.appendChild(Object.assign(document.createElement(name), { textContent: text }));

// why it may not be cut: the first problem at once, the others on demand
function why(view) {
  const box = byId("why"),
    [first, ...others] = job.problems;
  box.replaceChildren();
  box.hidden = !first && !view.note;
  box.classList.toggle("calm", !first);
  box.classList.toggle("after", Boolean(view.fixes));
  if (view.note) add(box, "p", view.note).className = "note";
  if (first) tellProblem(box, first);
  if (!others.length) return;
  const rest = add(box, "details");
  add(rest, "summary", `${others.length} more`);
  for (const problem of others) tellProblem(rest, problem);
}

function tellProblem(box, problem) {
  add(box, "h2", problem.what);
  const rows = add(box, "dl"),
    at = own.find((v) => problem.line && v.file === problem.file);
  add(rows, "dt", "in");
  const where = add(rows, "dd");
  if (at) {
    const button = Object.assign(add(where, "button", problem.where), { type: "button" });
    button.addEventListener("click", () => {
      if (now.view !== at) choose(at);
      goLine(problem.line);
    });
  } else where.textContent = problem.where;
  for (const name of ["given", "allowed"]) if (problem[name]) [add(rows, "dt", name), add(rows, "dd", problem[name])];
  if (!problem.fix.length) return;
  const shown = problem.fix.some((way) => job.views.some((v) => v.fixes === way));
  if (shown) add(box, "p", "what would clear it; press one to see the job so changed:");
  else add(box, "p", problem.fix.length > 1 ? "what would clear it:" : "what to do:");
  const list = add(box, "ul");
  for (const way of problem.fix) fixRow(add(list, "li"), way);
}

// a way out; where its job was worked out too, a button that shows it
function fixRow(row, way) {
  const after = job.views.find((v) => v.fixes === way);
  if (!after) {
    row.textContent = way;
    return;
  }
  const button = Object.assign(document.createElement("button"), { type: "button", textContent: way });
  button.setAttribute("aria-pressed", String(after === now.view));
  button.addEventListener("click", () => {
    const { key } = after;
    choose(key === now.view.key ? ownOf(after) : after);
    byId("why")
      .querySelectorAll("button")
      .forEach((b) => {
        if (b.textContent === way) b.focus();
      });
  });
  row.append(button);
}

function setUnit(unit) {
  units.now = unit;
  for (const name of ["mm", "in"]) byId(`unit-${name}`).setAttribute("aria-pressed", String(name === unit));
  if (!now.view) return;
  keep(`unit-${job.name}`, unit);
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
  } catch {
    /* nothing is kept where a browser keeps nothing */
  }
}

function kept(name, fallback) {
  try {
    return localStorage.getItem(`endshake-${name}`) || fallback;
  } catch {
    return fallback;
  }
}

const leastOfView = (view) => view.closest || view.fixed;

// of the setting shown; of the whole job too where another comes nearer
function verdict() {
  const least = own.filter(leastOfView).sort((a, b) => leastOfView(a).distance - leastOfView(b).distance)[0];
  const shown = now.view && leastOfView(now.view) ? now.view : least;
  if (job.problems.length) return setText("verdict", "may NOT be cut");
  if (!least) return setText("verdict", "nothing moves");
  const words = (view) => nearWords(...["distance", "body", "obstacle"].map((name) => leastOfView(view)[name]));
  const unchecked = uncheckedWords(own),
    where = own.length > 1 ? ` in ${shown.title}` : "";
  const other = words(least) === words(shown) ? "" : `; at the nearest in the whole job ${words(least)}, in ${least.title}`;
  const held = shown.fixed && shown.fixed.obstacle !== shown.closest?.obstacle ? shown.fixed : null;
  const apart = held && shown.closest ? `, ${length(held.distance)} from the ${held.obstacle}` : "";
  const clear = `clears ${unchecked ? "what was checked" : "everything"}: ${words(shown)} at the nearest${where}${apart}`;
  return setText("verdict", clear + other + unchecked);
}
