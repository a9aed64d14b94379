// The way round a year runs off a small screen's edge: the page one is on stands in sight.

const current = document.querySelector(".year-nav [aria-current]");
const row = current?.closest("ul");
if (row) row.scrollLeft = current.offsetLeft - row.offsetLeft - (row.clientWidth - current.offsetWidth) / 2;
