// The form of bell times: keeps an empty row for one more stretch, and draws the day that is typed.

const form = document.querySelector(".bell-form");
const rows = form?.querySelector("[data-rows]");
const picture = form?.querySelector("[data-picture]");

function minutes(input) {
  const [hours, rest] = (input?.value ?? "").split(":").map(Number);
  return Number.isFinite(hours) && Number.isFinite(rest) && input.value ? hours * 60 + rest : NaN;
}

function part(row, name) {
  return row.querySelector(`[name$="-${name}"]`);
}

function grow() {
  const last = rows.lastElementChild;
  if (!last || !["activity", "start", "end"].every((name) => part(last, name).value)) return;
  const before = last.dataset.row;
  const next = String(Number(before) + 1);
  const row = last.cloneNode(true);
  row.dataset.row = next;
  row.classList.remove("wrong");
  row.querySelectorAll(".fault").forEach((fault) => fault.remove());
  row.querySelector("legend").textContent = `Row ${rows.childElementCount + 1}`;
  for (const field of row.querySelectorAll("[name], [id], [for]")) {
    for (const name of ["name", "id", "for"]) {
      const value = field.getAttribute(name);
      if (value) field.setAttribute(name, value.replace(`fixed-${before}-`, `fixed-${next}-`));
    }
    if (field.type === "checkbox") field.checked = false;
    else if ("value" in field) field.value = "";
  }
  rows.append(row);
}

function stretches() {
  return [...rows.children]
    .map((row) => {
      const chosen = part(row, "activity").selectedOptions[0];
      return {
        name: chosen?.textContent ?? "",
        look: chosen?.dataset.look ?? "",
        start: minutes(part(row, "start")),
        end: minutes(part(row, "end")),
        days: [...row.querySelectorAll("input:checked")].map((box) => box.value),
      };
    })
    .filter((one) => one.look && one.end > one.start);
}

function days(found) {
  const boxes = [...rows.firstElementChild.querySelectorAll("input[type=checkbox]")];
  const sets = new Map();
  for (const box of boxes) {
    const here = found.filter((one) => !one.days.length || one.days.includes(box.value));
    const key = here.map((one) => found.indexOf(one)).join();
    const set = sets.get(key) ?? { names: [], here };
    set.names.push(box.parentElement.textContent.trim());
    sets.set(key, set);
  }
  return [...sets.values()];
}

function made(tag, className, values = {}) {
  const piece = document.createElement(tag);
  piece.className = className;
  for (const [name, value] of Object.entries(values)) piece.style.setProperty(`--${name}`, value);
  return piece;
}

function draw() {
  const opens = minutes(form.elements.start);
  const closes = minutes(form.elements.dismissal);
  picture.hidden = !(closes > opens);
  const lasts = form.querySelector("[data-lasts]");
  lasts.textContent = picture.hidden ? "" : `${closes - opens} minutes from start to dismissal`;
  if (picture.hidden) return;
  const found = stretches();
  const sets = days(found);
  picture.style.setProperty("--first", Math.floor(opens / 60) * 60);
  picture.style.setProperty("--last", Math.ceil(closes / 60) * 60);
  picture.replaceChildren(
    ...sets.map((set) => {
      const row = made("div", "strip-row");
      if (sets.length > 1) {
        const title = made("span", "strip-days");
        title.textContent = set.names.join(", ");
        row.append(title);
      }
      const strip = made("div", "day-strip", { opens, closes });
      for (const one of set.here) {
        const piece = made("i", one.look, { start: one.start, length: one.end - one.start });
        piece.textContent = one.name;
        strip.append(piece);
      }
      row.append(strip);
      return row;
    }),
  );
}

function heard() {
  grow();
  draw();
}

if (form) {
  form.addEventListener("input", heard);
  form.addEventListener("change", heard);
  heard();
}
