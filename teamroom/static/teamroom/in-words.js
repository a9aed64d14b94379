// The week in words under the grid: asked for when it is opened, and anew after an edit while it is open.
import { markInWords } from "./days.js";

const list = document.getElementById("in-words");
const body = document.getElementById("in-words-body");
let edited = null;
let left = null;

function ask() {
  if (!list.open) return;
  window.htmx.ajax("GET", list.dataset.url, { source: list, target: body, swap: "innerHTML" }).catch(() => {});
}

/** The link one was at; after an edit that took it away, the one that stands where the edit was; else the heading. */
function cameFrom() {
  const day = edited && body.querySelector(`[data-day="${edited.column}"]`);
  const same = [...body.querySelectorAll("a")].find((link) => link.getAttribute("href") === left);
  return same ?? day?.querySelector(`a[data-start="${edited.at}"]`) ?? list.querySelector("summary");
}

list.addEventListener("toggle", ask);
document.addEventListener("teamroom:edited", (event) => {
  edited = event.detail;
  ask();
});
document.addEventListener("teamroom:refreshed", ask);
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.target !== body) return;
  left = body.contains(document.activeElement) ? document.activeElement.getAttribute("href") : null;
});
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target !== body) return;
  markInWords();
  if (left) cameFrom().focus({ preventScroll: true });
});
