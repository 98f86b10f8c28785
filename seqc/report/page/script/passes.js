/* How a frame is loaded: a small board for each pass, with the items that it brings. */
function showPasses(parent, model, plan) {
  parent.replaceChildren();
  if (!plan) return;
  for (const part of plan) {
    if (plan.length > 1) make(parent, "h4", {}, model.grids[part.grid].name);
    const list = make(parent, "ol", { class: "passes" });
    const loaded = new Set();
    for (const [sets, cycles, gates] of part.passes) {
      const item = make(list, "li");
      const now = new Set(gates.flatMap((number) => model.actuators[number].cells));
      passBoard(item, model, part, loaded, now);
      make(item, "p", {}, sets || "selectors in place");
      make(item, "p", { class: "faint" }, cycles);
      now.forEach((cell) => loaded.add(cell));
    }
    if (part.then) make(parent, "p", {}, part.then);
  }
}

function passBoard(parent, model, part, loaded, now) {
  const grid = model.grids[part.grid];
  const svg = draw(parent, "svg", {
    class: "drawing pass-board",
    viewBox: `0 0 ${grid.columns} ${grid.rows}`,
    "aria-hidden": "true",
  });
  svg.style.setProperty("--across", grid.columns / Math.max(grid.rows, grid.columns));
  const squares = grid.cells.map(([row, column]) => `M${column - 1} ${row - 1}h1v1h-1z`);
  draw(svg, "path", { class: "board", d: squares.join(""), "stroke-width": 0.04 });
  for (const [cells, kind] of [[loaded, "before"], [now, "now"]]) {
    const group = draw(svg, "g", { class: kind });
    for (const look of model.kinds) {
      const own = [...cells].filter((cell) => part.kinds[cell] === look.letter);
      if (!own.length) continue;
      const at = own.map((cell) => `M${grid.cells[cell][1] - 0.5} ${grid.cells[cell][0] - 0.5}`);
      const discs = at.map((place) => `${place}h0`).join("");
      draw(group, "path", { class: "rim", "stroke-width": 0.84, d: discs });
      draw(group, "path", { class: `item ${look.tone}`, "stroke-width": 0.76, d: discs });
      if (look.mark) {
        const d = at.map((place) => place + look.mark).join("");
        draw(group, "path", { class: "mark", "stroke-width": look.markWidth, d });
      }
    }
  }
}
