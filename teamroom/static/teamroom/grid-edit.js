// What moving by mouse, touch and keys share: the block in hand, and sending where it was put.

export const SNAP = 5;

export const grid = () => document.getElementById("week-grid");
export const canEdit = () => grid().classList.contains("editable");
export const blockOf = (element) => element?.closest?.(".editable .block") ?? null;
export const dayOf = (cell) => cell.closest(".day");
export const target = (cell) => cell.querySelector(":scope > a") ?? cell;
export const startOf = (cell) => Number(cell.dataset.start);
export const lengthOf = (cell) => Number(cell.dataset.length);

export function clock(minutes) {
  const hour = Math.floor(minutes / 60);
  const told = `${((hour + 11) % 12) + 1}:${String(minutes % 60).padStart(2, "0")}`;
  if (hour >= 7 && hour < 19) return told;
  return `${told} ${hour % 24 < 12 ? "am" : "pm"}`;
}

export function written(minutes) {
  return `${String(Math.floor(minutes / 60)).padStart(2, "0")}:${String(minutes % 60).padStart(2, "0")}`;
}

export function send(url, values, source) {
  // What went wrong is said by notices.js, which hears of it too.
  return window.htmx.ajax("POST", url, { source, target: "#said", swap: "innerHTML", values }).catch(() => {});
}

/** A block taken in hand: shown where it would go, put back, or sent there. */
export class Held {
  constructor(cell) {
    this.cell = cell;
    this.body = cell.parentElement;
    this.next = cell.nextElementSibling;
    this.was = { start: startOf(cell), length: lengthOf(cell) };
    this.start = this.was.start;
    this.length = this.was.length;
    cell.classList.add("held");
  }

  get day() {
    return dayOf(this.cell);
  }

  get moved() {
    return this.start !== this.was.start || this.length !== this.was.length || this.cell.parentElement !== this.body;
  }

  show(day, start, length) {
    const { first, last } = grid().dataset;
    this.length = Math.max(SNAP, Math.min(length, Number(last) - Number(first)));
    this.start = Math.max(Number(first), Math.min(start, Number(last) - this.length));
    const body = day.querySelector(".day-body");
    if (body !== this.cell.parentElement) {
      const focused = this.cell.contains(document.activeElement);
      body.append(this.cell);
      if (focused) target(this.cell).focus({ preventScroll: true });
    }
    this.cell.style.setProperty("--start", this.start);
    this.cell.style.setProperty("--length", this.length);
    const told = `${day.dataset.title} ${clock(this.start)}\u2013${clock(this.start + this.length)}, ${this.length} min`;
    target(this.cell).dataset.held = told;
    return told;
  }

  restore() {
    const focused = this.cell.contains(document.activeElement);
    this.cell.classList.remove("held", "sending");
    if (this.cell.parentElement !== this.body) this.body.insertBefore(this.cell, this.next);
    this.cell.style.setProperty("--start", this.was.start);
    this.cell.style.setProperty("--length", this.was.length);
    if (focused) target(this.cell).focus({ preventScroll: true });
  }

  send() {
    if (!this.moved) return this.restore();
    const { cell } = this;
    cell.classList.remove("held");
    cell.classList.add("sending");
    const answered = (event) => event.detail.xhr?.status === 200 || this.restore();
    cell.addEventListener("htmx:afterRequest", answered, { once: true });
    const values = {
      place: this.day.dataset.place,
      start: written(this.start),
      end: written(this.start + this.length),
      revision: cell.dataset.revision,
      dragged: "1",
    };
    return send(`/blocks/${cell.dataset.pk}/move/`, values, cell);
  }
}

// Every edit tells what the page shows, so that the answer can be only what changed.
document.addEventListener("htmx:configRequest", (event) => {
  const state = document.getElementById("sheet-state");
  if (event.detail.verb === "get" || !state) return;
  event.detail.parameters.week ??= state.dataset.week;
  event.detail.parameters.seen = state.dataset.seen;
  event.detail.parameters.shape = state.dataset.shape;
});

// What the edit before said about a reading gives way to what this one says.
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.xhr.status !== 200 || event.detail.requestConfig.verb === "get") return;
  document.querySelectorAll(".since").forEach((line) => line.remove());
  document.querySelectorAll(".rule.changed").forEach((rule) => rule.classList.remove("changed"));
});
