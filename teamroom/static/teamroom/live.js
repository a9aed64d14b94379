// Keeps what a page shows current while others work. For any page: an element with an id and
//   data-live-topics="classroom-12:17 year-3:4"   what it shows, read before its rows
//   data-live-url="/weeks/7/stale/"               asked for again, permission and all, when one of the topics moves on
// The answer is out-of-band fragments (`hx-swap-oob`) of the templates that the page itself includes, the element with
// its new topics among them; or 204 where it is current. `topics`, and `data-seen` and `data-shape` where the element
// has them, go with the question. Focus, scroll, what is opened and an open panel stay as they are; a block in hand, or
// a field of the element in which somebody types, is waited for. Afterwards the document hears `teamroom:refreshed`.
import { follow, readTopics } from "./following.js";
import { sayInForm } from "./meanwhile.js";
import { backTo, whereabouts } from "./whereabouts.js";

const SOON = 150;
const IN_HAND = 400;
const AFTER_A_FAULT = 5000;
const waiting = new Map();
const heard = new Map();

const lives = () => [...document.querySelectorAll("[data-live-topics]")];
const liveOf = (event) => {
  const element = event.detail.requestConfig?.elt ?? event.detail.elt;
  return element?.dataset?.liveUrl ? element : null;
};

function stale(element) {
  return readTopics(element.dataset.liveTopics).some(([topic, edition]) => (heard.get(topic) ?? edition) > edition);
}

function busy(element) {
  if (document.querySelector(".cell.held, .cell.sending, .htmx-request")) return true;
  const { activeElement: at } = document;
  return element.contains(at) && at.matches("input, textarea") && at.value !== at.defaultValue;
}

function soon(id, after = SOON) {
  clearTimeout(waiting.get(id));
  waiting.set(id, setTimeout(() => refresh(id), after));
}

function refresh(id) {
  waiting.delete(id);
  const element = document.getElementById(id);
  // One's own edit has brought it up to date, or there is nothing left to keep current.
  if (!element?.dataset.liveTopics || !stale(element)) return;
  // What is in hand is not torn away: it is drawn anew once it is put down and answered.
  if (busy(element)) return soon(id, IN_HAND);
  const { liveUrl, liveTopics, seen, shape } = element.dataset;
  const url = new URL(liveUrl, location.href);
  for (const [name, value] of Object.entries({ topics: liveTopics, seen, shape })) {
    if (value !== undefined) url.searchParams.set(name, value);
  }
  // Nobody did anything: such a request is no use of the session, which would otherwise never end.
  const headers = { "X-By-Itself": "1" };
  window.htmx.ajax("GET", `${url.pathname}${url.search}`, { source: element, swap: "none", headers }).catch(() => {});
}

document.addEventListener("teamroom:moved", (event) => {
  const { topic, edition } = event.detail;
  heard.set(topic, edition);
  for (const element of lives()) if (stale(element)) soon(element.id);
});

function followAll() {
  for (const element of lives()) follow(readTopics(element.dataset.liveTopics));
}

let place = null;

document.addEventListener("htmx:beforeSwap", (event) => {
  if (liveOf(event)) place = whereabouts();
});

document.addEventListener("htmx:oobBeforeSwap", (event) => {
  // What looks as before stays what it is, with whatever somebody is doing in it.
  if (place && event.detail.fragment.firstElementChild?.isEqualNode(event.detail.target)) event.preventDefault();
});

document.addEventListener("htmx:afterRequest", (event) => {
  const element = liveOf(event);
  if (!element) return;
  const was = place;
  place = null;
  const status = event.detail.xhr?.status ?? 0;
  if (status === 200 || status === 204) {
    for (const [topic, edition] of heard) if (edition === Infinity) heard.delete(topic);
  }
  if (status !== 200) return;
  if (was) backTo(was);
  followAll();
  document.dispatchEvent(new CustomEvent("teamroom:refreshed"));
});

/** What the page shows can no longer be asked for: it stays to be read, and says so once. */
function lost(element, why, offer, href) {
  delete element.dataset.liveTopics;
  document.getElementById(element.id)?.removeAttribute("data-live-topics");
  if (document.getElementById("lost")) return;
  const told = `${why} What you see is how it was until now. `;
  const notice = document.createElement("p");
  notice.id = "lost";
  notice.className = "notice";
  notice.setAttribute("role", "status");
  document.getElementById("content").prepend(notice);
  const link = document.createElement("a");
  link.href = href;
  link.textContent = offer;
  notice.append(told, link);
  sayInForm("lost-notice", `${why} What you typed is still here, to be copied.`);
}

// Before htmx acts on it: nobody is sent to another page by something they did not do.
document.addEventListener("htmx:beforeOnLoad", (event) => {
  const element = liveOf(event);
  if (!element || !event.detail.xhr.getResponseHeader("HX-Redirect")) return;
  event.preventDefault();
  lost(element, "You are signed out.", "Sign in again", location.href);
});

// Nobody has asked for this either, so that it failed is not said as if they had.
function failed(event) {
  const element = liveOf(event);
  if (!element) return;
  event.stopPropagation();
  if ([403, 404].includes(event.detail.xhr?.status)) {
    lost(element, "This is no longer there, or no longer open to you.", "See what there is now", location.pathname);
  } else {
    soon(element.id, AFTER_A_FAULT);
  }
}
for (const fault of ["htmx:responseError", "htmx:sendError", "htmx:timeout"]) {
  document.addEventListener(fault, failed, { capture: true });
}

followAll();
