// Says that one is at this week, and on which day, and shows who else is. Nothing else hangs on it.

const EVERY = 20000;
const line = document.getElementById("here");
let said = null;
let timer = 0;

const visible = () => document.visibilityState === "visible";

/** The day one is at: where the focus is, or on a small screen the one in front. */
function dayNow() {
  const frames = [...document.querySelectorAll(".strip:not([hidden]) .day-frame")].filter((frame) => frame.offsetWidth);
  const day = document.activeElement.closest(".day") ?? (frames.length === 1 ? frames[0].querySelector(".day") : null);
  return day?.dataset.place.split(":")[0] ?? "";
}

function form(fields) {
  const data = new FormData();
  const token = JSON.parse(document.body.getAttribute("hx-headers"))["X-CSRFToken"];
  for (const [name, value] of Object.entries({ csrfmiddlewaretoken: token, ...fields })) data.set(name, value);
  return data;
}

async function tell() {
  clearTimeout(timer);
  if (!visible()) return;
  timer = setTimeout(tell, EVERY);
  said = dayNow();
  try {
    const answer = await fetch(line.dataset.url, { method: "POST", body: form({ day: said }), redirect: "manual" });
    const html = answer.status === 200 ? (await answer.text()).trim() : "";
    if (line.innerHTML !== html) line.innerHTML = html;
  } catch {
    line.replaceChildren();
  }
}

function leave() {
  clearTimeout(timer);
  navigator.sendBeacon(line.dataset.url, form({ leaving: "1" }));
}

if (line) {
  document.addEventListener("focusin", () => dayNow() !== said && tell());
  document.addEventListener("click", () => dayNow() !== said && tell());
  // Who changes something is there: a good moment to look who is.
  document.addEventListener("teamroom:refreshed", tell);
  document.addEventListener("visibilitychange", () => (visible() ? tell() : leave()));
  window.addEventListener("pagehide", leave);
  tell();
}
