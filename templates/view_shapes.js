// Shapes of the half-section. Places are [z, x] in mm, z to the right and x up; on the screen y is -x.

const number = (value) => String(+value.toFixed(5));

// ---- the metal: pieces [z, x there, x at its end, radius of an arc, minus if hollow], each up to the next one's z

function outlinePath(metal, pieces) {
  let path = "",
    last = null;
  pieces.forEach((piece, k) => {
    const [z, from, to, radius] = piece;
    const end = k + 1 < pieces.length ? pieces[k + 1][0] : metal.end;
    if (last === null) path += `M${number(z)} 0`;
    if (last !== from) path += `L${number(z)} ${number(-from)}`;
    const r = radius === undefined ? 0 : number(Math.abs(radius));
    path += r ? `A${r} ${r} 0 0 ${radius > 0 ? 1 : 0} ${number(end)} ${number(-to)}` : `L${number(end)} ${number(-to)}`;
    last = to;
  });
  return path && `${path}L${number(metal.end)} 0Z`;
}

// the same as corners of a polygon; arcs along short chords
function outlineCorners(metal, pieces) {
  const corners = [];
  pieces.forEach((piece, k) => {
    const [z, from, to, radius] = piece;
    const end = k + 1 < pieces.length ? pieces[k + 1][0] : metal.end;
    if (!k) corners.push([z, 0]);
    corners.push([z, from]);
    if (radius !== undefined) corners.push(...alongArc([z, from], [end, to], radius));
    corners.push([end, to]);
  });
  if (corners.length) corners.push([metal.end, 0]);
  return corners;
}

function alongArc([z0, x0], [z1, x1], radius) {
  const r = Math.abs(radius),
    dz = z1 - z0,
    dx = x1 - x0,
    chord = Math.hypot(dz, dx);
  if (!chord) return [];
  const rise = Math.sqrt(Math.max(r * r - (chord * chord) / 4, 0)) * Math.sign(radius);
  const cz = (z0 + z1) / 2 + (rise * dx) / chord,
    cx = (x0 + x1) / 2 - (rise * dz) / chord;
  const first = Math.atan2(x0 - cx, z0 - cz);
  let sweep = Math.atan2(x1 - cx, z1 - cz) - first;
  if (radius > 0 && sweep > 0) sweep -= 2 * Math.PI;
  if (radius < 0 && sweep < 0) sweep += 2 * Math.PI;
  const count = 12,
    found = [];
  for (let k = 1; k < count; k++) {
    const angle = first + (sweep * k) / count;
    found.push([cz + r * Math.cos(angle), cx + r * Math.sin(angle)]);
  }
  return found;
}

// the metal after every motion: states[k + 1] after motion k, states[0] before the program; the last as it is judged
function metalStates(view) {
  if (!view.metal) return [];
  const states = [view.metal.pieces],
    changes = new Map(view.changes.map((c) => [c[0], c]));
  for (let k = 0; k <= view.motions.length; k++) {
    const change = changes.get(k),
      last = states[k];
    states.push(change ? [...last.slice(0, change[1]), ...change[3], ...last.slice(change[1] + change[2])] : last);
  }
  return states;
}

// ---- polygons

function polygonPath(corners) {
  return corners.length ? `M${corners.map(([z, x]) => `${number(z)} ${number(-x)}`).join("L")}Z` : "";
}

const moved = (corners, [z, x]) => corners.map((p) => [p[0] + z, p[1] + x]);

// what of a polygon lies in a convex counter-clockwise one (I. Sutherland, G. Hodgman, CACM 17, 1974)
function clipped(target, windowCorners) {
  let kept = target;
  for (let k = 0; k < windowCorners.length && kept.length; k++) {
    const a = windowCorners[k],
      b = windowCorners[(k + 1) % windowCorners.length];
    const left = (p) => (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
    const given = kept;
    kept = [];
    given.forEach((p, i) => {
      const q = given[(i + 1) % given.length],
        here = left(p),
        there = left(q);
      if (here >= 0) kept.push(p);
      if (here * there < 0) {
        const share = here / (here - there);
        kept.push([p[0] + share * (q[0] - p[0]), p[1] + share * (q[1] - p[1])]);
      }
    });
  }
  return kept;
}

function area(corners) {
  let sum = 0;
  corners.forEach((p, k) => {
    const q = corners[(k + 1) % corners.length];
    sum += p[0] * q[1] - q[0] * p[1];
  });
  return sum / 2;
}

// the hull of some places, counter-clockwise (A. M. Andrew, Information Processing Letters 9, 1979)
function hull(places) {
  const sorted = [...places].sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const half = (list) => {
    const out = [];
    for (const p of list) {
      while (out.length > 1) {
        const [a, b] = out.slice(-2);
        if ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]) > 0) break;
        out.pop();
      }
      out.push(p);
    }
    out.pop();
    return out;
  };
  return [...half(sorted), ...half(sorted.reverse())];
}

// ---- distances

function toSegment([z, x], a, b) {
  const dz = b[0] - a[0],
    dx = b[1] - a[1],
    square = dz * dz + dx * dx;
  const t = square ? Math.min(Math.max(((z - a[0]) * dz + (x - a[1]) * dx) / square, 0), 1) : 0;
  const foot = [a[0] + t * dz, a[1] + t * dx];
  return { away: Math.hypot(z - foot[0], x - foot[1]), foot, share: t };
}

// how deep two convex polygons lie in one another: the greatest gap along any edge's normal; below 0 they overlap
function greatestGap(one, other) {
  let most = -Infinity;
  for (const [p, q] of [
    [one, other],
    [other, one],
  ]) {
    if (p.length < 3) continue;
    p.forEach((a, k) => {
      const b = p[(k + 1) % p.length],
        size = Math.hypot(b[0] - a[0], b[1] - a[1]);
      if (!size) return;
      const nz = (b[1] - a[1]) / size,
        nx = (a[0] - b[0]) / size;
      most = Math.max(most, Math.min(...q.map((c) => (c[0] - a[0]) * nz + (c[1] - a[1]) * nx)));
    });
  }
  return most;
}

// distance of a rounded convex body from a convex polygon, and the nearest points of both
function between(core, round, polygon) {
  const gap = greatestGap(core, polygon);
  let best = { away: Infinity };
  const look = (p, list, swap) =>
    list.forEach((a, k) => {
      const near = toSegment(p, a, list[(k + 1) % list.length]);
      if (near.away < best.away)
        best = { away: near.away, onBody: swap ? near.foot : p, onOther: swap ? p : near.foot };
    });
  core.forEach((p) => look(p, polygon, false));
  polygon.forEach((p) => look(p, core, true));
  if (gap < 0) return { distance: gap - round, onBody: best.onBody, onOther: best.onOther };
  const share = best.away ? round / best.away : 0;
  const toward = best.onBody.map((v, k) => v + share * (best.onOther[k] - v));
  return { distance: best.away - round, onBody: toward, onOther: best.onOther };
}

// ---- motions: [line, kind, tool, z0, x0, z1, x1, feed, mode, rpm, spindle, surface speed, centre z, x, turn]

const goes = (m) => ["rapid", "line", "arc"].includes(m[1]);
const isKnown = (m) => goes(m) && m.slice(3, 7).every((v) => v !== null);
const isArc = (m) => m.length > 12;

function sweepOf(m) {
  const [cz, cx, turn] = m.slice(12);
  const first = Math.atan2(m[4] - cx, m[3] - cz);
  let sweep = Math.atan2(m[6] - cx, m[5] - cz) - first;
  if (m[3] === m[5] && m[4] === m[6]) return { first, sweep: turn * 2 * Math.PI };
  if (turn > 0 && sweep < 0) sweep += 2 * Math.PI;
  if (turn < 0 && sweep > 0) sweep -= 2 * Math.PI;
  return { first, sweep };
}

function placeOn(m, share) {
  if (!isArc(m)) return [m[3] + share * (m[5] - m[3]), m[4] + share * (m[6] - m[4])];
  const { first, sweep } = sweepOf(m),
    [cz, cx] = m.slice(12),
    r = Math.hypot(m[3] - cz, m[4] - cx);
  const angle = first + share * sweep;
  return [cz + r * Math.cos(angle), cx + r * Math.sin(angle)];
}

function motionPath(m, [dz, dx]) {
  const at = (z, x) => `${number(z + dz)} ${number(-x - dx)}`;
  const start = `M${at(m[3], m[4])}`;
  if (!isArc(m)) return `${start}L${at(m[5], m[6])}`;
  const { sweep } = sweepOf(m),
    r = number(Math.hypot(m[3] - m[12], m[4] - m[13]));
  const arc = (large, z, x) => `A${r} ${r} 0 ${large} ${m[14] > 0 ? 0 : 1} ${at(z, x)}`;
  if (Math.abs(sweep) > 2 * Math.PI - 1e-6) {
    return start + arc(0, 2 * m[12] - m[3], 2 * m[13] - m[4]) + arc(0, m[5], m[6]);
  }
  return start + arc(Math.abs(sweep) > Math.PI ? 1 : 0, m[5], m[6]);
}

// the share of a motion's way that lies nearest to a place, and how far off that is
function nearestOn(m, place) {
  if (!isArc(m)) {
    const { away, share } = toSegment(place, [m[3], m[4]], [m[5], m[6]]);
    return { away, share };
  }
  let best = { away: Infinity, share: 1 };
  for (let k = 0; k <= 48; k++) {
    const [z, x] = placeOn(m, k / 48),
      away = Math.hypot(z - place[0], x - place[1]);
    if (away < best.away) best = { away, share: k / 48 };
  }
  return best;
}
