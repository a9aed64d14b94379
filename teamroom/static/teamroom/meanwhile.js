// A form that is open on a block somebody has changed says so, and touches nothing of what was typed.

const FORM = "#panel[open] form[action^='/blocks/']";

/** Something said in the open form, once for each `name`; read out, without moving the focus. */
export function sayInForm(name, ...content) {
  const form = document.querySelector("#panel[open] form");
  if (!form) return;
  let notice = form.querySelector(`.${name}`);
  if (!notice) {
    notice = document.createElement("p");
    notice.className = `notice ${name}`;
    notice.setAttribute("role", "status");
    form.prepend(notice);
  }
  notice.replaceChildren(...content);
}

function changed(form, cell) {
  if (!cell) return true;
  const { revision } = form.elements;
  return Boolean(revision) && revision.value !== cell.dataset.revision;
}

document.addEventListener("teamroom:refreshed", () => {
  const form = document.querySelector(FORM);
  const pk = form?.getAttribute("action").split("/")[2];
  // A page without the week's sheet cannot tell what has become of a block.
  if (!(Number(pk) > 0) || !document.getElementById("week-grid")) return;
  if (!changed(form, document.querySelector(`.cell[data-pk="${pk}"]`))) return;
  const said = document.querySelector(`#meanwhile [data-blocks~="${pk}"]:last-child`)?.textContent;
  const what = said ?? "This block was changed meanwhile.";
  sayInForm("meanwhile-notice", `${what} What you typed is still here; saving shows you both.`);
});
