// Playing: by the time that the machine takes, or block by block where less motion is wished.

const SPEEDS = [1, 5, 20, 60, 200];
const HOLD = { stop: 1.2, "optional stop": 0.3, tool: 0.5 };

function play(on) {
  now.playing = on ? (now.turns += 1) : 0;
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
  const speed = Number(byId("speed").value),
    kind = view.motions[motion][1];
  return Math.max((view.moments[motion] || [0])[0] || 0, speed * (HOLD[kind] || 0.05));
}

function advance(left) {
  const { view } = now,
    { blocks } = bookOf(view);
  while (left > 0) {
    if (now.motion !== null && now.share < 1) {
      const whole = takes(view, now.motion),
        rest = (1 - now.share) * whole;
      now.share = rest <= left ? 1 : now.share + left / whole;
      left -= Math.min(rest, left);
      if (now.share < 1) break;
    }
    const list = blocks[now.step].motions,
      next = list[list.indexOf(now.motion) + 1];
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
