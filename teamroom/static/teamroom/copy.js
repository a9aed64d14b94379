// Copying what a field shows. Without scripts the field itself can be selected and copied.

for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  const said = document.getElementById(`${button.dataset.copy}-said`);
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.select();
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = field.dataset.copied;
    } catch {
      // Without HTTPS a browser keeps its clipboard to itself: the text is selected, and the keys still copy it.
      said.textContent = "The link is selected: copy it with your keyboard.";
    }
  });
}
