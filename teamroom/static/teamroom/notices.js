// What is said when there is no connection, or an answer is a refusal without a page of its own.

const offline = document.getElementById("offline");
const SENTENCES = {
  403: "Your part in this team lets you look here, not change. Nothing was changed.",
  404: "That is no longer there: somebody may have removed it. Load the page again to see the week as it is now.",
};
const BROKEN = "Something broke on our side. Nothing was changed by your last step; try it once more.";
const AWAY = "No connection. Nothing was changed; try again once you are connected.";

function say(sentence) {
  const notice = document.createElement("p");
  notice.className = "refusal";
  notice.textContent = sentence;
  const form = document.querySelector("#panel[open] form");
  if (form) {
    notice.setAttribute("role", "alert");
    form.prepend(notice);
  } else {
    document.getElementById("said")?.replaceChildren(notice);
  }
}

document.addEventListener("htmx:responseError", (event) => say(SENTENCES[event.detail.xhr.status] ?? BROKEN));
document.addEventListener("htmx:sendError", () => say(AWAY));

function connected() {
  if (offline) offline.hidden = navigator.onLine;
}
window.addEventListener("online", connected);
window.addEventListener("offline", connected);
connected();
