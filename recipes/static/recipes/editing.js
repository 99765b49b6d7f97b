// Leaves opened what was open when the figures follow what is typed.
"use strict";

const opened = new Set();

function workings(figures) {
  const seen = new Map();
  return [...figures.querySelectorAll("details")].map((details) => {
    const name = details.querySelector("summary").firstChild.textContent.trim();
    const times = (seen.get(name) ?? 0) + 1;
    seen.set(name, times);
    return [`${name} ${times}`, details];
  });
}

document.addEventListener("htmx:beforeSwap", () => {
  const figures = document.getElementById("figures");
  if (!figures) return;
  opened.clear();
  for (const [name, details] of workings(figures)) {
    if (details.open) opened.add(name);
  }
});

document.addEventListener("htmx:afterSettle", () => {
  const figures = document.getElementById("figures");
  if (!figures) return;
  for (const [name, details] of workings(figures)) {
    if (opened.has(name)) details.open = true;
  }
});
