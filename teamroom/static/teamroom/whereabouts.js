// Where somebody is on a page: focus, scroll, what they opened. So they are still there after parts of it were drawn anew.

/** The elements with ids around what has the focus, nearest first, and the way down from each. */
function waysTo(at) {
  const ways = [];
  for (let home = at.closest("[id]"); home; home = home.parentElement?.closest("[id]")) {
    ways.push({ id: home.id, nth: [...home.querySelectorAll(at.tagName)].indexOf(at) });
  }
  return ways;
}

function opened() {
  const open = [...document.querySelectorAll("details[open]")].map((one) => one.closest("[id]"));
  return open.filter(Boolean).map((home) => home.id);
}

export function whereabouts() {
  const at = document.activeElement ?? document.body;
  return { at, ways: at === document.body ? [] : waysTo(at), opened: opened(), x: scrollX, y: scrollY };
}

function focusAgain({ at, ways }) {
  for (const { id, nth } of ways) {
    const home = document.getElementById(id);
    if (!home) continue;
    const alike = home.querySelectorAll(at.tagName);
    // What one was at may be gone; then what stands in its place has the focus.
    (nth < 0 ? home : (alike[nth] ?? [...alike].at(-1) ?? home)).focus({ preventScroll: true });
    if (document.activeElement !== document.body) return;
  }
}

export function backTo(was) {
  for (const id of was.opened) {
    const home = document.getElementById(id);
    const details = home?.matches("details") ? home : home?.querySelector("details");
    if (details && !details.open) details.open = true;
  }
  if (!was.at.isConnected) focusAgain(was);
  if (scrollX !== was.x || scrollY !== was.y) scrollTo({ left: was.x, top: was.y, behavior: "instant" });
}
