// Which strip of the week is in front, and on a small screen which day; both outlive a redrawn grid.

let strip = document.querySelector(".strip:not([hidden])")?.dataset.strip;
let day = document.querySelector(".strip:not([hidden]) .day-frame.shown .day")?.id;

function showStrip(name) {
  const strips = [...document.querySelectorAll(".strip")];
  if (!strips.some((one) => one.dataset.strip === name)) return;
  strip = name;
  for (const one of strips) one.hidden = one.dataset.strip !== name;
  for (const tab of document.querySelectorAll(".strip-tabs a")) {
    if (tab.dataset.strip === name) tab.setAttribute("aria-current", "true");
    else tab.removeAttribute("aria-current");
  }
  const shown = document.querySelector(`.strip[data-strip="${name}"]`);
  if (!shown.querySelector(".day-frame.shown")) showDay(shown.querySelector(".day").id);
  markInWords();
}

export function showDay(id) {
  const frame = document.getElementById(id)?.closest(".day-frame");
  if (!frame) return;
  day = id;
  const home = frame.closest(".strip");
  if (home.hidden) showStrip(home.dataset.strip);
  for (const one of home.querySelectorAll(".day-frame")) one.classList.toggle("shown", one === frame);
  for (const tab of home.querySelectorAll(".day-tabs button")) {
    tab.setAttribute("aria-pressed", String(tab.dataset.day === id));
  }
  markInWords();
}

/** In the week in words a small screen shows the same day. */
export function markInWords() {
  const shown = document.querySelector(".strip:not([hidden]) .day-frame.shown .day")?.id;
  for (const one of document.querySelectorAll(".list-day")) one.classList.toggle("shown", one.dataset.day === shown);
}

document.addEventListener("click", (event) => {
  const tab = event.target.closest(".strip-tabs a");
  if (tab) {
    event.preventDefault();
    showStrip(tab.dataset.strip);
    history.replaceState(null, "", tab.href);
  }
  const button = event.target.closest(".day-tabs button");
  if (button) showDay(button.dataset.day);
});

// On a small screen an edit of another day than the one in front would be made out of sight.
document.addEventListener("teamroom:edited", (event) => showDay(event.detail.column));

document.addEventListener("htmx:oobAfterSwap", (event) => {
  if (event.detail.target.id !== "week-grid") return;
  if (strip) showStrip(strip);
  if (day) showDay(day);
});
