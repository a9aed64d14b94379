// A time zone nobody has chosen yet begins with the browser's own.

for (const list of document.querySelectorAll("select[data-zone]:not([data-chosen])")) {
  const own = Intl.DateTimeFormat().resolvedOptions().timeZone;
  if ([...list.options].some((option) => option.value === own)) list.value = own;
}
