// The week by keyboard alone: one tab stop, arrows over days and times, and every verb on a key.
import { showDay } from "./days.js";
import { Held, SNAP, blockOf, canEdit, dayOf, grid, lengthOf, send, startOf, target, written } from "./grid-edit.js";
import { closePanel, openPanel } from "./panel.js";

const PAUSE = 700;
let held = null;
let timer = 0;
let wanted = null;

const keys = document.getElementById("keys");
export const showKeys = () => keys.showModal();

const cellsOf = (day) => [...day.querySelectorAll(".cell")];
const daysOf = (cell) => [...cell.closest(".days").querySelectorAll(".day")];
const end = (cell) => startOf(cell) + lengthOf(cell);

function cellAt(day, minute) {
  const cells = cellsOf(day);
  const inside = cells.filter((cell) => startOf(cell) <= minute && minute < end(cell));
  // A block that stands over fixed time is the nearer of the two.
  return inside.find((cell) => cell.classList.contains("block")) ?? inside[0] ?? cells.find((cell) => end(cell) > minute) ?? cells.at(-1);
}

function roving(cell) {
  const days = cell.closest(".days");
  for (const other of days.querySelectorAll("[tabindex='0']")) other.tabIndex = -1;
  target(cell).tabIndex = 0;
}

function focusOn(cell) {
  if (!cell) return;
  roving(cell);
  target(cell).focus();
}

function refresh() {
  for (const days of document.querySelectorAll(".days")) {
    const cells = [...days.querySelectorAll(".cell")];
    const current = cells.find((cell) => target(cell) === document.activeElement) ?? cells[0];
    for (const cell of cells) target(cell).tabIndex = cell === current ? 0 : -1;
  }
}

function step(cell, key) {
  const cells = cellsOf(dayOf(cell));
  const days = daysOf(cell);
  const place = days.indexOf(dayOf(cell));
  if (key === "ArrowUp" || key === "ArrowDown") {
    wanted = null;
    return cells[cells.indexOf(cell) + (key === "ArrowUp" ? -1 : 1)];
  }
  if (key === "Home" || key === "End") return key === "Home" ? cells[0] : cells.at(-1);
  const day = days[place + (key === "ArrowLeft" ? -1 : 1)];
  if (!day) return null;
  wanted ??= startOf(cell);
  showDay(day.id);
  return cellAt(day, wanted);
}

function nudge(cell, event) {
  held ??= new Held(cell);
  let { day, start, length } = held;
  const later = event.key === "ArrowDown" ? SNAP : -SNAP;
  if (event.shiftKey) length += later;
  else if (event.key === "ArrowUp" || event.key === "ArrowDown") start += later;
  else {
    const days = daysOf(cell);
    day = days[days.indexOf(day) + (event.key === "ArrowLeft" ? -1 : 1)] ?? day;
    showDay(day.id);
  }
  document.getElementById("said").textContent = held.show(day, start, length);
  clearTimeout(timer);
  timer = setTimeout(settle, PAUSE);
}

function settle() {
  clearTimeout(timer);
  held?.send();
  held = null;
}

function putBack() {
  clearTimeout(timer);
  held.restore();
  held = null;
  document.getElementById("said").textContent = "Put back where it was.";
}

function addAt(cell) {
  const free = cell.classList.contains("gap");
  const start = free ? startOf(cell) : end(cell);
  const place = encodeURIComponent(dayOf(cell).dataset.place);
  openPanel(`${grid().dataset.add}?place=${place}&start=${written(start)}${free ? `&end=${written(end(cell))}` : ""}`, target(cell));
}

/** Takes back, or does again: at once too, when the button was drawn a moment ago and htmx has not come to it yet. */
function takeBack(again) {
  const form = document.querySelector(`#undo form[action$="/${again ? "redo" : "undo"}/"]`);
  if (!form) return;
  window.htmx.process(form);
  form.querySelector("button").click();
}

function verb(cell, key, again) {
  const block = blockOf(cell);
  if (key === "?") return showKeys();
  if (!canEdit()) return false;
  if (key === "u") return takeBack(again);
  if (key === "n") return addAt(cell);
  if (key === "s" && block) return openPanel(`/blocks/${block.dataset.pk}/split/`, target(block));
  if ((key === "Delete" || key === "Backspace") && block) {
    return send(`/blocks/${block.dataset.pk}/remove/`, { revision: block.dataset.revision }, block);
  }
  return false;
}

function pressed(event) {
  const cell = event.target.closest?.(".cell");
  if (!cell || event.ctrlKey || event.metaKey) return;
  const arrow = event.key.startsWith("Arrow");
  if (event.key === "Escape" && held) {
    event.preventDefault();
    putBack();
  } else if (arrow && blockOf(cell) && (event.altKey || (event.shiftKey && /Up|Down/.test(event.key)))) {
    event.preventDefault();
    nudge(cell, event);
  } else if (event.altKey) {
    return;
  } else if (arrow || event.key === "Home" || event.key === "End") {
    event.preventDefault();
    if (held) settle();
    focusOn(step(cell, event.key));
  } else if (verb(cell, event.key.length === 1 ? event.key.toLowerCase() : event.key, event.shiftKey) !== false) {
    event.preventDefault();
  }
}

document.addEventListener("keydown", pressed);
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea, dialog");
  if (event.key === "?" && !typing && !event.defaultPrevented) showKeys();
});
document.addEventListener("focusin", (event) => {
  const cell = event.target.closest(".cell");
  if (cell) roving(cell);
});
document.addEventListener("focusout", (event) => {
  // Leaving the block by Tab or mouse means it is where it should be.
  if (held && !held.cell.contains(event.relatedTarget) && event.relatedTarget) settle();
});

// Somebody who has gone on to the ledger stays there, although its rules are drawn anew.
let reading = null;
document.addEventListener("htmx:beforeSwap", () => {
  const rule = document.activeElement.closest(".rule");
  reading = rule && { rule: rule.id, place: [...rule.querySelectorAll("a")].indexOf(document.activeElement) };
});

function elsewhere() {
  const { activeElement } = document;
  return activeElement !== document.body && !activeElement.closest(".week, dialog, #undo");
}

document.addEventListener("teamroom:edited", (event) => {
  closePanel();
  refresh();
  if (reading) document.getElementById(reading.rule)?.querySelectorAll("a")[reading.place]?.focus();
  const day = document.getElementById(event.detail.column);
  if (!day || elsewhere()) return;
  showDay(day.id);
  focusOn(cellAt(day, event.detail.at));
});
document.addEventListener("htmx:afterSettle", refresh);
refresh();
