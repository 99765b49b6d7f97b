// The demand grid is typed into like a sheet: arrow keys and Enter move, a pasted block fills cells,
// and the totals follow. Without this file it is a form with boxes.
"use strict";

{
  const form = document.getElementById("demand");
  const boxes = form ? [...form.querySelectorAll("input[data-row]")] : [];
  const at = (row, column) =>
    boxes.find((box) => +box.dataset.row === row && +box.dataset.column === column);
  const kits = (box) => (/^\d+$/.test(box.value.trim()) ? Number(box.value.trim()) : 0);
  const sum = (found) => found.reduce((all, box) => all + kits(box), 0);
  const write = (place, number) => {
    if (place) {
      place.textContent = number.toLocaleString("en");
    }
  };
  const total = (box) => {
    const { row, column } = box.dataset;
    const same = (name, value) => boxes.filter((each) => each.dataset[name] === value);
    write(form.querySelector(`[data-total-of-row="${row}"]`), sum(same("row", row)));
    write(form.querySelector(`[data-total-of-column="${column}"]`), sum(same("column", column)));
    write(form.querySelector("[data-total]"), sum(boxes));
  };
  const steps = {
    ArrowUp: [-1, 0],
    ArrowDown: [1, 0],
    ArrowLeft: [0, -1],
    ArrowRight: [0, 1],
    Enter: [1, 0],
  };
  const inside = (box, key) => {
    const { selectionStart: start, selectionEnd: end, value } = box;
    const whole = start === 0 && end === value.length;
    return !whole && ((key === "ArrowLeft" && start > 0) || (key === "ArrowRight" && end < value.length));
  };

  const move = (event) => {
    const box = event.target;
    const step = steps[event.key];
    if (!step || box.dataset.row === undefined || event.ctrlKey || event.metaKey || event.altKey) {
      return;
    }
    if (inside(box, event.key)) {
      return;
    }
    event.preventDefault(); // Enter saves nothing here: the button does
    const back = event.key === "Enter" && event.shiftKey ? -1 : 1;
    const next = at(+box.dataset.row + back * step[0], +box.dataset.column + back * step[1]);
    if (next) {
      next.focus();
      next.select();
    }
  };

  const paste = (event) => {
    const box = event.target;
    const text = event.clipboardData.getData("text");
    if (box.dataset.row === undefined || !/[\t\n]/.test(text)) {
      return;
    }
    event.preventDefault();
    const lines = text.replace(/\r/g, "").replace(/\n$/, "").split("\n");
    lines.forEach((line, down) =>
      line.split("\t").forEach((cell, across) => {
        const filled = at(+box.dataset.row + down, +box.dataset.column + across);
        if (filled) {
          filled.value = cell.trim().replace(/^(\d{1,3})(,\d{3})+$/, (number) => number.replace(/,/g, ""));
          total(filled);
        }
      }),
    );
  };

  if (form) {
    form.addEventListener("keydown", move);
    form.addEventListener("paste", paste);
    form.addEventListener("input", (event) => {
      if (event.target.dataset.row !== undefined) {
        total(event.target);
      }
    });
  }
}
