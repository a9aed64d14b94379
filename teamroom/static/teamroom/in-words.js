// The week in words under the grid: asked for when it is opened, and anew after an edit while it is open.

const list = document.getElementById("in-words");

function ask() {
  if (!list.open) return;
  window.htmx.ajax("GET", list.dataset.url, { target: "#in-words-body", swap: "innerHTML" }).catch(() => {});
}

list.addEventListener("toggle", ask);
document.addEventListener("teamroom:edited", ask);
