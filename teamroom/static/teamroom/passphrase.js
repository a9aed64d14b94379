// A button beside each passphrase that shows what was typed, until the form is sent.

for (const input of document.querySelectorAll("input[type=password]")) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  const beside = document.createElement("div");
  beside.className = "passphrase";
  input.replaceWith(beside);
  beside.append(input, button);
  const show = (shown) => {
    input.type = shown ? "text" : "password";
    button.textContent = shown ? "Hide" : "Show";
    button.setAttribute("aria-label", `${button.textContent} what is typed`);
  };
  show(false);
  button.addEventListener("click", () => show(input.type === "password"));
  input.form?.addEventListener("submit", () => show(false));
  if (input.autofocus) input.focus();
}
