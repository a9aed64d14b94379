// The panel: forms and traces open over the page they belong to, at the address they also have on their own.

const panel = document.getElementById("panel");
const body = document.getElementById("panel-body");
let opener = null;

export function openPanel(url, from = document.activeElement) {
  opener = from;
  window.htmx.ajax("GET", url, { target: "#panel-body", swap: "innerHTML" }).catch(() => {});
}

export function closePanel() {
  if (panel.open) panel.close();
}

function named() {
  const title = body.querySelector("#panel-title");
  if (title) panel.setAttribute("aria-label", title.textContent.replace(/\s+/g, " ").trim());
}

document.addEventListener("click", (event) => {
  if (event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey) return;
  const link = event.target.closest("a[data-panel], .cell > a");
  if (link && panel) {
    event.preventDefault();
    openPanel(link.dataset.href || link.href, panel.open ? opener : link);
    return;
  }
  if (event.target.closest("[data-close]") && panel.open) {
    event.preventDefault();
    closePanel();
  }
});

document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target !== body || !body.childElementCount) return;
  if (!panel.open) panel.showModal();
  named();
  const wrong = body.querySelector(".wrong input, .wrong select, .wrong textarea");
  const first = body.querySelector("input:not([type=hidden]), select, textarea");
  (wrong ?? first ?? body.querySelector("a, button"))?.focus();
  if (!body.querySelector("form")) panel.scrollTop = 0;
  const current = body.querySelector(".window-strip [aria-current]");
  const strip = current?.closest(".window-strip");
  if (strip) strip.scrollTop = current.offsetTop - strip.offsetTop - strip.clientHeight / 2;
});

panel?.addEventListener("close", () => {
  body.replaceChildren();
  // An edit puts the focus on its block; without one it goes back to where the panel was opened.
  if (opener?.isConnected) opener.focus();
});

// What was sent is kept and the page under the panel needs nothing else.
document.addEventListener("teamroom:kept", closePanel);

panel?.addEventListener("click", (event) => {
  const box = panel.getBoundingClientRect();
  const outside =
    event.clientX < box.left || event.clientX > box.right || event.clientY < box.top || event.clientY > box.bottom;
  // A form stays until it is sent or cancelled: a slip of the hand must not lose what was typed.
  if (event.target === panel && event.detail && outside && !body.querySelector("form")) closePanel();
});
