// Moving and resizing by mouse and touch. A finger scrolls the page unless it rests on a block first, or takes its handle.
import { Held, SNAP, blockOf, canEdit, dayOf, grid, lengthOf, startOf, written } from "./grid-edit.js";

const SLOP = 5;
const REST = 420;
const NEAR = 48;
let drag = null;

const perMinute = (body) => body.clientHeight / (Number(grid().dataset.last) - Number(grid().dataset.first));
const snapped = (minutes) => Math.round(minutes / SNAP) * SNAP;

function take(event) {
  const block = blockOf(event.target);
  if (!block || event.button || !event.isPrimary || block.classList.contains("sending")) return;
  const resize = Boolean(event.target.closest(".grip"));
  drag = { block, resize, touch: event.pointerType === "touch", x: event.pageX, y: event.pageY, id: event.pointerId };
  if (drag.touch) {
    if (resize) begin();
    else drag.timer = setTimeout(begin, REST);
  }
}

function begin() {
  drag.held = new Held(drag.block);
  drag.scale = perMinute(drag.block.parentElement);
  drag.held.show(dayOf(drag.block), drag.held.start, drag.held.length);
  document.getElementById("content").classList.add("dragging");
}

function move(event) {
  if (!drag || event.pointerId !== drag.id) return;
  const far = Math.hypot(event.pageX - drag.x, event.pageY - drag.y) > SLOP;
  if (!drag.held) {
    if (!far) return;
    if (drag.touch) return drop(false);
    begin();
  }
  const by = (event.pageY - drag.y) / drag.scale;
  const { held } = drag;
  const { start, length } = held.was;
  if (drag.resize) held.show(dayOf(drag.block), start, snapped(start + length + by) - start);
  else held.show(dayUnder(event.clientX), snapped(start + by), length);
  if (drag.touch) follow(event.clientY);
}

function dayUnder(x) {
  const days = [...drag.block.closest(".days").querySelectorAll(".day")].filter((day) => day.offsetWidth);
  return days.find((day) => x < day.getBoundingClientRect().right) ?? days.at(-1);
}

function follow(y) {
  if (y > innerHeight - NEAR) scrollBy(0, 10);
  else if (y < NEAR) scrollBy(0, -10);
}

/** Let go: with `keep` the block is sent where it is, else it goes back. */
function drop(keep) {
  if (!drag) return;
  clearTimeout(drag.timer);
  const { held } = drag;
  drag = null;
  document.getElementById("content").classList.remove("dragging");
  if (!held) return;
  if (keep) held.send();
  else held.restore();
  // The click that ends a drag is not meant to open the block.
  const swallow = (event) => {
    event.preventDefault();
    event.stopPropagation();
  };
  addEventListener("click", swallow, { capture: true, once: true });
  setTimeout(() => removeEventListener("click", swallow, { capture: true }), 60);
}

document.addEventListener("pointerdown", take);
document.addEventListener("pointermove", move);
document.addEventListener("pointerup", (event) => event.pointerId === drag?.id && drop(true));
document.addEventListener("pointercancel", () => drop(false));
document.addEventListener("touchmove", (event) => drag?.held && event.preventDefault(), { passive: false });
document.addEventListener("contextmenu", (event) => drag?.touch && event.preventDefault());
document.addEventListener("dragstart", (event) => event.target.closest?.(".cell") && event.preventDefault());
document.addEventListener("keydown", (event) => {
  if (event.key === "Escape" && drag) {
    event.preventDefault();
    drop(false);
  }
});

// In a long free stretch the new block begins where one points, not where the stretch does.
const LONG = 60;
const USUAL = 45;
document.addEventListener(
  "click",
  (event) => {
    const gap = event.target.closest?.(".gap");
    if (!gap || !event.detail || !canEdit() || lengthOf(gap) <= LONG) return;
    const link = gap.querySelector("a");
    const at = (event.clientY - gap.getBoundingClientRect().top) / perMinute(gap.parentElement);
    const last = startOf(gap) + lengthOf(gap);
    const start = Math.min(Math.max(startOf(gap), Math.floor((startOf(gap) + at) / SNAP) * SNAP), last - SNAP);
    const url = new URL(link.href);
    url.searchParams.set("start", written(start));
    url.searchParams.set("end", written(Math.min(last, start + USUAL)));
    link.dataset.href = url.href;
  },
  { capture: true },
);
