"use strict";
// Asks twice a second which version there is; shows a new page at the place where the old one stood, problems above it.
const frame = document.getElementById("page");
const problems = document.getElementById("problems");
let shown = -1;
let drawn = -1;

function tell(words) {
  problems.textContent = words;
  problems.hidden = words === "";
  frame.className = words === "" ? "" : "old";
}

async function ask() {
  let state = null;
  try {
    state = await (await fetch("state", { cache: "no-store" })).json();
  } catch {
    tell("the watch has ended: start endshake watch again");
  }
  if (state !== null && state.version !== shown) {
    shown = state.version;
    tell(state.problems === "" || state.page === 0 ? state.problems : `below is an earlier save, not this one\n${state.problems}`);
    if (state.page !== drawn) {
      const place = drawn < 0 ? "" : frame.contentWindow.location.hash;
      drawn = state.page;
      frame.src = `page?${drawn}${place}`;
    }
  }
  setTimeout(ask, 500);
}

ask();
