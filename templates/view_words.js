// Words and numbers. Every length is kept in mm and shown in the unit chosen.

const units = { now: "mm" };
const perInch = 25.4;

const fixed = (value, digits) => {
  const text = value.toFixed(digits);
  return Number(text) === 0 ? text.replace("-", "") : text;
};
const length = (mm, more = 0) =>
  units.now === "in" ? `${fixed(mm / perInch, 4 + more)} in` : `${fixed(mm, 3 + more)} mm`;
const plainLength = (mm) => (units.now === "in" ? fixed(mm / perInch, 4) : fixed(mm, 3));

function feedWords(motion) {
  const [feed, mode, rpm] = [motion[7], motion[8], motion[9]];
  if (feed === null || !mode) return "";
  const shown = units.now === "in" ? feed / perInch : feed;
  if (mode === 95) return `${fixed(shown, units.now === "in" ? 5 : 3)} ${units.now} a turn`;
  if (mode === 93) return "";
  const turn = rpm ? `, ${fixed(shown / rpm, units.now === "in" ? 5 : 3)} a turn` : "";
  return `${fixed(shown, units.now === "in" ? 2 : 1)} ${units.now}/min${turn}`;
}

function seconds(value) {
  if (value < 10) return `${fixed(value, 1)} s`;
  const whole = Math.round(value),
    minutes = Math.floor(whole / 60);
  return minutes ? `${minutes} min ${whole % 60} s` : `${whole} s`;
}

// ---- the program text

const isRemark = (line) => /^\s*(\(|;|%?\s*$)/.test(line) && !bareWords(line);
const bareWords = (line) =>
  line
    .replace(/\([^)]*\)?/g, "")
    .replace(/;.*/, "")
    .replace(/[%\s]/g, "")
    .replace(/^N\d+/i, "");
const remarkWords = (line) =>
  line
    .replace(/^\s*[(;]\s*(MSG,)?/, "")
    .replace(/\)\s*$/, "")
    .trim();
const headWords = (line) => {
  const found = /^\s*\(-{3,}\s*(.*?)\)?\s*$/.exec(line);
  return found ? found[1].replace(/\s*-+$/, "") : null;
};

// blocks are the lines that say something to the control; each knows its motions and the heading it stands under
function readBlocks(view) {
  const byLine = new Map();
  view.motions.forEach((motion, k) => {
    if (!byLine.has(motion[0])) byLine.set(motion[0], []);
    byLine.get(motion[0]).push(k);
  });
  const blocks = [{ line: 0, text: "", motions: [], head: 0, remarks: [] }],
    heads = [{ line: 0, text: "before the first pass" }];
  let remarks = [];
  view.lines.forEach((text, k) => {
    const head = headWords(text);
    if (head !== null) heads.push({ line: k + 1, text: head, block: blocks.length });
    if (bareWords(text)) {
      blocks.push({ line: k + 1, text, motions: byLine.get(k + 1) || [], head: heads.length - 1, remarks });
      remarks = [];
    } else if (head === null && isRemark(text)) {
      remarks.push(remarkWords(text));
    }
  });
  blocks[blocks.length - 1].last = true;
  return { blocks, heads };
}

// ---- what a block does, in words

const wayWords = { out: "out", in: "in", left: "toward the headstock", right: "toward the tailstock" };

function goWords(view, motion, cuts) {
  const [, kind, , z0, x0, z1, x1] = motion;
  const verb = kind === "rapid" ? "moves rapidly" : cuts ? "cuts" : "moves at feed, in air,";
  const to = [];
  if (x1 !== null && x1 !== x0)
    to.push(`${x0 === null ? "" : `${x1 > x0 ? wayWords.out : wayWords.in} `}to diameter ${length(2 * x1)}`);
  if (z1 !== null && z1 !== z0) {
    const right = view.right === "tailstock" ? wayWords.right : "toward the free end";
    to.push(`${z0 === null ? "" : `${z1 > z0 ? right : wayWords.left} `}to Z ${length(z1)}`);
  }
  if (!to.length) return kind === "arc" ? `${verb} a full circle` : "stays where it is";
  const arc = isArc(motion)
    ? ` an arc of radius ${length(Math.hypot(motion[3] - motion[12], motion[4] - motion[13]))}`
    : "";
  const feed = kind === "rapid" ? "" : feedWords(motion);
  return `${verb}${arc} ${to.join(" and ")}${feed ? `, at ${feed}` : ""}`;
}

function motionWords(view, k) {
  const motion = view.motions[k],
    [, kind, tool] = motion;
  const cuts = view.moments[k] && view.moments[k][1];
  if (goes(motion)) return view.kind === "mill" ? millWords(view, k, cuts) : goWords(view, motion, cuts);
  if (kind === "tool") return `calls tool ${tool}${view.tools[tool] ? `, ${view.tools[tool].name}` : ""}`;
  if (kind === "spindle") return spindleWords(motion);
  if (kind === "dwell") return `waits ${seconds(view.moments[k][0])}`;
  return (
    { stop: "STOPS until you start it again", "optional stop": "stops, if the control is told to", end: "ends the program" }[
      kind
    ] || kind
  );
}

function spindleWords(motion) {
  const [rpm, spindle, surface] = motion.slice(9, 12);
  if (!spindle) return `stops the spindle${rpm ? `; ${fixed(rpm, 0)} rev/min is set` : ""}`;
  const speed = surface
    ? `${fixed(surface, 0)} m/min at the tool, at most ${fixed(rpm, 0)} rev/min`
    : `${fixed(rpm, 0)} rev/min`;
  return `turns the spindle ${spindle > 0 ? "forward" : "backward"}, ${speed}`;
}

const AS_LEFT = "The work is shown as it is checked: as slides with their backlash leave it, without what falls off.";

function blockWords(view, block) {
  if (view.kind === "end-on") return view.note;
  if (!block.line) return "Before the program: the work as it is put in.";
  if (view.unread && block.line >= view.unread)
    return "Not checked: the program breaks a rule of its standard here or above.";
  const said = [...new Set(block.motions.map((k) => motionWords(view, k)))];
  if (!said.length) said.push("sets how the control understands what follows; nothing moves");
  const text = said.join("; then "),
    ends = block.last && view.kind === "turning" && view.changes.some((c) => c[0] === view.motions.length);
  return `${text[0].toUpperCase()}${text.slice(1)}.${ends ? ` ${AS_LEFT}` : ""}`;
}

const nearWords = (distance, body, obstacle) =>
  distance < 0
    ? `${body} ${length(-distance)} INTO the ${obstacle}`
    : `${body} ${length(distance)} from the ${obstacle}`;
