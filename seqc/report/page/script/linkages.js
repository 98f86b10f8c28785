/* A cell under the pointer, or chosen by the arrow keys, shows all that is tied to it. */
function followCells(model) {
  for (const board of document.querySelectorAll("[data-linkages]")) {
    const grid = Number(board.dataset.linkages);
    const told = document.getElementById(`cell-told-${grid}`);
    const show = (cell) => showCell(model, board, told, grid, cell);
    board.addEventListener("pointerover", (event) => {
      const spot = event.target.closest?.("[data-cell]") ?? null;
      if (spot) show(Number(spot.dataset.cell));
    });
    board.addEventListener("pointerleave", () => show(null));
    board.addEventListener("focus", () => show(Number(board.dataset.at ?? 0)));
    board.addEventListener("blur", () => show(null));
    board.addEventListener("keydown", (event) => {
      const next = neighbour(model.grids[grid], Number(board.dataset.at ?? 0), event.key);
      if (next === null) return;
      event.preventDefault();
      show(next);
    });
  }
}

/* The nearest cell in the direction of an arrow key, null for another key or at the edge. */
function neighbour(grid, cell, key) {
  const step = { ArrowUp: [-1, 0], ArrowDown: [1, 0], ArrowLeft: [0, -1], ArrowRight: [0, 1] }[key];
  if (!step) return null;
  let [row, column] = grid.cells[cell];
  const at = new Map(grid.cells.map((place, n) => [place.join(), n]));
  for (let n = 0; n < Math.max(grid.rows, grid.columns); n++) {
    row += step[0];
    column += step[1];
    const found = at.get([row, column].join());
    if (found !== undefined) return found;
  }
  return cell;
}

function showCell(model, board, told, grid, cell) {
  const own = new Set();
  model.actuators.forEach((actuator, number) => {
    if (cell !== null && actuator.grid === grid && actuator.cells.includes(cell)) own.add(number);
  });
  for (const tie of board.querySelectorAll("[data-actuator]")) {
    const number = Number(tie.dataset.actuator);
    tie.classList.toggle("tied", own.has(number));
    tie.classList.toggle("untied", cell !== null && !own.has(number));
  }
  for (const spot of board.querySelectorAll("[data-cell]")) {
    spot.classList.toggle("here", Number(spot.dataset.cell) === cell);
  }
  if (cell === null) {
    told.textContent = told.dataset.hint;
    return;
  }
  board.dataset.at = cell;
  const [row, column] = model.grids[grid].cells[cell];
  const ties = [...own].map((number) => {
    const { name, cells, outputs } = model.actuators[number];
    const many = cells.length === 1 ? "this cell alone" : `${cells.length} cells`;
    return `${name} moves ${many} (outputs ${outputs.join(", ")})`;
  });
  const lane = laneWords(model, grid, cell);
  told.textContent = `Row ${row} column ${column}: ${ties.join("; ")}. Its lane: ${lane}.`;
}

function laneWords(model, grid, cell) {
  const shape = model.grids[grid];
  const gates = shape.gates.map((_, level) => {
    const found = model.actuators.find((a) => a.grid === grid && a.level === level && a.cells.includes(cell));
    return found.name;
  });
  const above = gates.slice(0, shape.shown).reverse();
  const below = gates.slice(shape.shown).reverse();
  return [...below, "shown", ...above, feedWords(model, shape.feeds[shape.fed[cell]], cell)].join(" ← ");
}

function feedWords(model, feed, cell) {
  if (!Array.isArray(feed)) return model.kinds[feed].name;
  const inputs = feed.slice(1).map((input) => feedWords(model, input, cell));
  return `${model.actuators[feed[0][cell]].name}(${inputs.join(", ")})`;
}
