"use strict";
const search = document.getElementById("search");
const found = document.getElementById("found");
const rows = [...document.querySelectorAll("[data-words]")];
search.addEventListener("input", () => {
  const words = search.value.toLowerCase().split(/\s+/).filter(Boolean);
  let count = 0;
  for (const row of rows) {
    row.hidden = !words.every((word) => row.dataset.words.includes(word));
    if (!row.hidden) count += 1;
  }
  found.textContent = words.length === 0 ? "" : `${count} found`;
});
