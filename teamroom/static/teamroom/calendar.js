// The calendar by keyboard: each month is a grid with one tab stop, arrows go from date to date and on into other months.

const DAY = 86_400_000;
const dates = [...document.querySelectorAll(".month a[data-date]")];
const byDate = new Map(dates.map((link) => [link.dataset.date, link]));

function stop(link) {
  for (const other of link.closest("table").querySelectorAll("a[tabindex='0']")) other.tabIndex = -1;
  link.tabIndex = 0;
}

function days(link, count) {
  const there = new Date(Date.parse(link.dataset.date) + count * DAY).toISOString().slice(0, 10);
  return byDate.get(there);
}

/** The same day of another month, or its last where it has no such day; dates outside the year are none. */
function months(link, count) {
  const [year, month, day] = link.dataset.date.split("-").map(Number);
  const last = new Date(Date.UTC(year, month + count, 0)).getUTCDate();
  const there = new Date(Date.UTC(year, month - 1 + count, Math.min(day, last)));
  return byDate.get(there.toISOString().slice(0, 10));
}

const inWeek = (link) => [...link.closest("tr").querySelectorAll("a[data-date]")];
const STEPS = {
  ArrowLeft: (link) => days(link, -1),
  ArrowRight: (link) => days(link, 1),
  ArrowUp: (link) => days(link, -7),
  ArrowDown: (link) => days(link, 7),
  Home: (link) => inWeek(link)[0],
  End: (link) => inWeek(link).at(-1),
  PageUp: (link) => months(link, -1),
  PageDown: (link) => months(link, 1),
};

function pressed(event) {
  const link = event.target.closest?.("a[data-date]");
  const step = STEPS[event.key];
  if (!link || !step || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const there = step(link);
  if (!there) return;
  stop(there);
  there.focus();
}

for (const table of document.querySelectorAll(".month table")) {
  table.setAttribute("role", "grid");
  const links = [...table.querySelectorAll("a[data-date]")];
  const first = links.find((link) => link.getAttribute("aria-current")) ?? links[0];
  for (const link of links) link.tabIndex = link === first ? 0 : -1;
}
document.addEventListener("keydown", pressed);
document.addEventListener("focusin", (event) => {
  const link = event.target.closest?.("a[data-date]");
  if (link?.closest(".month")) stop(link);
});

const print = document.getElementById("print");
print.hidden = false;
print.addEventListener("click", () => window.print());
