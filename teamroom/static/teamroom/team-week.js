// The team's week: kept current while others work, and edited in the panel without leaving it.
import "./live.js";
import "./forms.js";
import { closePanel } from "./panel.js";

const week = () => document.getElementById("team-week");

const print = document.getElementById("print");
print.hidden = false;
print.addEventListener("click", () => window.print());

// An edit's answer is for this page, which shows no week's own sheet.
document.addEventListener("htmx:configRequest", (event) => {
  if (event.detail.verb !== "get") event.detail.parameters.beside = "1";
});

// One's own edit is drawn at once, stream or no stream.
document.addEventListener("teamroom:edited", () => {
  closePanel();
  for (const pair of (week().dataset.liveTopics ?? "").split(" ")) {
    const topic = pair.slice(0, pair.lastIndexOf(":"));
    document.dispatchEvent(new CustomEvent("teamroom:moved", { detail: { topic, edition: Infinity } }));
  }
});
