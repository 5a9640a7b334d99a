// Hands: what pointer, fingers and keys do; and the start of it all.

function pick(event) {
  const place = figure.placeAt(event),
    within = (event.pointerType === "touch" ? 24 : 10) * figure.scale;
  const near = figure.waysNear(place, within);
  if (!near.length) return;
  const { blocks } = bookOf(now.view),
    stepOf = (m) => blocks.findIndex((b) => b.motions.includes(m));
  const found = near
    .filter((n) => n[2] <= near[0][2] + 2 * figure.scale)
    .map(([m, share]) => ({ step: stepOf(m), motion: m, share }));
  found.sort((a, b) => a.step - b.step);
  const { step, motion, share } = found.find((f) => f.step > now.step) || found[0];
  go(step, { motion, share });
}

function handleFigure() {
  const svg = byId("figure"),
    fingers = new Map();
  let far = 0,
    spread = 0;
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
      const [a, b] = [...fingers.values()],
        wide = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (spread)
        figure.zoom(spread / wide, figure.placeAt({ clientX: (a[0] + b[0]) / 2, clientY: (a[1] + b[1]) / 2 }));
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
  svg.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      figure.zoom(1.0015 ** event.deltaY, figure.placeAt(event));
    },
    { passive: false },
  );
}

const changeSpeed = (way) => {
  const k = SPEEDS.indexOf(Number(byId("speed").value)) + way;
  if (SPEEDS[k]) byId("speed").value = SPEEDS[k];
};

const dark = () => getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim() === "#12191e";

const ACTS = {
  ArrowLeft: () => go(now.step - 1),
  ArrowRight: () => go(now.step + 1),
  PageUp: () => goPass(-1),
  PageDown: () => goPass(1),
  Home: () => go(0),
  End: () => go(Infinity),
  " ": () => play(!now.playing),
  "[": () => changeSpeed(-1),
  "]": () => changeSpeed(1),
  n: goNearest,
  s: goStop,
  g: () => byId("go-to").focus(),
  "+": () => figure.zoom(0.8),
  "=": () => figure.zoom(0.8),
  "-": () => figure.zoom(1.25),
  w: () => figure.look(now.view.whole),
  c: () => figure.look(now.view.beside),
  t: () => lookTool(),
  u: () => setUnit(units.now === "mm" ? "in" : "mm"),
  d: () => setTheme(dark() ? "light" : "dark"),
  "?": () => {
    byId("help").open = true;
    byId("help").querySelector("summary").focus();
    byId("help").scrollIntoView();
  },
};
const SHIFTED = { ArrowLeft: [60, 0], ArrowRight: [-60, 0], ArrowUp: [0, 60], ArrowDown: [0, -60] };

function lookTool() {
  const button = byId("look-tool"),
    on = button.getAttribute("aria-pressed") !== "true";
  button.setAttribute("aria-pressed", String(on));
  const tip = tipAt(now.view, now.step, now.motion, now.share);
  if (on && tip) lookAt(tip, 0);
}

// what has the focus keeps only the keys that it cannot do without: a button Space, a list its arrows, the field its text
function keeps(target, key) {
  if (target.id === "go-to") return /^[\dn]$/i.test(key) || (target.value && /^(Arrow|Home$|End$)/.test(key));
  if (target.closest("select")) return /^( |ArrowUp|ArrowDown)$/.test(key);
  if (key === " ") return target.closest("button, summary, input:not([type=range])");
  return target.getAttribute("role") === "tab" && /^Arrow/.test(key);
}

function press(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const plain = event.key.length === 1,
    { target } = event;
  if (plain && !byId("keys").checked) return;
  if (keeps(target, event.key)) return;
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
  ["work", "the work, cut through above the axis"],
  ["wanted", "what is wanted after this setting"],
  ["stock", "the stock before it"],
  ["solid", "centre, carrier and all that must not be touched"],
  ["nose", "the tool's cutting end"],
  ["holder", "its holder and post"],
  ["cut", "moves at feed; thick: the block in hand"],
  ["rapid", "rapid moves"],
  ["taken", "what this block takes off"],
  ["overlap", "one thing inside another: a hit"],
  ["far-line", "on the trace: nearest to what stands still"],
  ["work-dot", "on the trace: nearer to the work than to that"],
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
    if (style === "work" || style === "solid")
      for (const more of ["hatch", "edge"]) make(svg, "path", { class: `${style}-${more}`, d: shape });
  }
}

function listen() {
  const on = (id, act) => byId(id).addEventListener("click", act),
    halt = (act) => () => {
      play(false);
      act();
    };
  on("go-first", halt(ACTS.Home));
  on("go-last", halt(ACTS.End));
  on("go-back", halt(ACTS.ArrowLeft));
  on("go-on", halt(ACTS.ArrowRight));
  on("go-pass-back", halt(ACTS.PageUp));
  on("go-pass-on", halt(ACTS.PageDown));
  on("go-nearest", halt(goNearest));
  on("go-stop", halt(goStop));
  byId("go-to").addEventListener("keydown", (event) => {
    if (event.key === "Enter")
      halt(() => {
        const found = goTo(event.target.value);
        byId("go-to").setAttribute("aria-invalid", String(!found));
        if (found) byId("slider").focus();
      })();
    if (event.key === "Escape") byId("slider").focus();
  });
  window.addEventListener("hashchange", halt(goAddress));
  on("play", () => play(!now.playing));
  on("look-whole", ACTS.w);
  on("look-beside", ACTS.c);
  on("look-tool", lookTool);
  on("look-in", ACTS["+"]);
  on("look-out", ACTS["-"]);
  on("unit-mm", () => setUnit("mm"));
  on("unit-in", () => setUnit("in"));
  byId("theme").addEventListener("change", (event) => setTheme(event.target.value));
  byId("slider").addEventListener("input", (event) => {
    play(false);
    go(Number(event.target.value));
  });
  byId("text").addEventListener("click", (event) => {
    const row = event.target.closest("[data-step]");
    if (row) halt(() => go(Number(row.dataset.step)))();
  });
  byId("trace").addEventListener("click", (event) => halt(() => goNear(trace.pick(event)))());
  document.addEventListener("keydown", press);
  // a button that is pressed by hand, or a list that was chosen from, does not keep the keys to itself
  document.addEventListener("mousedown", (event) => {
    if (event.target.closest("button")) event.preventDefault();
  });
  for (const id of ["speed", "theme"])
    byId(id).addEventListener("change", () => {
      if (!byId(id).matches(":focus-visible")) byId("slider").focus();
    });
  window.addEventListener("resize", () => {
    figure.paint();
    trace.paint();
  });
  handleFigure();
}

// an address that someone wrote: the setting, and the block within it; what the page has not is said
function goAddress() {
  const asked = location.hash.slice(1),
    [key, step = "0"] = asked.split("/"),
    found = job.views.find((v) => v.key === key),
    view = found || job.views.find((v) => v.kind === "end-on") || job.views[0];
  if (view !== now.view) choose(view, Number(step) || 0);
  else if (Number(step) >= 0) go(Number(step));
  const known = found && /^\d+$/.test(step) && Number(step) < bookOf(view).blocks.length;
  if (asked && !known) setText("no-such", `This page has no #${asked}: ${view.title}, block ${now.step}, is shown.`);
}

function start() {
  setTheme(kept("theme", "auto"));
  setUnit(kept(`unit-${job.name}`, job.unit));
  makeTabs();
  makeSigns();
  listen();
  verdict();
  if (!job.views.length) return;
  goAddress();
}

start();
