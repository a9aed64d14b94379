// A button that puts a figure into a field of the form beside it; without scripts the form does the same by being sent.

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-fill]");
  const field = button && document.getElementById(button.dataset.fill);
  if (!field) return;
  event.preventDefault();
  field.value = button.value;
  field.focus();
  field.dispatchEvent(new Event("input", { bubbles: true }));
});
