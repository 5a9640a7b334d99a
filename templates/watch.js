"use strict";
// Asks twice a second which version there is; shows a new page at the place where the old one stood, problems above it.
const frame = document.getElementById("page");
const problems = document.getElementById("problems");
let shown = -1;
let drawn = -1;

async function ask() {
  let state = null;
  try {
    state = await (await fetch("state", { cache: "no-store" })).json();
  } catch {
    problems.textContent = "the watch has ended: start endshake watch again";
    problems.hidden = false;
  }
  if (state !== null && state.version !== shown) {
    shown = state.version;
    problems.textContent = state.problems;
    problems.hidden = state.problems === "";
    if (state.page !== drawn) {
      const place = drawn < 0 ? "" : frame.contentWindow.location.hash;
      drawn = state.page;
      frame.src = `page?${drawn}${place}`;
    }
  }
  setTimeout(ask, 500);
}

ask();
