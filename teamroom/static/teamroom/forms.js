// A block's form: says how long the block lasts and what its credits come to, and keeps an empty row for one more.

function minutes(input) {
  const [hours, rest] = (input?.value ?? "").split(":").map(Number);
  return Number.isFinite(hours) && Number.isFinite(rest) ? hours * 60 + rest : NaN;
}

function length(form) {
  return minutes(form.elements.end) - minutes(form.elements.start);
}

function tell(form) {
  const lasts = form.querySelector("[data-lasts]");
  if (!lasts) return;
  const long = length(form);
  lasts.textContent = long > 0 ? `${long} minutes` : "";
  const rows = [...form.querySelectorAll(".credit-row input")];
  const sum = rows.reduce((total, row) => total + (Number(row.value) || 0), 0);
  const said = form.querySelector("[data-credit-sum]");
  if (!said) return;
  said.textContent = sum ? `${sum} of ${long > 0 ? long : "?"} minutes credited` : "";
  said.classList.toggle("fault", sum > long);
}

function grow(form) {
  const box = form.querySelector("[data-credits]");
  const last = box?.lastElementChild;
  if (!last || !last.querySelector("select").value || !last.querySelector("input").value) return;
  const row = last.cloneNode(true);
  const place = box.childElementCount + 1;
  row.querySelector("select").value = "";
  row.querySelector("select").setAttribute("aria-label", `Activity ${place} to credit`);
  row.querySelector("input").value = "";
  row.querySelector("input").setAttribute("aria-label", `Minutes ${place}`);
  box.append(row);
}

function heard(event) {
  const form = event.target.closest?.(".edit-form");
  if (!form) return;
  tell(form);
  grow(form);
}

document.addEventListener("input", heard);
document.addEventListener("change", heard);
document.addEventListener("htmx:afterSwap", () => document.querySelectorAll(".edit-form").forEach(tell));
document.querySelectorAll(".edit-form").forEach(tell);
