// The week's page: each behaviour is a module of its own, all of them over a page that works without.
import "./grid-keys.js";
import "./grid-drag.js";
import "./days.js";
import "./forms.js";
import "./in-words.js";
import "./live.js";
import "./presence.js";
import { showKeys } from "./grid-keys.js";

const keys = document.getElementById("open-keys");
const print = document.getElementById("print");
keys.hidden = print.hidden = false;
keys.addEventListener("click", showKeys);
print.addEventListener("click", () => window.print());

document.querySelector("select[data-go]")?.addEventListener("change", (event) => event.target.form.submit());
