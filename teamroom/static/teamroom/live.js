// Keeps what a page shows current while others work. An element with `data-live-topics` (`classroom-12:17 year-3:4`,
// what it shows) and `data-live-url` is asked for again when one of them moves on; the answer is out-of-band fragments
// of the templates that the page itself includes. Focus, scroll and an open panel stay as they are.
import { follow, readTopics } from "./following.js";

const SOON = 150;
const LATER = 400;
const waiting = new Map();

const lives = () => [...document.querySelectorAll("[data-live-topics]")];
const stateOf = (element) => new Map(readTopics(element.dataset.liveTopics));
const busy = () => document.querySelector(".cell.held, .cell.sending, .htmx-request");

function followAll() {
  for (const element of lives()) follow(readTopics(element.dataset.liveTopics));
}

function stale(element, topic, edition) {
  const shown = stateOf(element);
  return shown.has(topic) && (edition < 0 || shown.get(topic) < edition);
}

function soon(id, after = SOON) {
  clearTimeout(waiting.get(id));
  waiting.set(id, setTimeout(() => refresh(id), after));
}

function refresh(id) {
  waiting.delete(id);
  const element = document.getElementById(id);
  if (!element) return;
  // What is in hand is not torn away: it is drawn anew once it is put down and answered.
  if (busy()) return soon(id, LATER);
  const { liveUrl, liveTopics, seen, shape } = element.dataset;
  const url = new URL(liveUrl, location.href);
  for (const [name, value] of Object.entries({ topics: liveTopics, seen, shape })) {
    if (value !== undefined) url.searchParams.set(name, value);
  }
  window.htmx.ajax("GET", `${url.pathname}${url.search}`, { source: element, swap: "none" }).catch(() => {});
}

document.addEventListener("teamroom:moved", (event) => {
  const { topic, edition } = event.detail;
  for (const element of lives()) if (stale(element, topic, edition)) soon(element.id);
});

// Where one is, as something that survives being drawn anew: the nearest element with an id, and the way down from it.
let place = null;
function whereabouts() {
  const { activeElement: at } = document;
  const home = at.closest("[id]");
  if (!home || at === document.body) return null;
  const kind = at.tagName;
  return { at, id: home.id, kind, nth: [...home.querySelectorAll(kind)].indexOf(at), x: scrollX, y: scrollY };
}

const isLive = (event) => event.detail.requestConfig?.elt?.matches?.("[data-live-topics]") ?? event.detail.elt?.matches?.("[data-live-topics]");

document.addEventListener("htmx:beforeSwap", (event) => {
  if (isLive(event)) place = whereabouts();
});

document.addEventListener("htmx:afterRequest", (event) => {
  if (!isLive(event)) return;
  const was = place;
  place = null;
  if (event.detail.xhr?.status !== 200) return;
  if (was && !was.at.isConnected) {
    const home = document.getElementById(was.id);
    const again = was.nth < 0 ? home : (home?.querySelectorAll(was.kind)[was.nth] ?? home);
    again?.focus({ preventScroll: true });
  }
  if (was && (scrollX !== was.x || scrollY !== was.y)) scrollTo({ left: was.x, top: was.y, behavior: "instant" });
  followAll();
  tellOpenForm();
  document.dispatchEvent(new CustomEvent("teamroom:refreshed"));
});

/** A form that is open on a block somebody has changed says so, and touches nothing of what was typed. */
function tellOpenForm() {
  const form = document.querySelector("#panel[open] form[action^='/blocks/']");
  const pk = form?.getAttribute("action").split("/")[2];
  if (!pk) return;
  const cell = document.querySelector(`.cell[data-pk="${pk}"]`);
  if (cell && cell.dataset.revision === form.elements.revision?.value) return;
  const said = document.querySelector(`#meanwhile [data-blocks~="${pk}"]`)?.textContent;
  const notice = form.querySelector(".meanwhile-notice") ?? document.createElement("p");
  notice.className = "notice meanwhile-notice";
  notice.setAttribute("role", "status");
  if (!notice.isConnected) form.prepend(notice);
  notice.textContent = `${said ?? "This block was changed meanwhile."} What you typed is still here; saving shows you both.`;
}

followAll();
